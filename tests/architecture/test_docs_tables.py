"""Pages made from data are as the data are now."""

import importlib.util
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
_SPEC = importlib.util.spec_from_file_location("make_docs", ROOT / "tools" / "make_docs.py")
assert _SPEC is not None
assert _SPEC.loader is not None
make_docs = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(make_docs)


@pytest.mark.parametrize("name", sorted(make_docs.PAGES))
def test_page_is_up_to_date(name):
    written = (ROOT / "docs" / name).read_text(encoding="utf-8")
    assert written == make_docs.PAGES[name](), "run make docs"
