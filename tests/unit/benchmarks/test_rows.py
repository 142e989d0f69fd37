"""Rows of long trials: stamped, and run once for each bin and code."""

import json

from benchmarks.rows import add_missing


def test_only_bins_without_a_row_of_this_code_are_run(tmp_path):
    path = tmp_path / "rows.jsonl"
    ran = []

    def row_of(seed):
        ran.append(seed)
        return {"twice": 2 * seed}

    first = add_missing(path, range(2), "one", row_of, str)
    again = add_missing(path, range(3), "one", row_of, str)
    other = add_missing(path, range(1), "two", row_of, str)

    assert ran == [0, 1, 2, 0]
    assert again[:2] == first
    assert [row["twice"] for row in again] == [0, 2, 4]
    assert [row["code"] for row in other] == ["two"]
    assert all({"seed", "commit", "measured"} <= set(row) for row in other)


def test_a_line_cut_off_by_a_stop_is_run_again(tmp_path):
    path = tmp_path / "rows.jsonl"
    rows = add_missing(path, range(2), "one", lambda seed: {"value": seed}, str)
    path.write_text(json.dumps(rows[0]) + "\n" + json.dumps(rows[1])[:20] + "\n")

    assert [
        row["value"] for row in add_missing(path, range(2), "one", lambda _: {"value": 7}, str)
    ] == [0, 7]
