"""Every page of the app has its pictures in docs, at the size of a phone and of a laptop."""

import re
from pathlib import Path

import pytest
from make_page_pictures import FOLDER, PAGES, SIZES
from PIL import Image

from slowfire.web.app import PAGES as ROUTED

SCREENS = Path(__file__).parents[2] / "docs" / "screens.md"
# Answers that are no pages: data for programs, drawings alone, files.
NO_PAGES = (
    "/progress", "/progress/events", "/setup/drawing", "/towns", "/worker.js", "/app.webmanifest",
    "/me",  # of somebody signed in; looked at in tests/web/test_people.py
)  # fmt: skip


def registered():
    """Paths that answer with a page."""
    paths = set()
    for module in ROUTED:
        for route in module.router.routes:
            data = route.path.endswith((".json", ".zip", ".csv", ".pdf")) or "{" in route.path
            if "GET" in route.methods and route.path not in NO_PAGES and not data:
                paths.add(route.path)
    return sorted(paths)


def test_every_registered_page_is_among_those_taken():
    taken = {re.sub(r"^example", "", one).split("?")[0].strip("/") for one in PAGES.values()}
    missing = [one for one in registered() if one.strip("/") not in taken]
    assert missing == [], "add the page to tools/make_page_pictures.py and run make screenshots"


@pytest.mark.parametrize("name", PAGES)
@pytest.mark.parametrize("size", SIZES)
def test_the_picture_is_there_and_shown(name, size):
    width, height = size
    file = FOLDER / f"{name}-{width}.png"
    assert file.exists(), "run make screenshots"
    with Image.open(file) as picture:
        assert picture.size == (width, height)
    assert f"pictures/{file.name}" in SCREENS.read_text(encoding="utf-8")
