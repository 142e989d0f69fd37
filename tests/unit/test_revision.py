"""The commit that a results file names."""

import subprocess

import pytest

from tools.revision import commit


@pytest.fixture(name="clone")
def clone_with_a_commit(tmp_path):
    def git(*words: str) -> None:
        who = ("-c", "user.name=A", "-c", "user.email=a@example.org")
        subprocess.run(["git", *who, *words], cwd=tmp_path, check=True, capture_output=True)

    (tmp_path / "benchmarks" / "results").mkdir(parents=True)
    for name in ("model.py", "benchmarks/results/rows.jsonl"):
        (tmp_path / name).write_text("1\n")
    git("init", "-q")
    git("add", ".")
    git("commit", "-q", "-m", "first")
    return tmp_path


def test_rows_added_while_measuring_do_not_count_as_a_change(clone):
    before = commit(clone)
    (clone / "benchmarks" / "results" / "rows.jsonl").write_text("1\n2\n")
    assert commit(clone) == before
    assert "dirty" not in before


def test_a_changed_model_does(clone):
    before = commit(clone)
    (clone / "model.py").write_text("2\n")
    assert commit(clone) == f"{before}-dirty"


def test_outside_a_clone_nothing_is_known(tmp_path):
    assert commit(tmp_path) == "unknown"
