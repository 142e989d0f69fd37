"""The journal in a database: entries that are only ever added, the site, results and photos."""

import threading
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, delete, func, insert, select, update

from slowfire.errors import InvalidInput, JournalError
from slowfire.journal.database import DATABASE_FILE, open_engine, reading, sqlite_url, writing
from slowfire.journal.entries import check_entry
from slowfire.journal.payloads import payload_of, payload_text
from slowfire.journal.photos import photo_form, photo_hash, photo_path, write_photo
from slowfire.journal.site_file import site_of_text, site_text
from slowfire.journal.tables import ENTRIES, PHOTOS, RESULTS, SITES
from slowfire.journal.text import WEATHER_FILE, Journal
from slowfire.records import Entry
from slowfire.site import Site

AT_ONCE = 400  # ids asked for in one question
TELLS_NOTHING = ("advice", "photo", "note")  # kinds that no estimate rests on


@dataclass(frozen=True)
class Appended:
    """What came of sending entries: those that were new, and those that were there already."""

    new: tuple[UUID, ...]
    known: tuple[UUID, ...]


@dataclass(frozen=True)
class SiteVersion:
    """The site as it was from a time on."""

    made: datetime
    site: Site


@dataclass(frozen=True)
class TakenIn:
    """What came of an import.

    Attributes
    ----------
    entries : Appended
        Its entries.
    new_site : bool
        Whether the site became another one.
    older_site : bool
        Whether its site was the one here before, so that the present one stayed.
    """

    entries: Appended
    new_site: bool
    older_site: bool


@dataclass(frozen=True)
class Kept:
    """A computed result as stored.

    Attributes
    ----------
    kind, bin : str
        What it is, and of which bin.
    revision : int
        Of the journal it was computed from [-].
    model : str
        Version of the model.
    made : datetime
        When.
    payload : str
        JSON.
    """

    kind: str
    bin: str
    revision: int
    model: str
    made: datetime
    payload: str


class Store:
    """One journal's database; use it with `with`, or close it.

    Parameters
    ----------
    folder : Path
        The app's data folder; photos and backups lie there too [-].
    url : str or None
        Address of another database, such as PostgreSQL; the SQLite file of the folder if None [-].
    """

    def __init__(self, folder: Path, url: str | None = None) -> None:
        self.folder = folder
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as problem:
            raise JournalError(f"{folder} cannot be made: {problem.strerror}.") from problem
        self.engine = open_engine(url or sqlite_url(folder))
        # entries never change, so each is read once and then remembered
        self._lock = threading.Lock()
        self._entries: list[Entry] = []
        self._last = (0, "")

    def __enter__(self) -> "Store":
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    def revision(self) -> int:
        """A number that grows with everything added or changed that an estimate rests on [-]."""
        with reading(self.engine) as connection:
            return _revision(connection)

    def has_site(self) -> bool:
        """Whether a site was ever set."""
        with reading(self.engine) as connection:
            return connection.execute(select(func.count()).select_from(SITES)).scalar_one() > 0

    def site(self) -> Site:
        """The site as it stands.

        Raises
        ------
        JournalError
            If none was set yet.
        """
        with reading(self.engine) as connection:
            return _site(connection)

    def sites(self) -> list[SiteVersion]:
        """Every site that was set, the present one last."""
        with reading(self.engine) as connection:
            return _sites(connection)

    def set_site(self, site: Site, when: datetime | None = None) -> int:
        """Change the site; earlier ones are kept, and the same one again changes nothing.

        Parameters
        ----------
        site : Site
            As it is from now on [-].
        when : datetime or None
            The present; by the clock of this machine if None [-].

        Returns
        -------
        int
            The revision after it.

        Raises
        ------
        InvalidInput
            If entries there name a bin, person or thermometer that the new site lacks.
        """
        with self._lock, writing(self.engine) as connection:
            self._put_site(connection, SiteVersion(when or datetime.now(UTC), site))
            return _revision(connection)

    def _put_site(self, connection: Connection, version: SiteVersion) -> None:
        """Make a site the present one, unless it is; before anything else is written."""
        text = site_text(version.site)
        newest = select(SITES.c.site).order_by(SITES.c.place.desc()).limit(1)
        if connection.execute(newest).scalar_one_or_none() == text:
            return
        Journal(version.site, tuple(self._remembered(connection)))
        connection.execute(insert(SITES).values(made=version.made, site=text))

    def append(self, entries: Iterable[Entry]) -> Appended:
        """Add entries, all or none; one that was sent before changes nothing.

        Parameters
        ----------
        entries : iterable of Entry
            With ids made by whoever wrote them [-].

        Returns
        -------
        Appended
            Only once they are on the disk.

        Raises
        ------
        InvalidInput
            If an id comes with other content than before, an entry names what the site lacks, or
            corrects what is not there.
        JournalError
            If the database cannot take them.
        """
        given = list(entries)
        with writing(self.engine) as connection:
            return _append(connection, given)

    def take_in(
        self,
        sites: Sequence[SiteVersion],
        entries: Iterable[Entry],
        photos: Iterable[bytes] = (),
    ) -> TakenIn:
        """Add sites, entries and photos from elsewhere, all or none; what is there stays.

        Parameters
        ----------
        sites : sequence of SiteVersion
            By time; the last becomes the present one, unless it was the site here before [-].
        entries : iterable of Entry
            With their ids [-].
        photos : iterable of bytes
            Read only when everything else is found right [-].

        Returns
        -------
        TakenIn

        Raises
        ------
        InvalidInput
            As `set_site`, `append` and `add_photo`.
        """
        given = list(entries)
        with self._lock, writing(self.engine) as connection:
            known = list(connection.execute(select(SITES.c.site).order_by(SITES.c.place)).scalars())
            wanted = site_text(sites[-1].site) if sites else ""
            new_site = bool(sites) and wanted not in known
            if new_site:
                for one in sites[:-1]:
                    text = site_text(one.site)
                    if text not in known:
                        known.append(text)
                        connection.execute(insert(SITES).values(made=one.made, site=text))
                self._put_site(connection, sites[-1])
            done = _append(connection, given)
            for content in photos:
                self._keep_photo(connection, content, None)
            older = bool(sites) and not new_site and wanted != known[-1]
            return TakenIn(done, new_site, older)

    def entries(self, bin_name: str | None = None, latest: int | None = None) -> list[Entry]:
        """Everything as written, in the order of writing.

        Parameters
        ----------
        bin_name : str or None
            Only of this bin and of the whole place [-].
        latest : int or None
            Only so many, those that happened last [-].

        Returns
        -------
        list of Entry
        """
        if latest is not None:
            with reading(self.engine) as connection:
                return _latest(connection, bin_name, latest)
        with self._lock, reading(self.engine) as connection:
            every = self._remembered(connection)
        return [one for one in every if bin_name is None or one.bin in ("", bin_name)]

    def entry(self, own_id: UUID) -> Entry | None:
        """One entry by its id; None if there is none."""
        with reading(self.engine) as connection:
            found = connection.execute(select(ENTRIES).where(ENTRIES.c.id == str(own_id)))
            row = found.mappings().one_or_none()
            return None if row is None else _entry(row)

    def journal(self) -> Journal:
        """Site and entries together, as a text folder would give them."""
        with self._lock, reading(self.engine) as connection:
            site = _site(connection)
            entries = tuple(self._remembered(connection))
        weather = None
        if site.weather is not None and site.weather.kind == "file":
            weather = self.folder / str(site.weather.file)
        elif site.weather is None and (self.folder / WEATHER_FILE).is_file():
            weather = self.folder / WEATHER_FILE
        return Journal(site, entries, weather)

    def everything(self) -> tuple[tuple[SiteVersion, ...], tuple[Entry, ...]]:
        """Every site there was and all entries, as they were at one moment."""
        with self._lock, reading(self.engine) as connection:
            return tuple(_sites(connection)), tuple(self._remembered(connection))

    def _remembered(self, connection: Connection) -> list[Entry]:
        """All entries, of which only new ones are read; asked with the lock held."""
        place, own_id = self._last
        there = select(ENTRIES.c.id).where(ENTRIES.c.place == place)
        if self._entries and connection.execute(there).scalar_one_or_none() != own_id:
            # a backup was put in place of what was there
            self._entries, self._last, place = [], (0, ""), 0
        rows = connection.execute(
            select(ENTRIES).where(ENTRIES.c.place > place).order_by(ENTRIES.c.place)
        )
        for row in rows.mappings():
            self._entries.append(_entry(row))
            self._last = (int(row["place"]), str(row["id"]))
        return list(self._entries)

    def put_result(self, kept: Kept) -> None:
        """Store what was computed, in place of an older one of its kind and bin."""
        row = {
            "kind": kept.kind,
            "bin": kept.bin,
            "revision": kept.revision,
            "model": kept.model,
            "made": kept.made,
            "payload": kept.payload,
        }
        where = (RESULTS.c.kind == kept.kind) & (RESULTS.c.bin == kept.bin)
        with writing(self.engine) as connection:
            if connection.execute(update(RESULTS).where(where).values(row)).rowcount == 0:
                connection.execute(insert(RESULTS).values(row))

    def result(self, kind: str, bin_name: str) -> Kept | None:
        """The last result of a kind, however old; None if there is none."""
        where = (RESULTS.c.kind == kind) & (RESULTS.c.bin == bin_name)
        with reading(self.engine) as connection:
            row = connection.execute(select(RESULTS).where(where)).mappings().one_or_none()
        return None if row is None else Kept(**row)

    def forget_older(self, beginning: str, kept: int) -> None:
        """Delete results whose kind begins so, but for the newest ones."""
        mine = RESULTS.c.kind.startswith(beginning, autoescape=True)
        newest = select(RESULTS.c.kind, RESULTS.c.bin).where(mine).order_by(RESULTS.c.made.desc())
        with writing(self.engine) as connection:
            for kind, bin_name in connection.execute(newest.offset(kept)).all():
                this = (RESULTS.c.kind == kind) & (RESULTS.c.bin == bin_name)
                connection.execute(delete(RESULTS).where(this))

    def add_photo(self, content: bytes, when: datetime | None = None) -> str:
        """Keep a photo as a file named by its hash.

        Parameters
        ----------
        content : bytes
            A JPEG, PNG or WebP of up to 10 MB [-].
        when : datetime or None
            When it came; now if None [-].

        Returns
        -------
        str
            SHA-256 of what is kept.

        Raises
        ------
        InvalidInput
            If it is no such picture, or too large.
        """
        with writing(self.engine) as connection:
            return self._keep_photo(connection, content, when)

    def _keep_photo(self, connection: Connection, content: bytes, when: datetime | None) -> str:
        form, digest = photo_form(content), photo_hash(content)
        write_photo(self.photo_path(digest, form), content)
        known = select(PHOTOS.c.sha256).where(PHOTOS.c.sha256 == digest)
        if connection.execute(known).first() is None:
            row = {"sha256": digest, "form": form, "bytes": len(content)}
            connection.execute(insert(PHOTOS).values(**row, added=when or datetime.now(UTC)))
        return digest

    def photo_path(self, digest: str, form: str) -> Path:
        """Where a photo lies."""
        return photo_path(self.folder, digest, form)

    def photos(self) -> dict[str, str]:
        """Hash and form of every photo kept."""
        with reading(self.engine) as connection:
            rows = connection.execute(select(PHOTOS.c.sha256, PHOTOS.c.form)).all()
        return {str(digest): str(form) for digest, form in rows}


def open_store(folder: str | Path, url: str | None = None) -> Store:
    """Open the journal kept in the app's data folder, making it if there is none.

    Parameters
    ----------
    folder : str or Path
        The data folder [-].
    url : str or None
        Address of a database elsewhere; see `Store` [-].

    Raises
    ------
    JournalError
        If it cannot be opened.
    """
    return Store(Path(folder), url)


def append_within(connection: Connection, entries: Iterable[Entry]) -> Appended:
    """Add entries in a transaction that writes other things with them; see `Store.append`."""
    return _append(connection, list(entries))


def holds_store(folder: str | Path) -> bool:
    """Whether a folder is a data folder of the app."""
    return (Path(folder) / DATABASE_FILE).is_file()


def _revision(connection: Connection) -> int:
    telling = select(ENTRIES.c.place).where(ENTRIES.c.kind.not_in(TELLS_NOTHING))
    last = connection.execute(telling.order_by(ENTRIES.c.place.desc()).limit(1)).scalar()
    return (last or 0) + (connection.execute(select(func.max(SITES.c.place))).scalar() or 0)


def _sites(connection: Connection) -> list[SiteVersion]:
    rows = connection.execute(select(SITES).order_by(SITES.c.place)).mappings()
    return [SiteVersion(row["made"], site_of_text(row["site"])) for row in rows]


def _site(connection: Connection) -> Site:
    text = connection.execute(
        select(SITES.c.site).order_by(SITES.c.place.desc()).limit(1)
    ).scalar_one_or_none()
    if text is None:
        raise JournalError("no bin is set up yet; set one up first.")
    return site_of_text(text)


def _entry(row: Any) -> Entry:
    return Entry(
        UUID(row["id"]),
        row["bin"],
        row["happened"],
        payload_of(row["kind"], row["payload"]),
        row["recorded"],
        row["who"],
        row["note"],
        UUID(row["corrects"]) if row["corrects"] else None,
        row["retracts"],
    )


def _latest(connection: Connection, bin_name: str | None, count: int) -> list[Entry]:
    chosen = select(ENTRIES)
    if bin_name is not None:
        chosen = chosen.where(ENTRIES.c.bin.in_(["", bin_name]))
    chosen = chosen.order_by(ENTRIES.c.happened.desc(), ENTRIES.c.place.desc()).limit(count)
    return [_entry(row) for row in connection.execute(chosen).mappings()][::-1]


def _row(entry: Entry) -> dict[str, Any]:
    return {
        "id": str(entry.id),
        "bin": entry.bin,
        "kind": entry.kind,
        "happened": entry.when,
        "recorded": entry.recorded,
        "who": entry.who,
        "note": entry.note,
        "corrects": str(entry.corrects) if entry.corrects else None,
        "retracts": entry.retracts,
        "payload": payload_text(entry.payload),
    }


def _known(connection: Connection, ids: Sequence[str]) -> dict[str, Entry]:
    found: dict[str, Entry] = {}
    for begin in range(0, len(ids), AT_ONCE):
        some = ids[begin : begin + AT_ONCE]
        rows = connection.execute(select(ENTRIES).where(ENTRIES.c.id.in_(some))).mappings()
        found |= {row["id"]: _entry(row) for row in rows}
    return found


def _append(connection: Connection, given: Sequence[Entry]) -> Appended:
    site = _site(connection)
    wanted = [str(one.id) for one in given]
    wanted += [str(one.corrects) for one in given if one.corrects is not None]
    there = _known(connection, list(dict.fromkeys(wanted)))
    fresh: dict[str, Entry] = {}
    known: list[UUID] = []
    for entry in given:
        check_entry(entry, site)
        first = there.get(str(entry.id)) or fresh.get(str(entry.id))
        if first is None:
            fresh[str(entry.id)] = entry
        elif replace(first, recorded=None) == replace(entry, recorded=None):
            known.append(entry.id)
        else:
            raise InvalidInput(
                f"Entry {entry.id} was sent before with other content; give this one a new id, "
                "and the old one under corrects if it replaces it."
            )
    for entry in fresh.values():
        _check_corrected(entry, there, fresh)
    if fresh:
        connection.execute(insert(ENTRIES), [_row(one) for one in fresh.values()])
    return Appended(tuple(one.id for one in fresh.values()), tuple(known))


def _check_corrected(entry: Entry, there: dict[str, Entry], fresh: dict[str, Entry]) -> None:
    """Refuse a correction of what is not there, of a retraction, or in a ring."""
    if entry.corrects is None:
        return
    target = there.get(str(entry.corrects)) or fresh.get(str(entry.corrects))
    if target is None:
        raise InvalidInput(
            f"Entry {entry.id} corrects {entry.corrects}, which is not in this journal; send that "
            "one first."
        )
    if target.retracts and not entry.retracts:
        raise InvalidInput(
            f"Entry {entry.id} corrects a retraction; take the retraction back instead."
        )
    # what was there before can only name what was there before it
    place: Entry | None = fresh.get(str(entry.corrects))
    while place is not None:
        if place.id == entry.id:
            raise InvalidInput(
                f"Entry {entry.id} belongs to corrections that run in a ring; each may only name "
                "an earlier entry."
            )
        place = fresh.get(str(place.corrects)) if place.corrects else None
