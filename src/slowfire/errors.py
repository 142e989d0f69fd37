"""The errors slowfire raises for its user; each message says what is wrong and what to do."""


class SlowfireError(Exception):
    """Anything a user can put right; the command line prints it as one sentence."""


class InvalidInput(SlowfireError):
    """A value outside its allowed range, with the value and the range in the message."""


class UnknownName(SlowfireError):
    """A material, measure, bin or thermometer nobody has declared."""


class OutOfReach(SlowfireError):
    """A target the given materials cannot reach."""


class JournalError(SlowfireError):
    """A written journal that cannot be read; names file, line and column."""


def check_range(name: str, value: float, low: float, high: float, unit: str = "") -> float:
    """Return `value` if it lies in [low, high], else raise with the allowed range.

    Raises
    ------
    InvalidInput
        If `value` is not a finite number inside the range.
    """
    if not (low <= value <= high):
        suffix = f" {unit}" if unit else ""
        raise InvalidInput(f"{name} is {value:g}{suffix}; allowed is {low:g} to {high:g}{suffix}.")
    return value
