"""Commands that keep the journal safe: export, import, backup and restore."""

import subprocess
import sys

import pytest

from slowfire.journal import read_journal

COURTYARD = "examples/courtyard"


@pytest.fixture(name="run")
def run_command(slowfire):
    def run(*arguments):
        code, out, err = slowfire(*map(str, arguments))
        return code, out.strip(), err.strip()

    return run


@pytest.fixture(name="data")
def imported(tmp_path, run):
    code, _, problem = run("import", COURTYARD, "--data", tmp_path / "data")
    assert (code, problem) == (0, "")
    return tmp_path / "data"


def test_import_says_what_was_new(data, run):
    count = len(read_journal(COURTYARD).entries)
    again = run("import", COURTYARD, "--data", data)
    assert again == (0, f"0 new entries, {count} there already.", "")


@pytest.mark.parametrize("name", ["text", "journal.zip"])
def test_export_and_import(data, tmp_path, run, name):
    code, said, _ = run("export", tmp_path / name, "--data", data)
    assert code == 0
    assert said.endswith(f"entries written to {tmp_path / name}.")
    code, _, problem = run("export", tmp_path / name, "--data", data)
    assert code == 2
    assert "--replace" in problem
    assert run("export", tmp_path / name, "--data", data, "--replace")[0] == 0
    assert run("import", tmp_path / name, "--data", tmp_path / "other")[0] == 0
    assert read_journal(tmp_path / "other") == read_journal(data)


def test_backup_and_restore(data, tmp_path, run):
    code, said, _ = run("backup", "--data", data)
    assert code == 0
    file = said.removesuffix(".").rpartition(" ")[2]
    code, said, _ = run("restore", file, "--data", data)
    assert code == 0
    assert "what was there before is in" in said
    assert run("backup", "--to", tmp_path / "stick.zip", "--data", data)[0] == 0
    code, said, _ = run("restore", tmp_path / "stick.zip", "--data", tmp_path / "new")
    assert code == 0
    assert read_journal(tmp_path / "new") == read_journal(COURTYARD)


@pytest.mark.parametrize(
    ("command", "says"),
    [
        (("import", "nowhere"), "there is no folder nowhere"),
        (("import", "README.md"), "README.md is no zip file"),
        (("restore", "nowhere.zip"), "There is no file nowhere.zip"),
        (("restore", "README.md"), "README.md is no zip file"),
        (("backup",), "there is no journal in"),
        (("export", "x"), "there is no journal in"),
        (("export", "x.zip"), "there is no journal in"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_line(tmp_path, run, command, says):
    code, said, problem = run(*command, "--data", tmp_path / "empty")
    assert (code, said) == (2, "")
    assert says in problem
    assert "\n" not in problem
    assert not (tmp_path / "empty").exists()


def test_commands_that_read_a_journal_take_the_data_folder(data, run):
    arguments = ("replay", COURTYARD, "--bin", "Drum", "--at", "2025-12-01", "--json")
    of_text = run(*arguments)
    of_data = run(*(str(data) if one == COURTYARD else one for one in arguments))
    assert of_text[0] == 0
    assert of_data == of_text


def test_the_help_loads_no_database():
    script = (
        "import sys; from slowfire import cli; "
        "assert not {'sqlalchemy', 'alembic', 'PIL'} & set(sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", script], check=False).returncode == 0
