"""No page has a serious fault for who sees, hears or moves badly (axe-core, WCAG 2.1 A and AA)."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from make_page_pictures import PAGES

GRAVE = ("serious", "critical")
RULES = {"runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]}}


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", PAGES)
def test_axe_finds_nothing_serious(page, shared_address, name, scheme):
    page.emulate_media(color_scheme=scheme)
    page.goto(f"{shared_address}/{PAGES[name]}")
    # the tool adds its script to the page, which the page itself forbids
    found = Axe().run(page, options=RULES).response
    grave = [
        f"{one['id']}: {node['target']} {node.get('failureSummary', '')}"
        for one in found["violations"]
        if one["impact"] in GRAVE
        for node in one["nodes"][:3]
    ]
    assert grave == []
