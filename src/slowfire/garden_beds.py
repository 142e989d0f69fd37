"""Beds of a place as its keeper wrote them down."""

from dataclasses import dataclass

from slowfire.refusals import name_text, number_in


@dataclass(frozen=True)
class GardenBed:
    """One bed, pot or row of trees that compost may go to.

    Parameters
    ----------
    name : str
        Name of the bed [-].
    area_m2 : float
        Above 0, up to 100000 [m^2].
    planting : str
        What grows there, such as kale or trees and shrubs [-].
    distance_m : float
        From the bin, 0 to 10000 [m].
    way : str
        mulch, dug-in and so on; empty for what is usual for the planting [-].

    Raises
    ------
    InvalidInput
        If a name is empty or a number out of range.
    """

    name: str
    area_m2: float
    planting: str
    distance_m: float = 10.0
    way: str = ""

    def __post_init__(self) -> None:
        for field in ("name", "planting"):
            object.__setattr__(self, field, name_text(field, getattr(self, field)))
        object.__setattr__(self, "area_m2", number_in("area_m2", self.area_m2, 0.01, 1e5, "m2"))
        distance = number_in("distance_m", self.distance_m, 0.0, 1e4, "m")
        object.__setattr__(self, "distance_m", distance)
        if self.way:
            object.__setattr__(self, "way", name_text("way", self.way))
