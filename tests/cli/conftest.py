"""A small yard with one bin fed for two weeks, and the command line with few members."""

import sys

import pytest

from slowfire import cli
from slowfire.services import inside
from slowfire.services.checkpoints import Gear

SITE = """\
name = "Back yard"
timezone = "Europe/Vienna"
units = "{units}"

[measures_litres]
caddy = 7.0

[[bins]]
name = "Box"
shape = "box"
inside_width_cm = 50.0
inside_depth_cm = 50.0
inside_height_cm = 90.0
wall = [{{material = "foam", thickness_mm = 40.0}}]
lid = [{{material = "foam", thickness_mm = 30.0}}]
base = [{{material = "plastic", thickness_mm = 4.0}}]
vent_slot_length_cm = 30.0

[[thermometers]]
name = "long probe"
kind = "probe"
depth_cm = 20.0

[weather]
kind = "constant"
mean_celsius = 12.0
"""
ENTRIES = "when,bin,kind,item,amount,unit,at,value,note\n" + "".join(
    f"2020-03-{day:02d} 18:00+01:00,Box,load,{item},{amount},caddy,,{value},\n"
    for day in (1, 4, 8, 11, 15)
    for item, amount, value in (
        ("food_waste_household_mixed", 1.5, ""),
        ("office_paper_shredded", 0.75, "packing=loose"),
    )
)
FEW = {"QUICK": Gear("quick", 8, 1, 72.0), "THOROUGH": Gear("thorough", 10, 2, 96.0)}


@pytest.fixture
def yard(tmp_path):
    """Writes the journal of the yard, with more entries behind, and gives its folder."""

    def write(more="", units="metric"):
        folder = tmp_path / "yard"
        folder.mkdir()
        (folder / "site.toml").write_text(SITE.format(units=units), encoding="utf-8")
        (folder / "entries.csv").write_text(ENTRIES + more, encoding="utf-8")
        return folder

    return write


@pytest.fixture
def slowfire(monkeypatch, capsys, tmp_path):
    """The command with few members, which keeps its ensembles in a folder of the test."""
    for name, gear in FEW.items():
        monkeypatch.setattr(inside, name, gear)
    monkeypatch.setattr(inside, "default_checkpoint_folder", lambda: tmp_path / "estimates")

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["slowfire", *arguments])
        with pytest.raises(SystemExit) as end:
            cli.main()
        out, err = capsys.readouterr()
        return end.value.code, out, err

    return run
