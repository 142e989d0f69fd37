"""Amounts as they were written, in litres."""

import pytest

from slowfire import records as r
from slowfire.measures import default_measures
from slowfire.services.amounts import litres_of


@pytest.mark.parametrize(
    ("amount", "litres"),
    [
        (r.Amount(2, "jug"), 3.0),
        (r.Amount(1, "litre", 2), 1.5),
        (r.Amount(3, "kg"), 0.0),
        (r.Amount(3, "thimble full"), 0.0),
    ],
)
def test_what_has_no_volume_counts_nothing(amount, litres):
    assert litres_of(default_measures().with_own({"jug": 1.5}), amount) == pytest.approx(litres)
