"""The example year can be made anew by its tool."""

import make_courtyard

from slowfire.journal import read_journal


def test_the_example_is_what_its_tool_writes(tmp_path, monkeypatch):
    shipped = read_journal(make_courtyard.FOLDER)
    monkeypatch.setattr(make_courtyard, "FOLDER", tmp_path / "examples" / "courtyard")
    make_courtyard.main()
    made = read_journal(make_courtyard.FOLDER)
    # readings hang on the last digits of a long run, and may differ by a step of their scale
    plain = [(one.id, one.when, one.bin, one.kind) for one in shipped.entries]
    assert [(one.id, one.when, one.bin, one.kind) for one in made.entries] == plain
    loads = [one.payload for one in shipped.entries if one.kind == "load"]
    assert [one.payload for one in made.entries if one.kind == "load"] == loads
