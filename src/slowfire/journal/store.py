"""The journal in a database: entries that are only ever added, the site, results and photos."""

import hashlib
import io
import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Any
from uuid import UUID

from PIL import Image, UnidentifiedImageError
from sqlalchemy import Connection, delete, func, insert, select, update
from sqlalchemy.exc import IntegrityError, OperationalError

from slowfire.errors import InvalidInput, JournalError
from slowfire.journal.database import DATABASE_FILE, open_engine, sqlite_url, writing
from slowfire.journal.entries import check_entry
from slowfire.journal.payloads import payload_of, payload_text
from slowfire.journal.site_file import site_of_text, site_text
from slowfire.journal.tables import ENTRIES, PHOTOS, RESULTS, SITES
from slowfire.journal.text import Journal
from slowfire.records import Entry
from slowfire.site import Site

PHOTO_FOLDER = "photos"
PHOTO_BYTES = 10_000_000
PHOTO_FORMS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp"}
MOST_PIXELS = 50_000_000  # a bomb unpacks to more
AT_ONCE = 400  # ids asked for in one question
TRIES = 3


@dataclass(frozen=True)
class Appended:
    """What came of sending entries: those that were new, and those that were there already."""

    new: tuple[UUID, ...]
    known: tuple[UUID, ...]


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
        """A number that grows with everything added or changed [-]."""
        with self.engine.connect() as connection:
            return _revision(connection)

    def has_site(self) -> bool:
        """Whether a site was ever set."""
        with self.engine.connect() as connection:
            return connection.execute(select(func.count()).select_from(SITES)).scalar_one() > 0

    def site(self) -> Site:
        """The site as it stands.

        Raises
        ------
        JournalError
            If none was set yet.
        """
        with self.engine.connect() as connection:
            return _site(connection)

    def set_site(self, site: Site, when: datetime | None = None) -> int:
        """Change the site; earlier ones are kept. Returns the revision after it.

        Raises
        ------
        InvalidInput
            If entries there name a bin, person or thermometer that the new site lacks.
        """
        with writing(self.engine) as connection:
            entries = [entry for _, entry in _read(connection)]
            Journal(site, tuple(entries))
            row = {"made": when or datetime.now(UTC), "site": site_text(site)}
            connection.execute(insert(SITES).values(row))
            return _revision(connection)

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
        """
        given = list(entries)
        for attempt in range(TRIES):
            try:
                with writing(self.engine) as connection:
                    return _append(connection, given)
            except (IntegrityError, OperationalError) as problem:
                # two writers with one id, where the database lets both begin
                if attempt == TRIES - 1:
                    raise JournalError(
                        f"the journal could not be written ({problem.orig}); nothing was "
                        "changed: try again."
                    ) from problem
        raise JournalError("the journal could not be written; try again.")

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
        with self.engine.connect() as connection:
            return [entry for _, entry in _read(connection, bin_name, latest)]

    def entry(self, own_id: UUID) -> Entry | None:
        """One entry by its id; None if there is none."""
        with self.engine.connect() as connection:
            found = connection.execute(select(ENTRIES).where(ENTRIES.c.id == str(own_id)))
            row = found.mappings().one_or_none()
            return None if row is None else _entry(row)

    def journal(self) -> Journal:
        """Site and entries together, as a text folder would give them."""
        with self.engine.connect() as connection:
            site = _site(connection)
            entries = tuple(entry for _, entry in _read(connection))
        weather = None
        if site.weather is not None and site.weather.kind == "file":
            weather = self.folder / str(site.weather.file)
        return Journal(site, entries, weather)

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
        with self.engine.connect() as connection:
            row = connection.execute(select(RESULTS).where(where)).mappings().one_or_none()
        return None if row is None else Kept(**row)

    def forget_results(self) -> None:
        """Delete everything computed; it can be made again."""
        with writing(self.engine) as connection:
            connection.execute(delete(RESULTS))

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
        form = photo_form(content)
        digest = hashlib.sha256(content).hexdigest()
        path = self.photo_path(digest, form)
        path.parent.mkdir(exist_ok=True)
        if not path.exists():
            beside = path.with_suffix(".part")
            with beside.open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
            beside.replace(path)
        with writing(self.engine) as connection:
            known = select(PHOTOS.c.sha256).where(PHOTOS.c.sha256 == digest)
            if connection.execute(known).first() is None:
                row = {"sha256": digest, "form": form, "bytes": len(content)}
                row["added"] = when or datetime.now(UTC)
                connection.execute(insert(PHOTOS).values(row))
        return digest

    def photo_path(self, digest: str, form: str) -> Path:
        """Where a photo lies."""
        return self.folder / PHOTO_FOLDER / f"{digest}.{form}"

    def photos(self) -> dict[str, str]:
        """Hash and form of every photo kept."""
        with self.engine.connect() as connection:
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


def holds_store(folder: str | Path) -> bool:
    """Whether a folder is a data folder of the app."""
    return (Path(folder) / DATABASE_FILE).is_file()


def photo_form(content: bytes) -> str:
    """File ending of a picture that may be kept.

    Raises
    ------
    InvalidInput
        If it is no JPEG, PNG or WebP, or too large.
    """
    if len(content) > PHOTO_BYTES:
        raise InvalidInput(
            f"The photo has {len(content) / 1e6:.1f} MB; allowed is up to 10 MB: send it smaller."
        )
    if content[4:12] in (b"ftypheic", b"ftypheix", b"ftypmif1", b"ftyphevc"):
        raise InvalidInput(
            "The photo is in the HEIC form of some phones; allowed is JPEG, PNG or WebP: choose "
            "'most compatible' in the camera's settings, or send a screenshot of it."
        )
    try:
        with Image.open(io.BytesIO(content)) as picture:
            form = PHOTO_FORMS.get(picture.format or "")
            pixels = picture.width * picture.height
            if form is not None and pixels <= MOST_PIXELS:
                picture.verify()
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError) as problem:
        raise InvalidInput("The file is no picture; allowed is JPEG, PNG or WebP.") from problem
    if form is None:
        raise InvalidInput("The picture is of another form; allowed is JPEG, PNG or WebP.")
    if pixels > MOST_PIXELS:
        raise InvalidInput(
            f"The picture has {pixels / 1e6:.0f} million points; allowed is up to "
            f"{MOST_PIXELS / 1e6:.0f} million: send it smaller."
        )
    return form


def _revision(connection: Connection) -> int:
    total = 0
    for table in (ENTRIES, SITES):
        total += connection.execute(select(func.max(table.c.place))).scalar() or 0
    return total


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


def _read(
    connection: Connection, bin_name: str | None = None, latest: int | None = None
) -> list[tuple[int, Entry]]:
    chosen = select(ENTRIES)
    if bin_name is not None:
        chosen = chosen.where(ENTRIES.c.bin.in_(["", bin_name]))
    if latest is None:
        chosen = chosen.order_by(ENTRIES.c.place)
    else:
        chosen = chosen.order_by(ENTRIES.c.happened.desc(), ENTRIES.c.place.desc()).limit(latest)
    rows = connection.execute(chosen).mappings().all()
    found = [(int(row["place"]), _entry(row)) for row in rows]
    return found if latest is None else found[::-1]


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
