"""At the door: how much, what presses, what stays on the sieve, where worms may go."""

import pytest

from slowfire.errors import InvalidInput
from slowfire.taking_out import dig_advice, oversize, receiving_heap, stress


@pytest.mark.parametrize(
    ("fill", "door", "ready", "limit", "height"),
    [
        (0.9, 0.3, 0.5, "the height of the door", 0.3),
        (0.6, 0.3, 0.5, "a third of the stack", 0.2),
        (0.9, 0.3, 0.1, "what is ready", 0.1),
        (0.9, 0.3, 0.0, "what is ready", 0.0),
    ],
)
def test_how_much_at_once(fill, door, ready, limit, height):
    found = dig_advice(fill, door, 0.25, ready)
    assert found.limit == limit
    assert found.height == pytest.approx(height)
    assert found.volume == pytest.approx(0.25 * height)


def test_a_door_above_the_fill_is_refused():
    with pytest.raises(InvalidInput, match="The door reaches 50 cm"):
        dig_advice(0.4, 0.5, 0.25, 0.3)


def test_a_tall_wet_stack_presses_and_a_low_one_does_not():
    assert stress(800.0, 1.2, 0.25).words
    assert stress(300.0, 0.3, 0.1).words == ()


def test_less_stays_on_a_wider_mesh():
    kept = [oversize(1.0, mesh) for mesh in (0.006, 0.008, 0.013, 0.02, 0.04)]
    assert kept == sorted(kept, reverse=True)
    with pytest.raises(InvalidInput):
        oversize(1.0, 0.1)


@pytest.mark.parametrize(
    ("celsius", "moisture", "says"),
    [
        (18.0, 0.75, "may move"),
        (45.0, 0.75, "Too warm"),
        (2.0, 0.75, "Too cold"),
        (18.0, 0.3, "Too dry"),
    ],
)
def test_where_worms_may_go(celsius, moisture, says):
    assert says in receiving_heap(celsius, moisture)
