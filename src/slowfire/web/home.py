"""What every page works with: the journal, the clock, and where long work goes."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime

from slowfire.errors import InvalidInput
from slowfire.jobs import Jobs
from slowfire.journal.store import Kept, Store
from slowfire.records import Bin, Entry, effective_entries
from slowfire.services.inside import InsideResult
from slowfire.services.inside_record import ever_fed
from slowfire.services.inside_series import InsideSeries
from slowfire.services.kept_results import result_of
from slowfire.services.refresh import INSIDE, SERIES
from slowfire.site import Site
from slowfire.units import fahrenheit_from_celsius

DAY_SECONDS = 86400.0


def _clock() -> datetime:
    return datetime.now(UTC)


@dataclass
class Home:
    """One journal as the pages see it.

    Attributes
    ----------
    store : Store
        The journal.
    jobs : Jobs or None
        Where estimates are made; None in the example, which stays as it is.
    clock : callable
        Gives the present.
    example : bool
        Whether this is the example to look round in.
    """

    store: Store
    jobs: Jobs | None
    clock: Callable[[], datetime] = _clock
    example: bool = False

    def bin(self, name: str | None) -> Bin:
        """The bin of a name, the first if there is none."""
        site = self.store.site()
        return site.bin_named(name) if name else site.bins[0]

    def entries(self, bin_name: str) -> list[Entry]:
        """Entries in force of a bin and of the whole place, by time."""
        own = [one for one in self.store.entries() if one.bin in ("", bin_name)]
        return effective_entries(own)

    def inside(self, bin_name: str) -> tuple[InsideResult, Kept] | None:
        """The last estimate of a bin and when it was made; None if there is none to show."""
        kept = self.store.result(INSIDE, bin_name)
        if kept is None:
            return None
        try:
            return result_of(InsideResult, kept.payload), kept
        except InvalidInput:
            return None

    def series(self, bin_name: str) -> InsideSeries | None:
        """The weeks around the last estimate."""
        kept = self.store.result(SERIES, bin_name)
        if kept is None:
            return None
        try:
            return result_of(InsideSeries, kept.payload)
        except InvalidInput:
            return None

    def fed(self, bin_name: str) -> bool:
        """Whether anything is written to have gone into a bin."""
        return ever_fed(self.store.entries(), bin_name)

    def refresh(self, bin_name: str, thorough: bool = False) -> None:
        """Ask for a new estimate, if there is anything to estimate."""
        if self.jobs is not None and self.fed(bin_name):
            self.jobs.refresh(bin_name, thorough)

    def refresh_unasked(self, bin_name: str) -> None:
        """Ask for a new estimate that a page lacks, once: one that ended is asked for by a person.

        A page that shows itself anew when an estimate ends would go round without end otherwise.
        After a day it is tried again, for the weather has gone on.
        """
        if self.jobs is None:
            return
        last = self.jobs.newest(bin_name)
        fresh = last is not None and (self.clock() - last.made).total_seconds() < DAY_SECONDS
        if not (fresh and self.jobs.ended(bin_name)):
            self.refresh(bin_name)

    def stale(self, kept: Kept) -> bool:
        """Whether something was written since an estimate, or a day has passed."""
        if self.example:
            return False
        old = (self.clock() - kept.made).total_seconds() > DAY_SECONDS
        return old or kept.revision != self.store.revision()


def shown_in(site: Site) -> Callable[[float], str]:
    """A function that writes a temperature in the unit of the site."""

    def written(celsius: float) -> str:
        if site.units == "us":
            return f"{round(fahrenheit_from_celsius(celsius))} °F"
        return f"{round(celsius)} °C"

    return written
