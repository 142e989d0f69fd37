"""The bin in section as SVG: true proportions, numbers written, hatching where nothing was read."""

from collections.abc import Sequence
from html import escape

from slowfire.services.today import TodayResult, Zone

WIDTH, MARGIN = 340.0, 8.0
BIN_WIDTH = 128.0
WALL = 9.0
MOST_HEIGHT = 300.0
LINE = 15.0  # least distance of two lines of text
LEAST_ZONE = 3.0  # of a drawn zone, so that it can be seen
TUB_HEIGHT = 20.0


def section_drawing(seen: TodayResult, width_cm: float) -> str:
    """Draw a bin with its zones, thermometers, vent, door and tub.

    Parameters
    ----------
    seen : TodayResult
        What is known of it [-].
    width_cm : float
        Inside width, for the proportions [cm].

    Returns
    -------
    str
        An SVG element; attributes and classes only.
    """
    height = min(MOST_HEIGHT, BIN_WIDTH * seen.bin_height_cm / max(width_cm, 1.0))
    scale = height / seen.bin_height_cm
    left, top = MARGIN + WALL, 34.0
    bottom = top + height
    parts = [
        f'<rect class="bin-wall" x="{left - WALL:.1f}" y="{top:.1f}" '
        f'width="{BIN_WIDTH + 2 * WALL:.1f}" height="{height + 5:.1f}"/>',
        f'<rect class="bin-air" x="{left:.1f}" y="{top:.1f}" width="{BIN_WIDTH:.1f}" '
        f'height="{height:.1f}"/>',
        *_lid(left, top, seen),
    ]
    labels: list[tuple[float, str, str]] = []
    for zone in seen.zones:
        low, high = bottom - scale * zone.from_cm, bottom - scale * zone.to_cm
        tall = max(low - high, LEAST_ZONE)
        tint = f"tint-{tint_of(zone, seen.unit)}" if zone.from_readings else "hatched"
        parts.append(
            f'<rect class="zone {tint}" x="{left:.1f}" y="{high:.1f}" width="{BIN_WIDTH:.1f}" '
            f'height="{tall:.1f}"/>'
        )
        words = f"{zone.word} {zone.low} to {zone.high} {seen.unit}"
        labels.append((0.5 * (low + high), words, zone.what))
    parts += _labels(labels, left + BIN_WIDTH + WALL, top, bottom)
    parts += _marks(seen, left, bottom, scale)
    parts += _base(left, bottom, seen)
    total = bottom + TUB_HEIGHT + 26.0
    return (
        f'<svg class="section" viewBox="0 0 {WIDTH:.0f} {total:.0f}" role="img" '
        f'aria-labelledby="section-title section-words">'
        f'<title id="section-title">{escape(seen.bin)} in section</title>'
        f'<desc id="section-words">{escape(described(seen))}</desc>'
        '<defs><pattern id="hatch" width="7" height="7" patternUnits="userSpaceOnUse" '
        'patternTransform="rotate(45)"><path class="hatch-line" d="M0 0V7"/></pattern></defs>'
        f"{''.join(parts)}</svg>"
    )


def described(seen: TodayResult) -> str:
    """The drawing in words, for who cannot see it."""
    said = [
        f"{zone.word}, {zone.low} to {zone.high} {seen.unit}: {zone.what}"
        for zone in reversed(seen.zones)
    ]
    return "From the top: " + "; ".join(said) if said else "The bin is empty."


def tint_of(zone: Zone, unit: str) -> int:
    """Step of the colour scale, 0 below 10 °C to 6 from 60 °C on."""
    celsius = (zone.mid - 32.0) / 1.8 if unit == "°F" else float(zone.mid)
    return int(min(max(celsius // 10.0, 0.0), 6.0))


def _lid(left: float, top: float, seen: TodayResult) -> list[str]:
    open_by = {"shut": 0.0, "crack": 2.0, "wider": 5.0, "open": 10.0}.get(
        seen.vent.removeprefix("vent: "), 2.0
    )
    right = left + BIN_WIDTH + WALL
    return [
        f'<path class="lid" d="M{left - WALL:.1f} {top:.1f}L{right:.1f} {top - open_by:.1f}'
        f'V{top - open_by - 8:.1f}L{left - WALL:.1f} {top - 8:.1f}Z"/>',
        f'<text class="small" x="{left - WALL:.1f}" y="14">lid {escape(seen.lid.split(" in ")[0])}'
        f" (air)</text>",
        f'<text class="small" x="{right + 10:.1f}" y="{top - 4:.1f}">{escape(seen.vent)}</text>',
    ]


def _labels(
    labels: Sequence[tuple[float, str, str]], right: float, top: float, bottom: float
) -> list[str]:
    """Two lines of words for each zone, from the top down, never over one another."""
    wanted = sorted(labels)
    placed: list[float] = []
    for middle, _, _ in wanted:
        lowest = placed[-1] + 2.2 * LINE if placed else top + LINE
        placed.append(max(middle, lowest))
    # what was pushed past the base is pushed up again
    limit = bottom + 4.0
    for k in range(len(placed) - 1, -1, -1):
        placed[k] = min(placed[k], limit)
        limit = placed[k] - 2.2 * LINE
    parts = []
    for (middle, words, what), y in zip(wanted, placed, strict=True):
        parts.append(
            f'<path class="leader" d="M{right - 4:.1f} {middle:.1f}L{right + 7:.1f} {y - 4:.1f}"/>'
            f'<text class="label" x="{right + 10:.1f}" y="{y - 2:.1f}">{escape(words)}</text>'
            f'<text class="small" x="{right + 10:.1f}" y="{y + 12:.1f}">{escape(what)}</text>'
        )
    return parts


def _marks(seen: TodayResult, left: float, bottom: float, scale: float) -> list[str]:
    parts = []
    taken: list[float] = []
    for mark in seen.marks:
        if mark.height_cm is None:
            continue
        y = bottom - scale * min(mark.height_cm, seen.fill_cm)
        while any(abs(y - other) < LINE for other in taken):
            y += LINE
        taken.append(y)
        parts.append(
            f'<circle class="mark" cx="{left + 14:.1f}" cy="{y:.1f}" r="4"/>'
            f'<text class="mark-words" x="{left + 22:.1f}" y="{y + 4:.1f}">'
            f"{escape(mark.value)}, {escape(mark.day)}</text>"
        )
    return parts


def _base(left: float, bottom: float, seen: TodayResult) -> list[str]:
    parts = [
        f'<rect class="door" x="{left + 30:.1f}" y="{bottom - 3:.1f}" width="68" height="8"/>',
        f'<text class="small" x="{left + 50:.1f}" y="{bottom + 16:.1f}">door</text>',
    ]
    if seen.tub_share is not None:
        y = bottom + 22.0
        liquid = TUB_HEIGHT * min(max(seen.tub_share, 0.0), 1.0)
        parts.append(
            f'<rect class="tub" x="{left:.1f}" y="{y:.1f}" width="{BIN_WIDTH:.1f}" '
            f'height="{TUB_HEIGHT:.1f}"/>'
            f'<rect class="liquid" x="{left + 1:.1f}" y="{y + TUB_HEIGHT - liquid:.1f}" '
            f'width="{BIN_WIDTH - 2:.1f}" height="{liquid:.1f}"/>'
            f'<text class="small" x="{left + BIN_WIDTH + WALL + 10:.1f}" y="{y + 14:.1f}">'
            f"{escape(seen.tub)}</text>"
        )
    return parts


def setup_drawing(
    width_cm: float | None, height_cm: float | None, wall_cm: float | None, round_bin: bool
) -> str:
    """A bin with its inside measures as lines, from what is known so far.

    Parameters
    ----------
    width_cm, height_cm, wall_cm : float or None
        Inside width or diameter, inside height, thickness of the wall [cm]; None not yet known.
    round_bin : bool
        Whether it is round.

    Returns
    -------
    str
        An SVG element; attributes and classes only.
    """
    width, height = width_cm or 60.0, height_cm or 90.0
    wall = 3.0 if wall_cm is None else wall_cm
    scale = 170.0 / max(width + 2.0 * wall, height, 1.0)
    w, h, t = scale * width, scale * height, max(scale * wall, 2.0)
    x, y = 60.0 + t, 20.0
    across = "diameter" if round_bin else "width"
    wide = f"{width_cm:g} cm {across}" if width_cm else f"{across}?"
    tall = f"{height_cm:g} cm" if height_cm else "height?"
    return (
        f'<svg class="section" viewBox="0 0 320 {y + h + 44:.0f}" role="img" '
        f'aria-label="Bin, inside {escape(wide)}, {escape(tall)} high">'
        f'<rect class="bin-wall" x="{x - t:.1f}" y="{y:.1f}" width="{w + 2 * t:.1f}" '
        f'height="{h + 4:.1f}"/>'
        f'<rect class="bin-air" x="{x:.1f}" y="{y:.1f}" width="{w:.1f}" height="{h:.1f}"/>'
        f'<path class="lid" d="M{x - t:.1f} {y:.1f}h{w + 2 * t:.1f}v-6h-{w + 2 * t:.1f}z"/>'
        f'<path class="leader" d="M{x:.1f} {y + h + 16:.1f}h{w:.1f}'
        f'M{x - t - 14:.1f} {y:.1f}v{h:.1f}"/>'
        f'<text class="small" x="{x:.1f}" y="{y + h + 34:.1f}">{escape(wide)}</text>'
        f'<text class="small" x="2" y="{y + 0.5 * h:.1f}">{escape(tall)}</text></svg>'
    )
