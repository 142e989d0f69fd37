"""Amounts as they were written, in litres."""

import pytest

from slowfire import records as r
from slowfire.measures import default_measures
from slowfire.services.amounts import barrow_litres, litres_of

BIN = r.Bin("Box", "box", inside_width_cm=50, inside_depth_cm=50, inside_height_cm=90)


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


@pytest.mark.parametrize(("own", "litres"), [({}, 65.0), ({"barrow": 90.0}, 90.0)])
def test_a_barrow_on_beds_is_the_barrow_of_the_record(own, litres):
    assert barrow_litres(r.Site("Yard", "UTC", (BIN,), measures=own)) == litres
