"""Sheets as PDF: what was taken out, with its verdicts, and the register of a site."""

import csv
import io
import json
from collections.abc import Mapping, Sequence
from datetime import datetime
from importlib.resources import files
from typing import Any

import typst

from slowfire.errors import JournalError
from slowfire.services.heat_kills import (
    CAUTIONS,
    DISEASE_CAUTION,
    SEED_CAUTION,
    HeatKills,
    sources_of,
    tenths,
)
from slowfire.services.register import RegisterResult
from slowfire.services.take_out import QUESTIONS, TakeOutResult
from slowfire.services.today_dates import full_day
from slowfire.tables_text import plain_cell
from slowfire.units import KILOGRAMS_PER_POUND, LITRES_PER_US_GALLON

NAMES = {
    "active": "Active",
    "sanitised": "Sanitised",
    "finished": "Finished",
    "fit_for_seedlings": "Fit for seedlings",
}
BATCH, REGISTER = "batch.typ", "register.typ"


def batch_sheet(found: TakeOutResult, us: bool = False) -> bytes:
    """A sheet for what was taken out, to hang on its heap.

    Parameters
    ----------
    found : TakeOutResult
        What lies at the door [-].
    us : bool
        Whether paper is letter and volumes are gallons [-].

    Returns
    -------
    bytes
        PDF.

    Raises
    ------
    JournalError
        If it cannot be made.
    """
    litre, unit = (1.0 / LITRES_PER_US_GALLON, "gal") if us else (1.0, "L")

    def span(value: Any, factor: float, unit_: str) -> str:
        low, high = factor * value.low, factor * value.high
        return f"{_two(low)} to {_two(high)} {unit_}"

    height = f"{found.dig_cm / 2.54:.0f} in" if us else f"{found.dig_cm:.0f} cm"
    amounts = [
        ("As it lies in the bin", span(found.litres, litre, unit)),
        ("Loosened, in a barrow", span(found.barrow_litres, litre, unit)),
        (
            "Mass",
            span(found.kilograms, 1.0 / KILOGRAMS_PER_POUND if us else 1.0, "lb" if us else "kg"),
        ),
        ("Chips in it", span(found.chips_litres, litre, unit)),
        (f"Stays on a {found.mesh_mm:.0f} mm sieve", span(found.oversize_litres, litre, unit)),
        ("Dig up to", f"{height} above the floor ({found.limit})"),
    ]
    verdicts = [
        (NAMES[name], one.verdict, one.basis.removeprefix("from "), " ".join(one.reasons[:3]))
        for name, one in ((each, found.verdicts[each]) for each in QUESTIONS)
    ]
    return _made(
        BATCH,
        {
            "title": f"Batch from {found.bin}",
            "of": f"By the estimate of {_moment(found.at)}, in simulation where no reading is "
            "named.",
            "paper": "us-letter" if us else "a4",
            "foot": "slowfire. Not a legal pass; local codes win.",
            "line": found.line[0].upper() + found.line[1:],
            "words": list(found.words),
            "amounts": amounts if found.batch is not None else [],
            "verdicts": verdicts,
            "heat": found.heat,
            "kills": _kills(found.heat_kills),
            "use": [
                "Trees and shrubs first, 25 to 75 mm laid on, 5 to 8 cm clear of trunks.",
                "Seedlings and what is eaten raw only when the verdicts above say so.",
            ],
            "cautions": list(found.cautions),
        },
    )


def _kills(found: HeatKills | None) -> dict[str, Any]:
    """What heat killed as rows; none at all where it is not known."""
    if found is None:
        return {}

    def rows(several: Sequence[Any]) -> list[tuple[str, str, str]]:
        return [(one.name[:1].upper() + one.name[1:], one.answer, one.why) for one in several]

    return {
        "line": f"{found.line} ({found.basis}).",
        "words": list(found.words),
        "cautions": list(CAUTIONS),
        "germs": [
            (
                one.name + (f": {one.note}" if one.note else ""),
                tenths(one.log_reduction),
                tenths(one.log_reduction_centre),
                "not read"
                if one.log_reduction_read is None and one.log_reduction is not None
                else tenths(one.log_reduction_read),
            )
            for one in found.germs
        ],
        "seeds": rows(found.weed_seeds),
        "seed_caution": SEED_CAUTION,
        "diseases": rows(found.plant_diseases),
        "disease_caution": DISEASE_CAUTION,
        "sources": list(sources_of(found)),
    }


def register_sheet(found: RegisterResult, us: bool = False) -> bytes:
    """The register of a site as PDF.

    Parameters
    ----------
    found : RegisterResult
        Rows and totals [-].
    us : bool
        Whether paper is letter [-].

    Returns
    -------
    bytes
        PDF.

    Raises
    ------
    JournalError
        If it cannot be made.
    """
    return _made(
        REGISTER,
        {
            "title": f"Register of {found.site}: {found.bin}",
            "of": f"{found.first} to {found.last}, {len(found.rows)} entries in force.",
            "paper": "us-letter" if us else "a4",
            "foot": "slowfire. As written down by the people of the site.",
            "rows": [(one.when, one.what, one.words, one.who) for one in found.rows],
            "totals": list(found.totals),
            "notes": list(found.notes),
        },
    )


def _made(template: str, data: Mapping[str, Any]) -> bytes:
    folder = files("slowfire.reports").joinpath("templates")
    parts = [folder.joinpath(name).read_text(encoding="utf-8") for name in ("page.typ", template)]
    source = "\n".join(["#let data = json(bytes(sys.inputs.data))", *parts])
    try:
        made = typst.compile(source.encode(), sys_inputs={"data": json.dumps(data)})
    except (RuntimeError, ValueError) as problem:
        raise JournalError(f"The sheet could not be made: {problem}") from problem
    if not isinstance(made, bytes):
        raise JournalError("The sheet could not be made.")
    return made


def _moment(written: str) -> str:
    when = datetime.fromisoformat(written)
    return f"{full_day(when)} {when.year}, {when:%H:%M}"


def _two(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 10.0 else f"{value:.1f}"


def table_of(rows: Sequence[Sequence[str]]) -> str:
    """Rows as CSV text that no spreadsheet computes.

    Examples
    --------
    >>> table_of([("when", "what"), ("2026-03-01", "=1+1")])
    "when,what\\n2026-03-01,'=1+1\\n"
    """
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerows([plain_cell(cell) for cell in row] for row in rows)
    return stream.getvalue()
