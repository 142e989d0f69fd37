"""The table of published checks as lines of text."""

import textwrap

from slowfire.services.verify_model import CheckRow, Tally, VerifyResult

WIDTH = 72


def figure(value: float) -> str:
    """Three figures, whole numbers from 100 up, and a word for what never happens."""
    if value in (float("inf"), float("-inf")):
        return "never"
    return f"{value:.0f}" if abs(value) >= 100.0 else f"{value:.3g}"


def verdict(row: CheckRow) -> str:
    """How a row did, and whether calibration saw it."""
    return ("pass" if row.passed else "FAIL") + (", held out" if row.held_out else "")


def check_lines(result: VerifyResult) -> list[str]:
    """Every row with its band, our interval, the verdict and the reason of a miss."""
    lines = []
    seen = ""
    for row in result.checks:
        if row.id != seen:
            source = textwrap.wrap(
                f"{row.id}: {row.source} ({row.basis})", WIDTH, subsequent_indent="  "
            )
            lines += ["", *source] if seen else source
            seen = row.id
        ours = (
            f"{figure(row.value)} ({figure(row.interval_low)} to {figure(row.interval_high)}) "
            f"{row.unit}".removesuffix(" -")
        )
        band = f"{figure(row.low)} to {figure(row.high)}"
        lines += textwrap.wrap(
            f"{row.quantity.replace('_', ' ')}: band {band}, ours {ours}: {verdict(row)}",
            WIDTH,
            initial_indent="  ",
            subsequent_indent="    ",
        )
        if row.reason:
            lines += textwrap.wrap(
                row.reason, WIDTH, initial_indent="    ", subsequent_indent="    "
            )
    return lines


def tally_lines(result: VerifyResult) -> list[str]:
    """How many rows pass, beside what is promised."""

    def one(name: str, tally: Tally) -> str:
        text = f"{name}: {tally.passed} of {tally.rows} pass"
        if result.whole_table:
            text += f"; at least {100.0 * tally.promised_share:.0f} % are promised"
        return f"{text}."

    parts = (("In calibration", result.in_calibration), ("Held out", result.held_out))
    return [
        *(one(name, tally) for name, tally in parts if tally.rows),
        f"Ours is the median of {result.members} bins, with the 5th and 95th percentile; a row "
        "passes when the median lies in the band.",
    ]
