"""Today at a bin of a journal, with the estimate made on the spot: for the command line."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from slowfire.journal import read_journal
from slowfire.services.inside import InsideResult, inside_and_series
from slowfire.services.inside_series import InsideSeries
from slowfire.services.today import TodayResult, today
from slowfire.services.today_complaint import ComplaintResult, complaint
from slowfire.services.today_dates import full_day
from slowfire.services.today_scores import ScoreLine, scores


@dataclass(frozen=True)
class TodayReport:
    """The day in words, what to do, causes of a complaint if there was one, and scores."""

    day: str
    today: TodayResult
    complaint: ComplaintResult | None
    scores: tuple[ScoreLine, ...]


def today_report(
    path: str | Path,
    bin_name: str,
    at: str | None = None,
    not_right: str | None = None,
    progress: Callable[[float], None] | None = None,
    now: datetime | None = None,
    made: tuple[InsideResult, InsideSeries] | None = None,
) -> TodayReport:
    """Say what to do at one bin of a journal.

    Parameters
    ----------
    path : str or Path
        The journal's folder [-].
    bin_name : str
        Which bin [-].
    at : str or None
        As in `inside`.
    not_right : str or None
        What is complained of [-].
    progress : callable or None
        Called with the share done, 0 to 1 [-].
    now : datetime or None
        The present; by the clock of this machine if None [-].
    made : tuple of (InsideResult, InsideSeries) or None
        An estimate that is there already; made anew if None [-].

    Returns
    -------
    TodayReport

    Raises
    ------
    SlowfireError
        As `inside`, or if the complaint is not known.
    """
    journal = read_journal(path)
    now = datetime.now(UTC) if now is None else now
    name = journal.site.bin_named(bin_name).name
    result, series = made or inside_and_series(path, name, at, progress=progress, now=now, rows=0)
    moment = datetime.fromisoformat(result.at)
    # asked of another day, or of a journal that ends before now, that day is the present
    present = now if at is None and timedelta(0) <= now - moment < timedelta(days=1) else moment
    seen = today(journal.site, journal.entries, result, present)
    found = None
    if not_right is not None:
        found = complaint(journal.site, journal.entries, result, present, not_right)
    judged = scores(journal.site, journal.entries, name, present, result, series)
    day = full_day(present.astimezone(journal.site.zone))
    return TodayReport(f"{day} {present.year}", seen, found, judged)
