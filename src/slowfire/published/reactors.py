"""Set-ups of drums, controlled reactors and pilot piles."""

from collections.abc import Mapping

import numpy as np

from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    HEAD_TEMPERATURE,
    HEAD_TEMPERATURE_BEFORE,
    L_AMMONIA_OUT,
    L_CARBON_DIOXIDE,
    L_METHANE,
    L_OXYGEN_USED,
)
from slowfire.constants import OXYGEN_IN_AIR
from slowfire.materials.library import load_library
from slowfire.published.mixes import (
    dry_kilograms_of,
    wetted,
    with_moisture,
)
from slowfire.published.trial import (
    SetUp,
    Trial,
    Unknown,
    kilograms_of,
    litres_of,
    plain_air,
)
from slowfire.vessel import Fittings, box, cylinder, heap


def _tumble(trial: Trial) -> None:
    """Turn a drum, which stays shut: the air over the stack keeps its warmth."""
    state = trial.column.bin_state
    warmth = state[HEAD_TEMPERATURE]
    trial.column.turn()
    state[HEAD_TEMPERATURE] = state[HEAD_TEMPERATURE_BEFORE] = warmth


# V5: a drum of 550 L, a square tube of the same length, height and volume


def _large_drum(
    parameters: Parameters, given: Mapping[str, float], vegetables: float, dung: float
) -> Trial:
    fittings = Fittings(
        wall=(("steel", 0.004),),
        lid=(("steel", 0.004),),
        base=(("steel", 0.004),),
        vent_slot_length=0.0,
        # both doors open into the air over the stack: exchange there, no draught from below
        inlet_area=0.0001,
        side_open=given["ends"],
        roofed=True,
        sun_share=0.0,
        wind_share=0.2,
    )
    vessel = box(1.22, 0.60, 0.75, fittings)
    vessel = vessel._replace(lid_exchange=given["change"] / vessel.top_area)
    air = plain_air(given["air"], 21.0, daily_swing=7.0, wind=1.0)
    trial = Trial.start(vessel, air, parameters)
    trial.column.set_vent(0.0)
    leafy = given["leafy"] * vegetables
    mix = [
        kilograms_of("fruit_veg_peelings_mixed", 15.0 * (vegetables - leafy)),
        kilograms_of("leafy_greens", 15.0 * leafy),
        kilograms_of("cow_manure_bedded", 15.0 * dung),
        kilograms_of("sawdust_hardwood", 15.0),
    ]
    trial.column.load(mix, temperature_celsius=given["air"])
    for _ in range(20):
        trial.run_days(1.0)
        _tumble(trial)
    return trial


def _two_drums(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    dunged = _large_drum(parameters, given, 6.0, 3.0)
    wet = _large_drum(parameters, given, 8.0, 1.0)
    return {
        "peak_temperature_6_3_1": dunged.peak(),
        "peak_temperature_8_1_1": wet.peak(),
        "days_above_55_6_3_1": dunged.days_above(55.0),
        "leachate_8_1_1": wet.column.liquid_litres(),
        "earlier_collapse_8_1_1": dunged.last_day_above(45.0) - wet.last_day_above(45.0),
    }


# V6: a household drum with sawdust and food


def _small_drum(
    parameters: Parameters, given: Mapping[str, float], sawdust: float
) -> tuple[Trial, float]:
    """The drum after 15 days, and the moisture content it began with."""
    volume = given["volume"] / 1000.0
    diameter = float((volume * 4.0 / np.pi / 1.3) ** (1.0 / 3.0))
    length = 1.3 * diameter
    foam = (("eps", given["foam"]), ("plastic", 0.004))
    fittings = Fittings(
        wall=foam,
        lid=foam,
        base=foam,
        vent_slot_length=0.0,
        # holes at the ends, above the stack: exchange there, no draught from below
        inlet_area=0.0001,
        roofed=True,
        sun_share=0.0,
        wind_share=0.2,
    )
    vessel = box(length, np.pi / 4.0 * diameter, diameter, fittings)
    vessel = vessel._replace(lid_exchange=given["change"] / vessel.top_area)
    air = plain_air(given["air"], 16.0, daily_swing=8.0, wind=0.5)
    trial = Trial.start(vessel, air, parameters)
    trial.column.set_vent(0.0)
    food = 1000.0 * given["fill"] * volume / (1.0 + sawdust)
    mix = [
        litres_of("food_waste_household_mixed", food),
        with_moisture(litres_of("sawdust_softwood", sawdust * food), given["sawdust_water"]),
    ]
    trial.column.load(mix, temperature_celsius=given["air"])
    first = trial.moisture_content()
    # the drum turns for five minutes in every hour
    for _ in range(15 * 24):
        trial.run_days(1.0 / 24.0)
        _tumble(trial)
        trial.settle()
    return trial, first


def _sawdust_drums(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    found = {}
    last = {}
    for ratio in (2, 3, 4):
        trial, first = _small_drum(parameters, given, float(ratio))
        found[f"day_of_45_{ratio}_1"] = trial.first_day_above(45.0)
        last[ratio] = (100.0 * trial.moisture_content(), trial.at_day(15.0))
        if ratio == 2:
            found["moisture_rise_2_1"] = last[ratio][0] - 100.0 * first
    found["moisture_order"] = last[2][0] - last[4][0]
    found["hot_day_15_order"] = last[2][1] - last[4][1]
    return found


# L1: reactors held at one temperature


OXYGEN_MASS_SHARE = 0.2315  # of dry air [kg/kg]
LEAST_AIR = 2.0e-5  # so that a reactor that has not begun is not shut [kg/s]


def _mean_ph(trial: Trial) -> float:
    layers = trial.column.section().layers
    return float(np.average([a.acidity_ph for a in layers], weights=[a.dry_mass for a in layers]))


def _day_held(trial: Trial, celsius: float, moisture: float, oxygen: float) -> float:
    """One day at a held temperature, water made up at its end; carbon dioxide of the day [kg].

    Fresh air follows what was used up, so that the gas that leaves holds `oxygen` [-].
    """
    ledger = trial.column.ledger
    before = float(ledger[L_CARBON_DIOXIDE])
    end = trial.column.hour / 24.0 + 1.0
    while trial.column.hour / 24.0 < end - 1e-6:
        used = float(ledger[L_OXYGEN_USED])
        trial.run_days(0.125, hold_celsius=celsius)
        rate = (float(ledger[L_OXYGEN_USED]) - used) / (0.125 * 86400.0)
        share = OXYGEN_MASS_SHARE * (OXYGEN_IN_AIR - oxygen) / OXYGEN_IN_AIR
        trial.column.set_forced_air(max(rate / share, LEAST_AIR))
        trial.settle()
    made = float(ledger[L_CARBON_DIOXIDE]) - before
    missing = trial.dry_mass() * moisture / (1.0 - moisture) - trial.water_mass()
    if missing > 0.0:
        trial.column.water(missing, depth=5.0, temperature_celsius=celsius)
    return made


def _held_reactors(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    fittings = Fittings(
        wall=(("eps", 0.05),),
        lid=(("eps", 0.05),),
        vent_slot_length=0.2,
        inlet_area=0.0,
        roofed=True,
        sun_share=0.0,
        wind_share=0.0,
    )
    vessel = cylinder(0.55, 0.85, fittings)
    start = Trial.start(vessel, plain_air(20.0, 40.0, wind=0.0), parameters)
    start.column.set_vent(0.01)
    start.column.set_forced_air(2.0e-4)
    oxygen = given["oxygen"]
    waste = 1.0 - given["straw"]
    mix = [
        kilograms_of("food_waste_household_mixed", 60.0 * waste),
        kilograms_of("wheat_straw", 60.0 * given["straw"]),
    ]
    start.column.load(wetted(mix, 0.65), temperature_celsius=20.0)
    # below 40 degC until the acids are gone, as was found to be the quick way
    for _ in range(8):
        _day_held(start, 36.0, 0.65, oxygen)
        if _mean_ph(start) > 6.5:
            break
    rate = {}
    ammonia = {}
    for celsius in (40.0, 55.0, 67.0):
        trial = Trial(start.column.copy())
        days = [_day_held(trial, celsius, 0.65, oxygen) for _ in range(14)]
        rate[celsius] = max(days)
        ammonia[celsius] = float(trial.column.ledger[L_AMMONIA_OUT])
    return {
        "rate_55_over_40": rate[55.0] / rate[40.0],
        "rate_55_over_67": rate[55.0] / rate[67.0],
        "ammonia_67_over_55": ammonia[67.0] / ammonia[55.0],
        "ammonia_67_over_40": ammonia[67.0] / ammonia[40.0],
    }


# L4: food and green waste in an aired vessel


def _food_share(green: Mapping[str, float], c_to_n: float) -> float:
    """Dry food for each dry kilogram of green waste that gives a ratio of carbon to nitrogen."""
    library = load_library()
    food = library.find("food_waste_household_mixed")
    carbon = sum(part * library.find(word).carbon_content for word, part in green.items())
    nitrogen = sum(part * library.find(word).nitrogen_content for word, part in green.items())
    return (carbon - c_to_n * nitrogen) / (c_to_n * food.nitrogen_content - food.carbon_content)


def _aired_vessel(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    grass = 1.0 - given["leaves"] - given["hedge"]
    green = {
        "leaves_mixed_autumn": given["leaves"],
        "hedge_trimmings_soft": given["hedge"],
        "grass_clippings_wilted": grass,
    }
    parts = green | {"food_waste_household_mixed": _food_share(green, 19.6)}
    fittings = Fittings(
        wall=(("eps", 0.05),),
        lid=(("eps", 0.05),),
        vent_slot_length=0.2,
        inlet_area=0.0,
        roofed=True,
        sun_share=0.0,
        wind_share=0.0,
    )
    diameter = float((given["volume"] / 1000.0 / 1.5 * 4.0 / np.pi) ** (1.0 / 3.0))
    vessel = cylinder(diameter, 1.5 * diameter, fittings)
    trial = Trial.start(vessel, plain_air(given["room"], 13.0, wind=0.0), parameters)
    trial.column.set_vent(0.01)
    # food wetter than 60 % was brought to it together with the drier green waste
    mix = [dry_kilograms_of(word, dry, 0.60) for word, dry in parts.items()]
    scale = 0.9 * given["volume"] / sum(one.litres for one in mix)
    mix = [dry_kilograms_of(word, scale * dry, 0.60) for word, dry in parts.items()]
    trial.column.load(mix, temperature_celsius=given["room"])
    first = trial.organic_mass()
    # litres of air a minute and kilogram of volatile solids, at 1.2 kg/m^3
    trial.column.set_forced_air(given["blown"] * first * 1.2e-3 / 60.0)
    for _ in range(4):
        trial.run_days(3.0)
        trial.column.turn()
    return {"volatile_solids_loss": 100.0 * (1.0 - trial.organic_mass() / first)}


# L5: piles of dairy manure


def _manure_pile(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    base = float((given["volume"] / 0.229) ** (1.0 / 3.0))
    air = plain_air(given["air"], 81.0, daily_swing=10.0, wind=1.0, sun=100.0)
    trial = Trial.start(heap(base, 0.5 * base, roofed=True), air, parameters, every=6.0)
    litres = 1000.0 * given["volume"]
    bedding = given["bedding"]
    mix = [
        litres_of("cow_manure_bedded", (1.0 - bedding) * litres),
        litres_of("wheat_straw", 0.6 * bedding * litres),
        litres_of("sawdust_softwood", 0.4 * bedding * litres),
    ]
    trial.column.load(mix, temperature_celsius=given["air"])
    ledger = trial.column.ledger
    trial.run_days(23.0)
    gas, methane = float(ledger[L_CARBON_DIOXIDE]), float(ledger[L_METHANE])
    trial.run_days(57.0)
    return {
        "carbon_dioxide_by_day_23": gas / float(ledger[L_CARBON_DIOXIDE]),
        "methane_by_day_23": methane / max(float(ledger[L_METHANE]), 1e-12),
    }


SET_UPS = (
    SetUp(
        "V5",
        "Steel drum of 550 L turned once a day: 150 kg of vegetables, dung and sawdust by mass.",
        (
            Unknown("air", 18.0, 30.0, "degC", "season not stated, subtropical"),
            Unknown("leafy", 0.2, 0.6, "-", "share of leaves among the vegetable waste"),
            Unknown(
                "change", 3e-4, 3e-3, "kg/s", "air through the end doors, 2 to 16 fillings an hour"
            ),
            Unknown("ends", 0.0, 0.2, "-", "share of the sides of the stack that the doors bare"),
        ),
        _two_drums,
    ),
    SetUp(
        "V6",
        "Household drum turned every hour: sawdust to food 2, 3 and 4 to 1 by volume, 15 days.",
        (
            Unknown("volume", 60.0, 200.0, "L", "'household' only"),
            Unknown("fill", 0.6, 0.8, "-", "a drum needs room to tumble"),
            Unknown("foam", 0.0, 0.025, "m", "whether the drum is insulated"),
            Unknown("change", 6e-5, 5e-4, "kg/s", "air through 5 to 40 cm2 of holes at 0.1 m/s"),
            Unknown("sawdust_water", 0.15, 0.45, "-", "dry from the joiner to fresh from the saw"),
            Unknown("air", 16.0, 24.0, "degC", "highlands, season not stated"),
        ),
        _sawdust_drums,
    ),
    SetUp(
        "L1",
        "Reactors of 200 L with household waste and straw at 65 % water, held at 40, 55, 67 degC.",
        (
            Unknown("straw", 0.08, 0.2, "-", "share of straw in the wet mix"),
            Unknown("oxygen", 0.14, 0.18, "-", "left in the gas; fresh air was let in to hold it"),
        ),
        _held_reactors,
    ),
    SetUp(
        "L4",
        "Aired and insulated vessel with food and green waste, 60 % water, C to N 19.6, 12 days.",
        (
            Unknown("volume", 30.0, 200.0, "L", "'in-vessel' only"),
            Unknown("leaves", 0.25, 0.5, "-", "share of the green waste, dry"),
            Unknown("hedge", 0.05, 0.25, "-", "share of the green waste, dry"),
            Unknown("blown", 0.2, 0.8, "L/(min kg)", "usual airing for each kg of organic matter"),
            Unknown("room", 18.0, 26.0, "degC", "indoors"),
        ),
        _aired_vessel,
    ),
    SetUp(
        "L5",
        "Static pile of dairy manure with bedding under a roof, 80 days.",
        (
            Unknown("volume", 0.5, 2.0, "m3", "'pilot' only"),
            Unknown("bedding", 0.4, 0.7, "-", "added straw and sawdust by volume"),
            Unknown("air", 10.0, 24.0, "degC", "season not stated"),
        ),
        _manure_pile,
    ),
)
