"""The file of thresholds: whole, sourced, used, and refused when it is not."""

import re
from pathlib import Path

import pint
import pytest

import slowfire
from slowfire.advise.rules import PLAIN_SOURCES, limit, look_days, read_rules, rules, share
from slowfire.errors import InvalidInput, UnknownName

PACKAGE = Path(slowfire.__file__).parent
HEAD = "name,number,unit,source,confidence,note\n"
OWN_UNITS = {"%", "caddy", "scoop"}


def test_every_rule_names_a_unit_a_source_and_why():
    keys = set(re.findall(r"^@\w+\{(\w+),", (PACKAGE / "sources.bib").read_text("utf-8"), re.M))
    units = pint.UnitRegistry()
    for rule in rules().values():
        assert rule.source in keys or rule.source in PLAIN_SOURCES, rule.name
        assert rule.note, rule.name
        if rule.unit not in OWN_UNITS:
            units.parse_units(rule.unit)


def test_what_has_no_source_does_not_claim_to_be_found():
    for rule in rules().values():
        if rule.source == PLAIN_SOURCES[0]:
            assert rule.confidence != "found", rule.name


def test_every_rule_is_used():
    code = "\n".join(
        one.read_text("utf-8")
        for one in (*PACKAGE.glob("advise/*.py"), *PACKAGE.glob("services/today*.py"))
    )
    for name in rules():
        word = name.removeprefix("look_").replace("_", " ") if name.startswith("look_") else name
        assert f'"{word}"' in code or f'"{name}"' in code, name


def test_percentages_are_shares():
    assert share("chance") == pytest.approx(limit("chance") / 100.0)


def test_an_unknown_rule_is_refused_with_those_that_are_known():
    with pytest.raises(UnknownName, match="too_dry"):
        limit("nothing of the kind")
    with pytest.raises(UnknownName):
        look_days("nothing of the kind")


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("hot,70,degC,ours,ours,a\nhot,71,degC,ours,ours,a", "line 3.*stands twice"),
        ("hot,warm,degC,ours,ours,a", "line 2.*'warm'"),
        ("hot,70,,ours,ours,a", "needs a unit"),
        ("hot,70,degC,,ours,a", "needs a unit"),
        ("hot,70,degC,ours,sure,a", "confidence"),
        (",70,degC,ours,ours,a", "missing"),
        ("hot,70,degC,ours,ours,a, b", "quotes"),
    ],
)
def test_a_file_that_was_edited_wrongly_says_where(row, words):
    with pytest.raises(InvalidInput, match=words):
        read_rules(HEAD + row)
