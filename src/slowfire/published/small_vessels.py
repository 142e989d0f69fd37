"""Set-ups of vessels up to 80 L: a bottle, buckets, indoor cans, nested cans, a vertical bin."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from slowfire.column.parameters import Parameters
from slowfire.column.positions import L_CARBON_DIOXIDE, L_MASS_LOADED
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.published.trial import (
    SetUp,
    Trial,
    Unknown,
    kilograms_of,
    litres_of,
    plain_air,
    water_to_reach,
)
from slowfire.vessel import Fittings, Vessel, cylinder

CARBON_IN_CARBON_DIOXIDE = 12.011 / 44.009

GOOD_MIX = (
    Unknown("c_to_n", 25.0, 35.0, "-", "the same pages ask for about 30 parts of carbon"),
    Unknown("moisture", 0.50, 0.60, "kg/kg", "the same pages ask for 50 to 60 % water"),
    Unknown("room", 18.0, 23.0, "degC", "indoors"),
    Unknown("filled", 0.80, 1.00, "-", "how full of loose mix"),
)


def can(litres: float, slenderness: float, fittings: Fittings) -> Vessel:
    """An upright round vessel of a volume and a ratio of height to diameter."""
    diameter = (4.0 * litres / 1000.0 / (np.pi * slenderness)) ** (1.0 / 3.0)
    return cylinder(float(diameter), float(slenderness * diameter), fittings)


def carbon_and_nitrogen(portions: Sequence[Portion]) -> tuple[float, float]:
    """What the analyses of the materials say [kg]."""
    dry = [one.mass * one.feedstock.dry_matter for one in portions]
    carbon = sum(m * one.feedstock.carbon_content for m, one in zip(dry, portions, strict=True))
    nitrogen = sum(m * one.feedstock.nitrogen_content for m, one in zip(dry, portions, strict=True))
    return carbon, nitrogen


def good_mix(litres: float, c_to_n: float) -> list[Portion]:
    """Food waste with leaves and a third as much again of shavings, so that C:N comes out right."""
    carbon, nitrogen = carbon_and_nitrogen([litres_of("food_waste_household_mixed", 1.0)])
    brown_carbon, brown_nitrogen = carbon_and_nitrogen(
        [litres_of("leaves_mixed_autumn", 0.75), litres_of("wood_shavings", 0.25)]
    )
    brown = (c_to_n * nitrogen - carbon) / (brown_carbon - c_to_n * brown_nitrogen)
    food = litres / (1.0 + brown)
    return [
        litres_of("food_waste_household_mixed", food),
        litres_of("leaves_mixed_autumn", 0.75 * brown * food),
        litres_of("wood_shavings", 0.25 * brown * food),
    ]


def fill(trial: Trial, portions: Sequence[Portion], moisture: float, celsius: float) -> None:
    """One filling, wetted throughout to a moisture content if it is drier."""
    trial.column.load(portions, temperature_celsius=celsius)
    trial.column.water(
        water_to_reach(portions, moisture), depth=5.0, temperature_celsius=max(celsius, 1.0)
    )


def _bottle(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    foam = (("eps", given["foam"]),) if given["foam"] > 0.0 else ()
    fittings = Fittings(
        wall=(("plastic", 0.0005), *foam),
        lid=(("plastic", 0.0005),),
        # a plate of foam on a stand, air holes in the bottle below it
        base=(("eps", 0.003),),
        vent_slot_length=0.05,
        inlet_area=given["holes"],
        roofed=True,
        sun_share=0.0,
        wind_share=0.1,
    )
    vessel = can(given["volume"], 2.2, fittings)
    trial = Trial.start(vessel, plain_air(given["room"], 9.0, wind=0.1), parameters)
    trial.column.set_vent(given["holes"] / 0.05)
    mix = good_mix(given["filled"] * given["volume"], given["c_to_n"])
    fill(trial, mix, given["moisture"], given["room"])
    trial.run_days(8.0)
    return {"peak_temperature": trial.peak()}


def _indoor_vessel(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    fittings = Fittings(
        wall=(("plastic", 0.003),),
        lid=(("plastic", 0.003),),
        base=(("plastic", 0.003),),
        vent_slot_length=0.3,
        inlet_area=given["holes"],
        roofed=True,
        sun_share=0.0,
        wind_share=0.1,
    )
    vessel = can(given["volume"], 1.3, fittings)
    trial = Trial.start(vessel, plain_air(given["room"], 9.0, wind=0.1), parameters)
    trial.column.set_vent(0.01)
    trial.column.set_cover(given["jacket"], roofed=True)
    mix = good_mix(given["filled"] * given["volume"], given["c_to_n"])
    fill(trial, mix, given["moisture"], given["room"])
    trial.run_days(8.0)
    return {"peak_temperature": trial.peak(), "day_of_peak": trial.day_of_peak()}


def _nested_cans(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    # The can lies on its side, so nothing draws air through it: ours stands, with the same volume
    # and insulation, but opens only at the lid, where air comes and goes both ways.
    fittings = Fittings(
        wall=(("plastic", 0.003), ("eps", given["gap"]), ("plastic", 0.003)),
        lid=(("eps", 0.05),),
        base=(("plastic", 0.003), ("eps", given["gap"]), ("plastic", 0.003)),
        vent_slot_length=0.3,
        inlet_area=0.0,
        roofed=True,
        sun_share=0.0,
        wind_share=0.3,
    )
    vessel = can(given["volume"], 1.4, fittings)
    air = plain_air(given["air"], 8.0, daily_swing=10.0, wind=1.5)
    trial = Trial.start(vessel, air, parameters)
    trial.column.set_vent(given["gap_at_lid"])
    grass = given["filled"] * given["volume"] / (1.0 + given["leaves"])
    pressed = given["pressed"]
    mix = [
        portion
        for word, litres in (
            ("grass_clippings_fresh", grass),
            ("leaves_mixed_autumn", given["leaves"] * grass),
        )
        for portion in (
            litres_of(word, (1.0 - pressed) * litres),
            litres_of(word, pressed * litres, "dense"),
        )
    ]
    fill(trial, mix, given["moisture"], given["air"])
    # rolled by hand "a few times a day"; a turn of the stack stands for a few rolls
    for _ in range(14):
        trial.run_days(0.5)
        trial.column.turn()
    return {"peak_temperature": trial.peak(), "day_of_peak": trial.day_of_peak()}


def _bucket(given: Mapping[str, float], litres: float, **changes: float) -> Vessel:
    """A plain bucket with a lid; `litres` is what it holds."""
    foam = changes.get("foam", 0.0)
    fittings = Fittings(
        wall=(("plastic", 0.002), *((("eps", foam),) if foam > 0.0 else ())),
        lid=(("plastic", 0.002),),
        base=(("plastic", 0.002),),
        vent_slot_length=0.1,
        inlet_area=given["holes"],
        lid_fit="tight" if changes.get("sealed") else "usual",
        roofed=True,
        sun_share=0.0,
        wind_share=0.1,
    )
    return can(litres, 1.1, fittings)


def _ten_litres(
    parameters: Parameters, given: Mapping[str, float], used: float, weekly: bool
) -> tuple[float, float, float]:
    """One of three trials: warmest degree, and shares of wet and dry mass lost."""
    days = given["days"]
    trial = Trial.start(
        _bucket(given, 10.0), plain_air(given["room"], days + 1.0, wind=0.1), parameters, every=3.0
    )
    trial.column.set_vent(given["holes"] / 0.1)
    dry = 0.0

    def add(litres: float) -> float:
        food = litres / (1.0 + given["chips"])
        chips = given["chips"] * food
        mix = [litres_of("food_waste_household_mixed", food)]
        if used > 0.0:
            mix.append(litres_of("compost_oversize_wood", used * chips))
        if used < 1.0:
            mix.append(litres_of("hardwood_chips_seasoned", (1.0 - used) * chips))
        trial.column.load(mix, temperature_celsius=given["room"])
        return sum(one.mass * one.feedstock.dry_matter for one in mix)

    if weekly:
        for _ in range(8):  # two months, an eighth of two bins at a time, as far as there is room
            dry += add(max(min(2.5, trial.column.room_litres()), 0.5))
            trial.column.stir(0.2)
            trial.run_days(7.0)
    else:
        dry = add(9.5)
    while trial.column.hour / 24.0 < days - 1e-6:
        trial.run_days(min(7.0, days - trial.column.hour / 24.0))
        trial.column.turn()  # stirred by hand once a week, assumed
    wet = float(trial.column.ledger[L_MASS_LOADED])
    left = trial.dry_mass() + trial.water_mass()
    return trial.peak("hottest"), 1.0 - left / wet, 1.0 - trial.dry_mass() / dry


def _ten_litre_bins(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    trials = (
        _ten_litres(parameters, given, used=0.0, weekly=True),
        _ten_litres(parameters, given, used=1.0, weekly=False),
        _ten_litres(parameters, given, used=0.5, weekly=False),
    )
    return {
        "peak_temperature": max(one[0] for one in trials),
        "wet_mass_loss": 100.0 * float(np.mean([one[1] for one in trials])),
        "dry_mass_loss": 100.0 * float(np.mean([one[2] for one in trials])),
    }


def _sealed_indoors(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    vessel = _bucket(given, 20.0, foam=given["foam"], sealed=1.0)
    trial = Trial.start(vessel, plain_air(given["room"], 22.0, wind=0.1), parameters)
    trial.column.set_vent(given["holes"] / 0.1)
    garden = given["garden"]
    leaves, hedge = (
        load_library().find(word) for word in ("leaves_mixed_autumn", "hedge_trimmings_soft")
    )
    # a kilogram of mix: kitchen waste as tipped, garden waste pressed, starter of 1 %
    kilogram = [
        kilograms_of("food_waste_household_mixed", 0.99 - garden),
        Portion.from_mass(leaves, 0.5 * garden, "dense"),
        Portion.from_mass(hedge, 0.5 * garden, "dense"),
        kilograms_of("finished_compost", 0.01),
    ]
    fillings = max(round(given["filling"]), 1)
    mass = 19.0 / sum(one.litres for one in kilogram) / fillings
    mix = [replace(one, mass=mass * one.mass, litres=mass * one.litres) for one in kilogram]
    for day in range(20 + fillings):  # opened and mixed once a day, assumed
        if day < fillings:
            # the 1 % of lime binds the acids of the caddy
            trial.column.load(mix, temperature_celsius=given["room"], days_in_caddy=0.0)
        trial.column.turn()
        trial.run_days(1.0)
    return {"peak_temperature": trial.peak()}


def _vertical_bin(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    fittings = Fittings(
        wall=(("plastic", 0.003),),
        lid=(("plastic", 0.003),),
        base=(("plastic", 0.003),),
        vent_slot_length=0.3,
        inlet_area=given["holes"],
        side_open=given["side_open"],
        roofed=True,
        sun_share=0.0,
        wind_share=0.3,
    )
    air = plain_air(given["air"], 57.0, daily_swing=8.0, humidity=0.6)
    trial = Trial.start(can(80.0, 1.8, fittings), air, parameters, every=3.0)
    trial.column.set_vent(0.01)
    library = load_library()
    # 47 kg of dry clippings in a cubic metre at any water content: the two listed agree on it
    clippings = replace(
        library.find("grass_clippings_wilted"),
        moisture_content_wet_basis=given["grass_moisture"],
        bulk_density=47.0 / (1.0 - given["grass_moisture"]),
        dense_bulk_density=75.0 / (1.0 - given["grass_moisture"]),
        particle_density=None,
    )
    # scum of a grease trap: fatty, half water, little nitrogen (assumed)
    scum = replace(
        library.find("meat_scraps_fatty"), moisture_content_wet_basis=0.5, nitrogen_content=0.01
    )
    green = 1.0 - given["grease"]
    kilogram = [
        kilograms_of("fruit_veg_peelings_mixed", 0.85 * green),
        Portion.from_mass(clippings, 0.15 * green),
        Portion.from_mass(scum, max(given["grease"], 1e-4)),
    ]
    mass = 76.0 / sum(one.litres for one in kilogram)
    trial.column.load(
        [replace(one, mass=mass * one.mass, litres=mass * one.litres) for one in kilogram],
        temperature_celsius=given["air"],
    )
    every = round(given["days_between_turns"])
    for day in range(55):
        if day == 54:
            before = float(trial.column.ledger[L_CARBON_DIOXIDE])
        trial.run_days(1.0)
        if (day + 1) % every == 0 and day < 53:
            trial.column.turn()
    carbon = CARBON_IN_CARBON_DIOXIDE * (float(trial.column.ledger[L_CARBON_DIOXIDE]) - before)
    return {
        "days_above_40": trial.days_above(40.0),
        "final_respiration": 1000.0 * carbon / trial.organic_mass(),
    }


SET_UPS = (
    SetUp(
        "V2",
        "Buckets of 10 L with food waste and wood chips: filled weekly for two months, filled "
        "once with used chips, filled once with half used ones.",
        (
            Unknown("room", 25.0, 29.0, "degC", "north-east Brazil; the coolest reading is 26.7"),
            Unknown(
                "chips", 0.3, 1.0, "-", "litres of chips for a litre of food, usual in buckets"
            ),
            Unknown("holes", 0.0002, 0.001, "m^2", "air holes of a bucket, at the base and on top"),
            Unknown("days", 75.0, 120.0, "day", "two months of filling and some weeks of rest"),
        ),
        _ten_litre_bins,
    ),
    SetUp(
        "V3",
        "Closed 20 L vessel indoors with kitchen and garden waste, 1 % starter, 1 % lime.",
        (
            Unknown("room", 18.0, 28.0, "degC", "indoors, season not stated"),
            Unknown("garden", 0.20, 0.40, "kg/kg", "share of the mass; not stated"),
            Unknown("filling", 1.0, 10.0, "day", "each household filled it with its own waste"),
            Unknown("holes", 0.00005, 0.0003, "m^2", "'sealed', yet it must breathe a little"),
            Unknown("foam", 0.0, 0.02, "m", "single wall, or a double one"),
        ),
        _sealed_indoors,
    ),
    SetUp(
        "V22",
        "Can inside a larger can, foam in the gap and for a lid, moist leaves and fresh grass, "
        "rolled by hand a few times a day.",
        (
            Unknown("volume", 40.0, 60.0, "L", "the inner of two household cans"),
            Unknown("gap", 0.05, 0.075, "m", "half the difference of such cans"),
            Unknown("leaves", 1.0, 2.5, "-", "litres of leaves for a litre of grass"),
            Unknown("moisture", 0.55, 0.68, "kg/kg", "damp, not sodden"),
            Unknown("filled", 0.80, 1.00, "-", "how full of loose mix"),
            Unknown("pressed", 0.05, 0.95, "-", "share that lies pressed rather than loose"),
            Unknown("gap_at_lid", 0.001, 0.01, "m", "0.3 m long, how the lid of foam closes"),
            Unknown("air", 12.0, 24.0, "degC", "season of fresh clippings"),
        ),
        _nested_cans,
    ),
    SetUp(
        "V23",
        "Indoor vessel of somewhat more than 38 L with a good mix, one filling.",
        (
            Unknown("volume", 38.0, 60.0, "L", "'more than 10 gallons'"),
            Unknown("holes", 0.001, 0.004, "m^2", "a dozen or so drilled holes"),
            Unknown("jacket", 0.0, 0.15, "m^2*K/W", "stands free, or in a second can"),
            *GOOD_MIX,
        ),
        _indoor_vessel,
    ),
    SetUp(
        "V24",
        "Drinks bottle indoors with the mix of V23, air holes below and above.",
        (
            Unknown("volume", 2.0, 4.0, "L", "bottles of 2 to 3 L, joined"),
            Unknown("holes", 0.0001, 0.0003, "m^2", "ten to twenty nail holes at each end"),
            Unknown("foam", 0.0, 0.02, "m", "bare, or a sheet of foam around it"),
            *GOOD_MIX,
        ),
        _bottle,
    ),
    SetUp(
        "V26",
        "Vertical 80 L bin, unblown, vegetable waste and grass 85:15 with 0 to 16 % grease scum.",
        (
            Unknown("grease", 0.0, 0.16, "kg/kg", "the five mixes"),
            Unknown("grass_moisture", 0.10, 0.60, "kg/kg", "dry to wilted; fresh would drown it"),
            Unknown("air", 25.0, 33.0, "degC", "southern India, season not stated"),
            Unknown("holes", 0.001, 0.005, "m^2", "openings at the base, not stated"),
            Unknown("side_open", 0.0, 0.05, "-", "whether the sides are drilled, not stated"),
            Unknown("days_between_turns", 7.0, 56.0, "day", "weekly to never, not stated"),
        ),
        _vertical_bin,
    ),
)
