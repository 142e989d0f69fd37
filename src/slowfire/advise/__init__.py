"""The one thing to do next at a bin, from a few rules over an estimate."""
