"""What was written, one line an entry, as people say it."""

from collections.abc import Iterable
from datetime import date

from slowfire import kinds
from slowfire import records as r
from slowfire.quantities import Amount, Position, Temperature
from slowfire.services.mix_words import amount_words
from slowfire.services.record import load_words, material_name

OPENINGS = {"shut": "shut", "crack": "a crack", "wider": "wider than a crack", "open": "open"}
SQUEEZES = {
    "dry": "dry",
    "damp": "damp",
    "drops": "a few drops",
    "trickle": "a trickle",
}
RODENTS = {
    "none": "no sign of rats or mice",
    "holes": "holes of rats or mice",
    "droppings": "droppings of rats or mice",
    "gnawing": "gnawed by rats or mice",
    "seen": "rats or mice seen",
}
ANSWERS = {
    "given": "advised",
    "done": "done",
    "not-done": "not done",
    "not-right": "said not to fit",
    "postponed": "put off",
}
HOW = {
    "mulch": "as mulch",
    "dug-in": "dug in",
    "drench": "poured on the soil",
    "potting": "for potting",
    "seedlings": "for seedlings",
    "sieved-back": "sieved, the coarse put back",
}


def entry_words(site: r.Site, entry: r.Entry) -> str:
    """Say an entry in one line.

    Parameters
    ----------
    site : Site
        Whose materials have names [-].
    entry : Entry
        As written [-].

    Returns
    -------
    str
        Numbers and units as typed; without when it was, its kind and its note.
    """
    payload = entry.payload
    match payload:
        case None:
            return "taken back"
        case kinds.Load():
            return load_words(site, payload.items)
        case kinds.Reading():
            return _reading(payload)
        case kinds.Look():
            return _listed(_look(payload))
        case kinds.Stocktake():
            return _listed(_stocktake(site, payload))
        case kinds.Test():
            return _listed(_test(payload))
        case kinds.Stock():
            name = material_name(site, payload.material)
            at = {"bin": " at the bin", "store": " in store"}.get(payload.where or "", "")
            return f"{_amount(payload.amount)} of {name}, {payload.change}{at}"
        case kinds.Calendar():
            return _listed(_calendar(payload))
        case kinds.Usual():
            return "all as usual"
        case kinds.Advice():
            return f"{payload.what.replace('_', ' ')}: {ANSWERS[payload.answer]}"
        case kinds.Setting():
            return f"{payload.name}: {payload.key.replace('_', ' ')} is {payload.to}"
        case kinds.Note():
            return payload.text
        case kinds.Photo():
            return "a photo"
    return _listed(_job(payload))


def _job(payload: r.Payload) -> Iterable[str | None]:
    match payload:
        case kinds.Stir() | kinds.Poke() | kinds.Turn():
            yield f"{payload.depth} deep" if payload.depth else None
            yield f"with the {payload.tool}" if payload.tool else None
        case kinds.Vent():
            size = OPENINGS[payload.opening] if payload.opening else f"open by {payload.width}"
            yield f"at the {payload.where}: {size}"
        case kinds.Cover():
            yield f"{payload.what} {'on' if payload.on else 'off'}"
        case kinds.Move():
            yield f"to {payload.place}"
            yield payload.shelter
        case kinds.Water():
            yield f"{_amount(payload.amount)} poured on"
            yield _place(payload.position)
        case kinds.Warm():
            yield f"{_amount(payload.amount)} of water at {_degrees(payload.temperature)}"
            yield _place(payload.position)
        case kinds.Drain():
            empty = payload.amount.middle == 0.0
            yield "the tub was empty" if empty else f"{_amount(payload.amount)} of liquid"
            yield None if empty else payload.colour
            yield None if empty else _smell(payload.smell)
            if payload.conductivity is not None:
                yield f"{payload.conductivity:g} mS/cm"
        case kinds.DigOut():
            yield _amount(payload.amount)
            yield f"weighed as {_amount(payload.weighed)}" if payload.weighed else None
            yield f"to {payload.to}" if payload.to else None
            yield f"from the {payload.side}" if payload.side else None
            yield f"through a sieve of {payload.sieve}" if payload.sieve else None
            yield "the coarse put back" if payload.oversize_back else None
        case kinds.Worms():
            yield _amount(payload.amount)
            yield f"from {payload.source}" if payload.source else None
            yield f"to {payload.to}" if payload.to else None
        case kinds.Use():
            yield f"{_amount(payload.amount)} of {payload.what} on {payload.bed}"
            yield HOW[payload.how] if payload.how else None
            if payload.dilution:
                yield f"1 part in {payload.dilution:g} of water"


def _reading(one: kinds.Reading) -> str:
    told = [f"{one.thermometer}: {_degrees(one.temperature)}"]
    told += [place for place in (_place(one.position), one.spot) if place]
    return ", ".join(told)


def _look(one: kinds.Look) -> Iterable[str | None]:
    yield f"surface {one.level} below the rim" if one.level else None
    yield _smell(one.smell)
    yield f"squeezed: {SQUEEZES[one.squeeze]}" if one.squeeze else None
    for name in ("flies", "larvae", "worms", "plastic"):
        count = getattr(one, name)
        where = f" ({one.worms_at})" if name == "worms" and one.worms_at else ""
        yield f"{'no' if count == 'none' else count} {name}{where}" if count else None
    yield RODENTS[one.rodents] if one.rodents else None
    if one.steam is not None:
        yield "it steams" if one.steam else "no steam"
    if one.bulge is not None:
        yield "the walls bulge" if one.bulge else "the walls are straight"
    if one.fault:
        yield "nothing broken" if one.fault == "none" else f"fault: {one.fault}"


def _stocktake(site: r.Site, one: kinds.Stocktake) -> Iterable[str | None]:
    yield f"surface {one.level} below the rim" if one.level else None
    yield f"in use since {_day(one.since)}" if one.since else None
    yield f"fed {_amount(one.feed)} a week" if one.feed else None
    yield f"dug out last on {_day(one.dug)}" if one.dug else None
    yield f"squeezed: {SQUEEZES[one.squeeze]}" if one.squeeze else None
    if one.worms:
        yield f"{'no' if one.worms == 'none' else one.worms} worms"
    if one.mostly:
        yield f"mostly {' and '.join(material_name(site, name) for name in one.mostly)}"


def _test(one: kinds.Test) -> Iterable[str | None]:
    yield f"{one.which.replace('-', ' ')} test"
    if one.sample and one.water:
        yield f"{_amount(one.sample)} took {_amount(one.water)} of water"
    yield f"bag {one.swelling}" if one.swelling else None
    yield f"after {one.days:g} days" if one.days is not None else None
    if one.sown is not None:
        yield f"{one.sprouted:g} of {one.sown:g} sprouted" if one.sprouted is not None else None
        if one.control_sprouted is not None:
            yield f"{one.control_sprouted:g} in the control"
    yield f"growth {one.growth}" if one.growth else None
    yield f"control {one.control_growth}" if one.control_growth else None
    if one.warmest and one.surroundings:
        yield f"{_degrees(one.warmest)} inside, {_degrees(one.surroundings)} around it"
    if one.thermometer and one.shown:
        yield f"{one.thermometer} showed {_degrees(one.shown)}"
    yield _smell(one.smell)


def _calendar(one: kinds.Calendar) -> Iterable[str | None]:
    yield one.what.replace("-", " ")
    yield _amount(one.amount) if one.amount else None
    yield f"from {_day(one.starts)}" if one.starts else None
    yield f"to {_day(one.ends)}" if one.ends else None
    yield one.repeat if one.repeat != "none" else None


def _listed(told: Iterable[str | None]) -> str:
    return ", ".join(one for one in told if one)


def _amount(one: Amount) -> str:
    if one.number_to is not None:
        return f"{one.number:g} to {amount_words(one.number_to, one.unit)}"
    return amount_words(one.number, one.unit) if one.number > 0.0 else f"no {one.unit}"


def _degrees(one: Temperature) -> str:
    return f"{one.value:g} °{one.unit}"


def _place(one: Position | None) -> str | None:
    if one is None:
        return None
    return f"{one.distance} {'below the surface' if one.origin == 'surface' else 'above the base'}"


def _smell(smell: str | None) -> str | None:
    if smell is None:
        return None
    word = {"ammonia": "of ammonia", "rotten-egg": "of rotten eggs"}.get(smell, smell)
    return "no smell" if smell == "none" else f"smells {word}"


def _day(one: date) -> str:
    return f"{one.day} {one:%B %Y}"
