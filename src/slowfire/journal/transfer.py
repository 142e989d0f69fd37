"""Everything written as one zip file: lines of JSON, every site there was, photos, weather."""

import json
import os
import re
import zipfile
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from slowfire.errors import JournalError
from slowfire.journal.database import DATABASE_FILE
from slowfire.journal.lines import entry_line, read_lines
from slowfire.journal.photos import PHOTO_BYTES, PHOTO_FOLDER, PHOTO_NAME, check_photo, sync_folder
from slowfire.journal.site_file import site_of_text, site_text
from slowfire.journal.store import SiteVersion
from slowfire.records import Entry

FORM = 1  # of the file; a later one is refused by an earlier slowfire
ABOUT_FILE = "about.json"
SITES_FILE = "sites.jsonl"
ENTRIES_FILE = "entries.jsonl"
WEATHER_NAME = re.compile(r"[^/\\:]+\.(?:csv|epw)", re.IGNORECASE)
LARGEST_BYTES = 4_000_000_000  # of all that is inside
LARGEST_PART = 200_000_000
# What a zip file that is none, is damaged or is locked by a password makes the reader say.
BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, RuntimeError)


@dataclass(frozen=True)
class Archive:
    """What a zip file holds.

    Attributes
    ----------
    sites : tuple of SiteVersion
        Every site there was, the last one in force.
    entries : tuple of Entry
        In the order of writing.
    photos : tuple of str
        Names of their files.
    weather : str or None
        Name of the weather file.
    """

    sites: tuple[SiteVersion, ...]
    entries: tuple[Entry, ...]
    photos: tuple[str, ...] = ()
    weather: str | None = None


def write_archive(
    path: Path,
    sites: Sequence[SiteVersion],
    entries: Sequence[Entry],
    photos: Sequence[Path] = (),
    weather: Path | None = None,
) -> None:
    """Write everything into one zip file; an old one is replaced only when all is written.

    Raises
    ------
    JournalError
        If it cannot be written.
    """
    beside = path.with_name(path.name + ".part")
    about = {"form": FORM, "entries": len(entries), "photos": len(photos)}
    versions = [{"made": one.made.isoformat(), "site": site_text(one.site)} for one in sites]
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with beside.open("wb") as stream:
            with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
                packed.writestr(ABOUT_FILE, json.dumps(about))
                lines = [json.dumps(one, ensure_ascii=False) for one in versions]
                packed.writestr(SITES_FILE, "".join(f"{one}\n" for one in lines))
                with packed.open(ENTRIES_FILE, "w", force_zip64=True) as part:
                    for one in entries:
                        part.write(f"{entry_line(one)}\n".encode())
                for photo in photos:
                    packed.write(photo, f"{PHOTO_FOLDER}/{photo.name}", zipfile.ZIP_STORED)
                if weather is not None:
                    packed.write(weather, weather.name)
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(path)
        sync_folder(path.parent)
    except OSError as problem:
        raise JournalError(f"{path} cannot be written: {problem.strerror}.") from problem


def read_archive(path: Path) -> Archive:
    """Return what a zip file holds, all of it looked through.

    Parameters
    ----------
    path : Path
        A file that `write_archive` wrote [-].

    Raises
    ------
    JournalError
        With file, line, column, what was read and what is allowed.
    """
    try:
        with zipfile.ZipFile(path) as packed:
            names = _names(path, packed)
            about = _about(path, packed)
            sites = _sites(path, packed)
            text = _text(path, packed, ENTRIES_FILE)
            entries = read_lines(text.split("\n"), sites[-1].site, f"{path.name}, {ENTRIES_FILE}")
            if len(entries) != about.get("entries", len(entries)):
                raise JournalError(
                    f"{path.name} holds {len(entries)} entries; when it was written there were "
                    f"{about['entries']}: entries are missing from it, so take another one."
                )
            photos = tuple(one for one in names if one.startswith(f"{PHOTO_FOLDER}/"))
            for one in photos:
                check_photo(one.removeprefix(f"{PHOTO_FOLDER}/"), packed.read(one))
            weather = next((one for one in names if WEATHER_NAME.fullmatch(one)), None)
    except OSError as problem:
        raise JournalError(f"{path} cannot be read: {problem.strerror}.") from problem
    except BROKEN as problem:
        raise JournalError(f"{path} is no zip file, or is damaged ({problem}).") from problem
    return Archive(sites, entries, photos, weather)


def archive_part(path: Path, name: str) -> bytes:
    """Content of one photo or the weather file of a zip file that `read_archive` read."""
    try:
        with zipfile.ZipFile(path) as packed:
            return packed.read(name)
    except (OSError, KeyError, *BROKEN) as problem:
        raise JournalError(f"{path} changed while it was read; try again.") from problem


def _names(path: Path, packed: zipfile.ZipFile) -> list[str]:
    """Names of the parts, none of them strange or too large."""
    parts = [one for one in packed.infolist() if not one.is_dir()]
    names = [one.filename for one in parts]
    if DATABASE_FILE in names:
        raise JournalError(f"{path} is a backup; bring it back with: slowfire restore {path}")
    for needed in (SITES_FILE, ENTRIES_FILE):
        if needed not in names:
            raise JournalError(
                f"{path.name} holds no {needed}; name a zip file that slowfire export wrote."
            )
    for one in parts:
        photo = one.filename.removeprefix(f"{PHOTO_FOLDER}/")
        is_photo = photo != one.filename
        plain = one.filename in (ABOUT_FILE, SITES_FILE, ENTRIES_FILE)
        if not (plain or (is_photo and PHOTO_NAME.fullmatch(photo))) and (
            is_photo or not WEATHER_NAME.fullmatch(one.filename)
        ):
            raise JournalError(
                f"{path.name} holds {one.filename!r}; allowed is {SITES_FILE}, {ENTRIES_FILE}, "
                f"{PHOTO_FOLDER}/ with photos named by their hash, and one weather file."
            )
        if one.file_size > (PHOTO_BYTES if is_photo else LARGEST_PART):
            raise JournalError(
                f"{path.name}, {one.filename} has {one.file_size / 1e6:.0f} MB; allowed is less."
            )
    if len(set(names)) < len(names) or sum(one.file_size for one in parts) > LARGEST_BYTES:
        raise JournalError(f"{path.name} holds a part twice, or more than 4 GB in all.")
    return names


def _about(path: Path, packed: zipfile.ZipFile) -> dict[str, Any]:
    if ABOUT_FILE not in packed.namelist():
        return {}
    about = _object(f"{path.name}, {ABOUT_FILE}", _text(path, packed, ABOUT_FILE))
    form = about.get("form", FORM)
    if not isinstance(form, int) or form > FORM:
        raise JournalError(
            f"{path.name} was written by a newer slowfire (form {form}); install that one."
        )
    return about


def _sites(path: Path, packed: zipfile.ZipFile) -> tuple[SiteVersion, ...]:
    found = []
    file = f"{path.name}, {SITES_FILE}"
    for number, text in enumerate(_text(path, packed, SITES_FILE).split("\n"), start=1):
        if not text.strip():
            continue
        one = _object(f"{file}, line {number}", text)
        try:
            made = datetime.fromisoformat(one["made"])
            site = one["site"]
        except (KeyError, TypeError, ValueError) as problem:
            raise JournalError(
                f'{file}, line {number}: allowed is {{"made": time, "site": text of site.toml}}.'
            ) from problem
        if not isinstance(site, str) or made.tzinfo is None:
            raise JournalError(
                f"{file}, line {number}: allowed is a time with its offset, and the site as text."
            )
        found.append(SiteVersion(made, site_of_text(site, f"{file}, line {number}")))
    if not found:
        raise JournalError(f"{file} is empty; it needs the site on its last line.")
    return tuple(found)


def _object(where: str, text: str) -> dict[str, Any]:
    try:
        value = json.loads(text)
    except (ValueError, RecursionError) as problem:
        place = getattr(problem, "colno", 1)
        raise JournalError(f"{where}, column {place}: allowed is an object in JSON.") from problem
    if not isinstance(value, dict):
        raise JournalError(f"{where}, column 1: allowed is an object in JSON.")
    return value


def _text(path: Path, packed: zipfile.ZipFile, name: str) -> str:
    try:
        return packed.read(name).decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        raise JournalError(f"{path.name}, {name}: the letters are not in UTF-8.") from problem
