"""Compost on beds: how much, how deep, what it feeds, and what limits it."""

from slowfire.garden.volumes import layer_volume

__all__ = ["layer_volume"]
