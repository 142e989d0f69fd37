"""Photos of the journal: pictures that may be kept, and their files named by their hash."""

import hashlib
import io
import os
import re
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

from slowfire.errors import InvalidInput, JournalError

PHOTO_FOLDER = "photos"
PHOTO_BYTES = 10_000_000
PHOTO_FORMS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp"}
MOST_PIXELS = 50_000_000  # a bomb unpacks to more
WIDEST = 2000  # points of a photo that is kept
PHOTO_NAME = re.compile(r"[0-9a-f]{64}\.(?:jpg|png|webp)")


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
    except Image.DecompressionBombError as problem:
        raise InvalidInput(
            f"The picture unpacks to more than {MOST_PIXELS / 1e6:.0f} million points: send it "
            "smaller."
        ) from problem
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


def cleaned(content: bytes) -> bytes:
    """A picture drawn anew as JPEG: upright, no wider than 2000 points, without place or camera.

    Raises
    ------
    InvalidInput
        If it is no JPEG, PNG or WebP, or too large.
    """
    photo_form(content)
    try:
        with Image.open(io.BytesIO(content)) as opened:
            upright = ImageOps.exif_transpose(opened) or opened
            upright.thumbnail((WIDEST, WIDEST))
            flat = Image.new("RGB", upright.size, "white")
            flat.paste(upright.convert("RGBA"), mask=upright.convert("RGBA").getchannel("A"))
    except (OSError, SyntaxError, ValueError) as problem:
        raise InvalidInput("The picture is broken; take it again, or send another.") from problem
    kept = io.BytesIO()
    flat.save(kept, "JPEG", quality=85, optimize=True)
    return kept.getvalue()


def photo_hash(content: bytes) -> str:
    """Name of a photo: the SHA-256 of its bytes."""
    return hashlib.sha256(content).hexdigest()


def photo_path(folder: Path, digest: str, form: str) -> Path:
    """Where a photo of a data folder lies."""
    return folder / PHOTO_FOLDER / f"{digest}.{form}"


def write_photo(path: Path, content: bytes) -> None:
    """Write a photo, unless it is there already; see `write_file`."""
    if not path.exists() or photo_hash(path.read_bytes()) != path.stem:
        write_file(path, content)


def write_file(path: Path, content: bytes) -> None:
    """Write a file so that a crash leaves all of it or nothing.

    Raises
    ------
    JournalError
        If the folder cannot be written.
    """
    beside = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with beside.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
        sync_folder(path.parent)
    except OSError as problem:
        raise JournalError(f"{path} cannot be written: {problem.strerror}.") from problem


def sync_folder(folder: Path) -> None:
    """Put the names in a folder on the disk, where the system has a way to ask for it."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def photo_files(folder: Path) -> list[Path]:
    """Files of photos in a data folder, or in one of text."""
    there = sorted((folder / PHOTO_FOLDER).glob("*"))
    return [one for one in there if PHOTO_NAME.fullmatch(one.name)]


def read_photo(path: Path) -> bytes:
    """Content of a photo's file.

    Raises
    ------
    JournalError
        If it cannot be read, is no picture that may be kept, or not what its name says.
    """
    try:
        content = path.read_bytes()
    except OSError as problem:
        raise JournalError(f"{path} cannot be read: {problem.strerror}.") from problem
    check_photo(path.name, content)
    return content


def check_photo(name: str, content: bytes) -> None:
    """Refuse a photo that is none, or is not what its name says.

    Raises
    ------
    JournalError
        With its name.
    """
    try:
        form = photo_form(content)
    except InvalidInput as problem:
        raise JournalError(f"{PHOTO_FOLDER}/{name}: {problem}") from problem
    if name != f"{photo_hash(content)}.{form}":
        raise JournalError(
            f"{PHOTO_FOLDER}/{name} is not the photo of that name any more (its content was "
            "changed); take it out, or add it again as a new photo."
        )
