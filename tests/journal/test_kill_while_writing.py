"""A writer killed in the middle loses nothing that it was told is kept."""

import kill_while_writing
import pytest


def test_a_few_kills(tmp_path):
    told, lost = kill_while_writing.run(tmp_path, 3)
    assert told >= 3
    assert lost == 0


@pytest.mark.long
def test_a_thousand_kills(tmp_path):
    told, lost = kill_while_writing.run(tmp_path, 1000)
    assert told >= 1000
    assert lost == 0
