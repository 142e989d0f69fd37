"""Photos: drawn anew without place data, given out as pictures alone, bombs and others refused."""

import io
import struct
import zlib

import pytest
from PIL import Image


def picture(form="JPEG", size=(40, 30), mode="RGB", **more):
    file = io.BytesIO()
    Image.new(mode, size, "green").save(file, form, **more)
    return file.getvalue()


def placed():
    """A picture that tells where it was taken, and lies on its side."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[2] = (48.0, 12.0, 30.0)
    return picture(exif=exif)


def send(browser, content, name="photo.jpg", **more):
    return browser.client.post("/photos", data=more, files={"photo": (name, content)})


def test_a_photo_is_kept_without_its_place_and_upright(ready):
    browser, store = ready
    assert b"Exif" in placed()
    assert send(browser, placed(), note="steam at dawn").status_code == 200
    entry = store.entries()[-1]
    assert (entry.kind, entry.note) == ("photo", "steam at dawn")
    answer = browser.client.get(f"/photos/{entry.payload.sha256}.jpg")
    assert answer.headers["content-type"] == "image/jpeg"
    assert "sandbox" in answer.headers["content-security-policy"]
    assert answer.headers["x-content-type-options"] == "nosniff"
    with Image.open(io.BytesIO(answer.content)) as kept:
        assert not kept.getexif()
        assert kept.size == (30, 40)
    assert f"/photos/{entry.payload.sha256}.jpg" in browser.client.get("/entries").text


@pytest.mark.parametrize(("form", "mode"), [("PNG", "RGBA"), ("PNG", "P"), ("WEBP", "RGB")])
def test_other_forms_are_drawn_as_jpeg(ready, form, mode):
    browser, store = ready
    assert send(browser, picture(form, mode=mode)).status_code == 200
    assert store.photos()[store.entries()[-1].payload.sha256] == "jpg"


def test_large_ones_are_made_smaller(ready):
    browser, store = ready
    send(browser, picture(size=(4000, 1000)))
    digest = store.entries()[-1].payload.sha256
    with Image.open(store.photo_path(digest, "jpg")) as kept:
        assert kept.size == (2000, 500)


def bomb():
    """A PNG of a few bytes that unpacks to 3.6 thousand million points."""

    def chunk(kind, data):
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", 60000, 60000, 1, 0, 0, 0, 0)
    body = zlib.compress(b"\0" * 1000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "no picture"),
        (b"<html><script>alert(1)</script>", "no picture"),
        (b'<svg xmlns="http://www.w3.org/2000/svg"/>', "no picture"),
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIC"),
        (picture("GIF"), "another form"),
        (picture()[:200], "picture"),
        (b"\xff" * 10_000_001, "10 MB"),
    ],
)
def test_what_is_no_photo_is_refused_in_words(ready, content, says):
    browser, store = ready
    before = len(store.entries())
    answer = send(browser, content, note="kept")
    assert answer.status_code == 422
    assert says in answer.text
    assert 'value="kept"' in answer.text
    assert len(store.entries()) == before


def test_a_bomb_is_refused(ready):
    browser, store = ready
    before = len(store.entries())
    assert send(browser, bomb()).status_code == 422
    assert len(store.entries()) == before


@pytest.mark.parametrize(
    "name", ["../journal.db", "a" * 64 + ".jpg", "x.html", "%2e%2e%2fjournal.db"]
)
def test_nothing_else_is_given_out(ready, name):
    browser, _ = ready
    assert browser.client.get(f"/photos/{name}").status_code == 404
