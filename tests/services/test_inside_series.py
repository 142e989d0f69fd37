"""The weeks around an estimate: medians and spreads of members that do not all reach so high."""

import numpy as np
import pytest

from slowfire.services.checkpoints import Gear
from slowfire.services.inside import inside_and_series
from slowfire.services.inside_run import at_spots
from slowfire.services.inside_series import DIGITS, _medians, _spreads

ROUNDED = 0.51 * 10.0**-DIGITS
SITE = """\
name = "Yard"
timezone = "UTC"
[measures_litres]
caddy = 7.0
[[bins]]
name = "Box"
shape = "box"
inside_width_cm = 50.0
inside_depth_cm = 50.0
inside_height_cm = 90.0
wall = [{material = "foam", thickness_mm = 40.0}]
lid = [{material = "foam", thickness_mm = 30.0}]
vent_slot_length_cm = 30.0
[[thermometers]]
name = "core"
kind = "probe"
depth_cm = 15.0
[weather]
kind = "constant"
mean_celsius = 14.0
"""


@pytest.fixture(scope="module")
def members():
    draws = np.random.default_rng(1)
    values = draws.normal(40.0, 5.0, (61, 200))
    values[draws.random(values.shape) < 0.3] = np.nan
    values[:, 5] = np.nan
    values[:40, 6] = np.nan
    values[:, 7] = 33.0
    values[:, 8] = draws.normal(20.0, 1.0, 61)
    return values


def test_they_are_numpys_where_half_of_the_members_reach_so_high(members):
    """NumPy's nanpercentile, linear between the two nearest members, is the reference."""
    middle, spread = _medians(members), _spreads(members)
    low, half, high = np.nanpercentile(members[:, 6:], [5.0, 50.0, 95.0], axis=0)
    known = 2 * np.isfinite(members[:, 6:]).sum(axis=0) >= members.shape[0]
    assert known.sum() > 150
    for k in range(known.size):
        if known[k]:
            assert abs(middle[6 + k] - half[k]) <= ROUNDED
            assert abs(spread[6 + k] - 0.5 * (high[k] - low[k])) <= ROUNDED
        else:
            assert middle[6 + k] is None
            assert spread[6 + k] is None


def test_where_nobody_or_too_few_reach_nothing_is_told(members):
    assert _medians(members)[5:8] == (None, None, 33.0)
    assert _spreads(members)[5:8] == (None, None, 0.0)


def test_profiles_are_read_on_straight_lines_and_end_with_their_stack():
    """NumPy's interp is the reference, inside a stack and past its last height."""
    heights = (0.1, 0.2, 0.3, 0.4)
    profiles = np.array([[[10.0, 20.0, 40.0, np.nan]], [[5.0, 6.0, 8.0, 9.0]], [[np.nan] * 4]])
    spots = np.array([[[0.0, 0.15, 0.28, 0.45]], [[0.12, 0.22, 0.33, np.nan]], [[0.1] * 4]])
    read = at_spots(profiles, heights, spots)
    assert read[0, 0] == pytest.approx(np.interp(spots[0, 0], heights[:3], [10.0, 20.0, 40.0]))
    assert read[1, 0, :3] == pytest.approx(np.interp(spots[1, 0, :3], heights, [5, 6, 8, 9]))
    assert np.isnan(read[1, 0, 3])
    assert np.isnan(read[2]).all()


def test_one_height_alone_is_told_as_it_is():
    one = at_spots(np.array([[[7.0]]]), (0.3,), np.array([[[0.2]]]))
    assert one.tolist() == [[[7.0]]]


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    place = tmp_path_factory.mktemp("journal")
    (place / "site.toml").write_text(SITE, "utf-8")
    rows = ["when,bin,kind,item,amount,unit,at,value,note"]
    for day in range(1, 40, 3):
        rows.append(f"2026-04-{day:02d} 18:00" if day < 31 else f"2026-05-{day - 30:02d} 18:00")
        rows[-1] += ",Box,load,peelings,1,caddy,,,"
        rows.append(rows[-1].replace("peelings,1", "bark_chips_fine,0.5"))
    rows.append("2026-05-09 09:00,Box,reading,core,49,C,15 cm below surface,,")
    (place / "entries.csv").write_text("\n".join(rows) + "\n", "utf-8")
    return inside_and_series(place, "Box", "2026-05-10 09:00", gear=Gear("small", 14, 2, 72.0))


def test_the_picture_tells_the_layers_of_the_list(told):
    """Bins of an ensemble are filled to different heights; both compare them by share of fill."""
    result, series = told
    surface = result.layers[-1].height_cm + result.layers[-1].thickness_cm
    middles = [one.height_cm + 0.5 * one.thickness_cm for one in result.layers]
    for name, column in (
        ("temperature_centre_celsius", series.centre),
        ("moisture_percent", series.moisture),
    ):
        listed = [getattr(one, name).mid for one in result.layers]
        shown = [row[series.present] for row in column]
        inside_stack = [k for k, height in enumerate(series.heights_cm) if height < surface]
        assert len(inside_stack) > 4
        above = [k for k, one in enumerate(shown) if one is None]
        assert above == [k for k in range(len(shown)) if k not in inside_stack]
        for k in inside_stack[1:-1]:
            expected = np.interp(series.heights_cm[k], middles, listed)
            assert shown[k] == pytest.approx(expected, abs=2.5)
