"""Results as they were stored, back as the dataclasses they were made from."""

import json
import types
import typing
from collections.abc import Hashable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from functools import lru_cache
from typing import Any, TypeVar

from slowfire.errors import InvalidInput

Result = TypeVar("Result")


def result_of(form: type[Result], text: str) -> Result:
    """Read a stored result.

    Parameters
    ----------
    form : type
        The dataclass it was made from [-].
    text : str
        JSON of `dataclasses.asdict` [-].

    Returns
    -------
    object
        Of that class.

    Raises
    ------
    InvalidInput
        If it was stored by another version and does not fit.

    Examples
    --------
    >>> from slowfire.services.inside import Range
    >>> result_of(Range, '{"low": 1, "mid": 2.0, "high": 3.0}')
    Range(low=1, mid=2.0, high=3.0)
    """
    try:
        found: Result = _kept(typing.cast(Hashable, form), text)
    except (KeyError, TypeError, ValueError) as problem:
        raise InvalidInput(
            "What was computed before has another form; it is made anew."
        ) from problem
    return found


@lru_cache(maxsize=64)
def _kept(form: Hashable, text: str) -> Any:
    """Pages read the same result again and again; it is frozen, so one serves them all."""
    return _built(form, json.loads(text))


@lru_cache(maxsize=256)
def _hints(form: type[Any]) -> dict[str, Any]:
    return typing.get_type_hints(form)


def _built(form: Any, value: Any) -> Any:
    if value is None:
        return None
    origin = typing.get_origin(form)
    if origin in (typing.Union, types.UnionType):
        chosen = [one for one in typing.get_args(form) if one is not type(None)]
        return _built(chosen[0], value)
    if origin is tuple:
        inner = typing.get_args(form)[0]
        return tuple(_built(inner, one) for one in value)
    if origin in (dict, Mapping):
        inner = typing.get_args(form)[1]
        return {str(name): _built(inner, one) for name, one in value.items()}
    if is_dataclass(form):
        hints = _hints(form)  # type: ignore[arg-type]
        # what came after a result was kept has a default
        known = [one for one in fields(form) if one.name in value or one.default is MISSING]
        own = {one.name: _built(hints[one.name], value[one.name]) for one in known}
        return form(**own)  # type: ignore[operator]
    return value
