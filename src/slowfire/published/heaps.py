"""Set-ups of heaps, wire cages and plain wooden or plastic bins without insulation."""

from collections.abc import Mapping

from slowfire.column.parameters import Parameters
from slowfire.materials.feedstock import Packing, Portion
from slowfire.published.mixes import by_volume, core_moisture, wetted, with_moisture
from slowfire.published.trial import SetUp, Trial, Unknown, litres_of, plain_air
from slowfire.vessel import Fittings, Vessel, box, cylinder, heap, inside_volume

# A cage of wire: air from all sides, rain from above, as an open heap with upright sides.
CAGE = Fittings(
    wall=(("wire", 0.001),),
    lid=None,
    base=(),
    vent_slot_length=0.0,
    inlet_area=0.0,
    side_open=1.0,
    wind_share=0.6,
    sun_share=0.6,
)


def _wooden(side_open: float, lidded: bool = False) -> Fittings:
    return Fittings(
        wall=(("timber", 0.02),),
        lid=(("timber", 0.02),) if lidded else None,
        base=(),
        lid_fit="leaky",
        inlet_area=0.0,
        side_open=side_open,
        wind_share=0.5,
        sun_share=0.4,
    )


def _filled(trial: Trial, mix: list[Portion], celsius: float) -> Trial:
    trial.column.load(mix, temperature_celsius=celsius)
    return trial


# V25: a large heap of a good mix


def _large_pile(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    vessel = heap(2.2 * given["height"], given["height"])
    air = plain_air(given["air"], 22.0, daily_swing=10.0, wind=2.0, rain_per_year=900.0, sun=150.0)
    leaves = 1.0 - given["grass"] - given["chips"]
    parts = {
        "leaves_mixed_autumn": leaves,
        "grass_clippings_fresh": given["grass"],
        "arborist_chips_with_leaf": given["chips"],
    }
    mix = wetted(by_volume(1000.0 * inside_volume(vessel), parts), given["moisture"])
    trial = _filled(Trial.start(vessel, air, parameters, every=2.0), mix, given["air"])
    trial.run_days(21.0)
    return {
        "peak_temperature": trial.peak("hottest"),
        "day_of_peak": trial.first_day_above(60.0, "hottest"),
    }


# V27 and V28: food and leaves in wooden bins


def _food_and_leaves(food: float, leaves: float, chips: float, moisture: float) -> list[Portion]:
    return wetted(
        [
            litres_of("food_waste_household_mixed", food),
            litres_of("leaves_mixed_autumn", leaves * food),
            litres_of("arborist_chips_with_leaf", chips * food),
        ],
        moisture,
    )


def _winter_bin(
    parameters: Parameters, given: Mapping[str, float], extra_food: float
) -> tuple[float, float]:
    """Warmest core of the trial, and water in the core at its end."""
    vessel = box(0.914, 0.914, 0.914, _wooden(given["gaps"], lidded=True))
    # days of the year count on past 365; the swing is that of the north-east of the country
    air = plain_air(
        given["year"],
        91.0,
        daily_swing=9.0,
        yearly_swing=26.0,
        start_day=given["start"],
        wind=2.0,
        rain_per_year=900.0,
        sun=60.0,
    )
    trial = Trial.start(vessel, air, parameters, every=6.0)
    trial.column.set_vent(0.01)
    loads = 6
    room = 1000.0 * inside_volume(vessel) / loads
    food = room / (1.0 + given["leaves"] + 0.1)
    for _ in range(loads):
        layer = _food_and_leaves(food, given["leaves"], 0.1, 0.55)
        layer[0] = litres_of("food_waste_household_mixed", food * (1.0 + extra_food))
        trial.column.load(layer, temperature_celsius=given["load"])
        trial.run_days(given["filling"] / loads)
    trial.run_days(60.0)
    return trial.peak(), core_moisture(trial)


def _winter_bins(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    peak, right = _winter_bin(parameters, given, 0.0)
    _, wet = _winter_bin(parameters, given, 0.38)
    return {"winter_peak": peak, "core_wetter_with_more_food": 100.0 * (wet - right)}


def _two_sizes(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    peaks = []
    for volume in (0.23, 1.4):
        side = float(volume ** (1.0 / 3.0))
        vessel = box(side, side, side, _wooden(given["gaps"]))
        air = plain_air(given["air"], 22.0, daily_swing=8.0, wind=1.5, sun=100.0)
        food = 1000.0 * volume / (1.0 + given["leaves"] + 0.2)
        mix = _food_and_leaves(food, given["leaves"], 0.2, given["moisture"])
        trial = _filled(
            Trial.start(vessel, air, parameters, every=2.0), mix, max(given["air"], 2.0)
        )
        trial.run_days(21.0)
        peaks.append(trial.peak())
    return {"larger_is_hotter": peaks[1] - peaks[0]}


# V30 and case-11: cages of wire


def _june_cage(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    vessel = cylinder(given["size"], given["size"], CAGE)
    air = plain_air(
        given["air"], 8.0, daily_swing=8.0, humidity=0.85, wind=1.5, rain_per_year=1500.0, sun=150.0
    )
    fresh = 1.0 - given["old"] - given["kitchen"]
    # fresh hay, clippings and green rye in equal parts; young rye stands between grass and hay
    parts = {
        "half_finished_compost": given["old"],
        "food_waste_household_mixed": given["kitchen"],
        "long_grass_strimmed": 0.5 * fresh,
        "grass_clippings_wilted": 0.5 * fresh,
    }
    litres = 1000.0 * inside_volume(vessel)
    trodden = given["trodden"]
    dense: dict[str, Packing] = dict.fromkeys(parts, "dense")
    mix = by_volume((1.0 - trodden) * litres, parts) + by_volume(trodden * litres, parts, dense)
    mix = wetted(mix, given["moisture"])
    trial = _filled(Trial.start(vessel, air, parameters), mix, given["air"])
    first = trial.height()
    trial.run_days(7.0)
    days, core = trial.series()
    return {
        "warmest_by_58_hours": float(core[days <= 58.0 / 24.0].max()),
        "peak_temperature": trial.peak(),
        "day_of_peak": trial.day_of_peak(),
        "volume_left": trial.height() / first,
    }


def _tropical_cages(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    vessel = box(0.914, 0.914, 0.762, CAGE)
    air = plain_air(
        given["air"], 4.0, daily_swing=8.0, humidity=0.75, wind=2.0, rain_per_year=0.0, sun=230.0
    )
    parts = {
        "leaves_mixed_autumn": 1.0 - given["grass"] - given["card"],
        "grass_clippings_wilted": given["wilted"] * given["grass"],
        "grass_clippings_fresh": (1.0 - given["wilted"]) * given["grass"],
        "corrugated_cardboard": given["card"],
    }
    on_day_2 = []
    for height in (0.762, 0.61):
        volume = 1000.0 * vessel.base_area * height
        mix = wetted(by_volume(volume, parts), given["moisture"])
        trial = _filled(Trial.start(vessel, air, parameters), mix, given["air"])
        trial.run_days(3.0)
        on_day_2.append(trial.at_day(2.0))
    return {"tall_day_2": on_day_2[0], "low_day_2": on_day_2[1]}


# case-1: the same chipped garden waste in four containers in late autumn


def _garden_waste(litres: float, given: Mapping[str, float]) -> list[Portion]:
    parts = {
        "prunings_chipped_woody": given["woody"],
        "hedge_trimmings_soft": given["hedge"],
        "leaves_mixed_autumn": given["leaves"],
        "potato_haulms": given["green"] * given["tops"],
        "maize_sunflower_stalks": (1.0 - given["green"]) * given["tops"],
    }
    # what has been through the shredder lies about as dense as the same pressed by hand
    shredded: dict[str, Packing] = {
        word: "dense" for word in parts if word != "prunings_chipped_woody"
    }
    return wetted(by_volume(litres, parts, shredded), given["moisture"])


def _late_autumn(
    vessel: Vessel, parameters: Parameters, given: Mapping[str, float], every: float
) -> Trial:
    air = plain_air(
        given["air"],
        30.0,
        daily_swing=5.0,
        humidity=0.88,
        wind=2.0,
        rain_per_year=800.0,
        sun=35.0,
    )
    mix = _garden_waste(1000.0 * inside_volume(vessel), given)
    return _filled(Trial.start(vessel, air, parameters, every=every), mix, given["air"])


def _four_containers(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    plastic = Fittings(
        wall=(("plastic", 0.003),),
        lid=(("plastic", 0.003),),
        base=(),
        vent_slot_length=0.3,
        inlet_area=0.004,
        wind_share=0.5,
        sun_share=0.4,
    )
    small = {
        "plastic": cylinder(0.70, 0.78, plastic),
        "open": heap(1.0, 0.655),
        "slatted": box(0.9, 0.9, 0.926, _wooden(given["gaps"])),
    }
    found = {}
    for name, vessel in small.items():
        trial = _late_autumn(vessel, parameters, given, 3.0)
        if name == "plastic":
            trial.column.set_vent(0.005)
        trial.run_days(28.0)
        found[f"{name}_excess"] = trial.peak() - given["air"]
    large = _late_autumn(heap(5.0, 2.62), parameters, given, 6.0)
    large.run_days(14.0)
    found["large_heap_peak"] = large.peak("hottest")
    large.column.turn()
    large.run_days(14.0)
    # the day of turning is left out: what is sought is whether it warms up again
    days, hottest = large.series("hottest")
    found["large_heap_after_turning"] = float(hottest[days > 15.0].max())
    found["slatted_over_plastic"] = found["slatted_excess"] - found["plastic_excess"]
    found["plastic_over_open"] = found["plastic_excess"] - found["open_excess"]
    return found


# case-7: a dry hot pile of manure gets one watering can


def _dry_pile(parameters: Parameters, given: Mapping[str, float], moisture: float) -> Trial:
    """The pile some days after it was turned into its bin, a fresh layer on top."""
    vessel = box(1.0, 1.0, 1.0, _wooden(given["gaps"]))
    air = plain_air(12.0, 9.0, daily_swing=10.0, wind=1.5, sun=150.0)
    trial = Trial.start(vessel, air, parameters)
    manure = [litres_of("horse_manure_straw", 450.0), litres_of("horse_manure_shavings", 450.0)]
    dry = [with_moisture(one, moisture) for one in manure]
    trial.column.load(dry, temperature_celsius=12.0)
    trial.column.load([litres_of("horse_manure_straw", 100.0)], temperature_celsius=12.0)
    trial.core_share = 1.0 - given["probe"] / trial.height()
    trial.run_days(given["age"])
    return trial


def _watered_pile(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    # the pile stood at 60 degC: of all moistures the one that gives this by itself is taken
    low, high = 0.30, 0.60
    for _ in range(9):
        moisture = 0.5 * (low + high)
        trial = _dry_pile(parameters, given, moisture)
        if trial.core[-1] < 60.0:
            low = moisture
        else:
            high = moisture
    before = trial.core[-1]
    trial.column.water(given["can"], depth=given["reach"], temperature_celsius=12.0)
    watered_at = trial.column.hour / 24.0
    trial.run_days(2.0)
    days, core = trial.series()
    return {"rise_after_watering": float(core[days > watered_at].max()) - before}


GAPS_WHY = "share of the sides that lets air in between boards; not stated"
RECIPE_WHY = "leaves to food by volume; 'the right recipe' is not printed, practice is 2 to 4"

SET_UPS = (
    SetUp(
        "V25",
        "Large open heap of a good mix of leaves, grass and chips.",
        (
            Unknown("height", 1.5, 2.2, "m", "'large' only"),
            Unknown("air", 8.0, 20.0, "degC", "season not stated"),
            Unknown("grass", 0.2, 0.4, "-", "share by volume that gives 25 to 35 of C to N"),
            Unknown("chips", 0.1, 0.3, "-", "share by volume, for air"),
            Unknown("moisture", 0.50, 0.62, "-", "the pages ask for 50 to 60 %"),
        ),
        _large_pile,
    ),
    SetUp(
        "V27",
        "Wooden bin of 0.76 m3 in winter, layers of food and leaves; again with 38 % more food.",
        (
            Unknown("year", 5.0, 9.0, "degC", "mean air of the year, north of the country"),
            Unknown("start", 305.0, 375.0, "day", "day of the year: November to mid-January"),
            Unknown("leaves", 2.0, 4.0, "-", RECIPE_WHY),
            Unknown("gaps", 0.02, 0.25, "-", GAPS_WHY),
            Unknown("filling", 1.0, 21.0, "day", "how long it took to fill"),
            Unknown("load", 2.0, 12.0, "degC", "food from indoors with leaves from outdoors"),
        ),
        _winter_bins,
    ),
    SetUp(
        "V28",
        "Bins of 0.23 and 1.4 m3 with the same recipe, filled at once.",
        (
            Unknown("air", 0.0, 20.0, "degC", "season not stated"),
            Unknown("leaves", 1.5, 4.0, "-", RECIPE_WHY),
            Unknown("gaps", 0.02, 0.3, "-", GAPS_WHY),
            Unknown("moisture", 0.50, 0.62, "-", "usual for a good recipe"),
        ),
        _two_sizes,
    ),
    SetUp(
        "V30",
        "Wire cage in June: a year's refuse with fresh hay, clippings and green rye.",
        (
            Unknown("size", 0.9, 1.3, "m", "height and width, 'about 1 m'"),
            Unknown("old", 0.25, 0.5, "-", "share of half-rotted refuse by volume"),
            Unknown("kitchen", 0.0, 0.1, "-", "share of kitchen refuse still fresh"),
            Unknown("trodden", 0.05, 0.95, "-", "share that lies pressed rather than loose"),
            Unknown("moisture", 0.55, 0.66, "-", "cool rainy days, not dry"),
            Unknown("air", 16.0, 18.0, "degC", "June in the region"),
        ),
        _june_cage,
    ),
    SetUp(
        "case-1",
        "Chipped garden waste in late autumn in plastic, an open heap, slats, and 30 m3.",
        (
            Unknown("air", 4.0, 9.0, "degC", "'below 10'"),
            Unknown("woody", 0.3, 0.5, "part", "shares by volume are not stated"),
            Unknown("hedge", 0.2, 0.4, "part", "shares by volume are not stated"),
            Unknown("leaves", 0.05, 0.2, "part", "shares by volume are not stated"),
            Unknown("tops", 0.1, 0.3, "part", "shares by volume are not stated"),
            Unknown("green", 0.05, 0.95, "-", "share of the tops not yet withered by frost"),
            Unknown("moisture", 0.50, 0.62, "-", "late autumn, usually rained on"),
            Unknown("gaps", 0.1, 0.4, "-", GAPS_WHY),
        ),
        _four_containers,
    ),
    SetUp(
        "case-7",
        "Turned pile of manure and bedding at 60 degC, too dry, one watering can.",
        (
            Unknown("age", 2.0, 6.0, "day", "since it was turned"),
            Unknown("can", 7.0, 10.0, "L", "one watering can"),
            Unknown("reach", 0.2, 0.5, "m", "how deep the water went"),
            Unknown("probe", 0.2, 0.5, "m", "depth of the thermometer"),
            Unknown("gaps", 0.05, 0.3, "-", GAPS_WHY),
        ),
        _watered_pile,
    ),
    SetUp(
        "case-11",
        "Wire cages of leaves, grass and card soaked at build in the tropics, full and 0.61 m.",
        (
            Unknown("air", 26.0, 30.0, "degC", "tropical summer"),
            Unknown("grass", 0.25, 0.5, "-", "share by volume is not stated"),
            Unknown("wilted", 0.0, 1.0, "-", "whether the grass lay a day"),
            Unknown("card", 0.05, 0.2, "-", "share by volume is not stated"),
            Unknown("moisture", 0.60, 0.70, "-", "soaked: what leaves hold after draining"),
        ),
        _tropical_cages,
    ),
)
