"""Real situations on beds and liquid, answered as they ask."""

import pytest

from slowfire.garden import layer_volume
from slowfire.garden.nutrients import yield_share
from slowfire.liquid import dilute, usual_words
from slowfire.where_it_goes import find_places, where_it_goes

FOOT, INCH = 0.3048, 0.0254


def test_case_20_how_much_liquid_to_expect():
    """24 L a year from a plain bin is 0.46 L a week; a litre a day is overload or rain."""
    assert "usual" in usual_words(0.024 / 52.0)
    assert "rain gets in" in usual_words(0.007)
    assert dilute(0.001).parts == 10.0
    assert not dilute(0.001, colour="yellow").allowed
    assert not dilute(0.001, smell="sour").allowed
    assert any("eaten raw" in one for one in dilute(0.001, colour="dark", smell="none").reasons)


def test_case_26_two_inches_on_a_bed_of_four_by_eight_feet():
    """151 L; a garden page printed 0.67 ft3, eight times less: inches multiplied by feet."""
    volume = layer_volume(4.0 * FOOT * 8.0 * FOOT, 2.0 * INCH)
    assert 1000.0 * volume == pytest.approx(151.0, abs=1.0)
    assert volume / FOOT**3 == pytest.approx(5.33, abs=0.01)
    assert volume / FOOT**3 / 0.67 == pytest.approx(8.0, abs=0.1)


def test_case_29_compostable_bags():
    """Home-compostable yes, torn open, 8 to 26 weeks; industrial only no."""
    home = where_it_goes(find_places("liner marked for home composting")[0])
    works = where_it_goes(find_places("EN 13432")[0])
    assert home.destination == "bin"
    assert "8 to 26 weeks" in " ".join(home.reasons)
    assert works.destination != "bin"


def test_case_30_yield():
    """59 % of the wet input came out, paper and chips counted as input; 30 to 60 % is the range."""
    share = yield_share(179.7, 106.7)
    assert 0.30 <= share <= 0.60
    assert pytest.approx(13.8, abs=0.05) == 179.7 / 13.0


def test_case_19_too_much_grass_is_not_all_put_in():
    """Two to three times as many leaves, thin layers, and the rest elsewhere."""
    told = " ".join(where_it_goes(find_places("grass clippings")[0]).reasons)
    assert "two to three times as many leaves" in told
    assert "5 cm" in told
    assert "slow heap" in told


def test_case_17_a_quarter_coffee_grounds():
    """Counts as a green at about 20:1; a quarter is fine, well above it is cautioned."""
    from slowfire.materials.library import load_library
    from slowfire.services.mix import mix

    assert load_library().find("coffee_grounds").c_to_n == pytest.approx(22.5, abs=4.0)

    def cautions(coffee, leaves):
        made = mix([f"coffee_grounds={coffee} litre", f"leaves_mixed_autumn={leaves} litre loose"])
        return " ".join(made.cautions)

    assert "by volume" not in cautions(2, 8)
    told = cautions(5, 5)
    assert "quarter" in told
    assert "seeds" in told
