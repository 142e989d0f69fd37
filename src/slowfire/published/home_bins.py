"""Set-ups of household bins of 60 to 400 L, fed by and by or in one batch, and of two reactors."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from slowfire.column.contents import layer_carbon, load_contents
from slowfire.column.parameters import Parameters
from slowfire.column.positions import (
    L_LIQUID_OUT,
    L_MASS_LOADED,
    L_METHANE,
    L_NITROGEN_LIQUID,
    L_NITROGEN_LOADED,
    L_NITROUS_OXIDE,
    L_OXYGEN_USED,
    N_AMMONIACAL,
    N_NITRATE,
    N_RAPID,
    N_WOOD,
    WATER,
)
from slowfire.column.simulate import Air
from slowfire.materials.feedstock import Portion
from slowfire.materials.library import load_library
from slowfire.published.small_vessels import can
from slowfire.published.trial import (
    SetUp,
    Trial,
    Unknown,
    kilograms_of,
    litres_of,
    plain_air,
)
from slowfire.vessel import Fittings, Vessel, box, heap

P2O5_PER_PHOSPHORUS = 141.945 / (2.0 * 30.974)
K2O_PER_POTASSIUM = 94.196 / (2.0 * 39.098)
N2O_PER_NITROGEN = 44.013 / (2.0 * 14.007)


def scaled_to(litres: float, portions: Sequence[Portion]) -> list[Portion]:
    """The same mix, with so many litres tipped loosely."""
    factor = litres / sum(one.litres for one in portions)
    return [replace(one, mass=factor * one.mass, litres=factor * one.litres) for one in portions]


def _plastic_bin(litres: float, inlet: float, side_open: float = 0.0) -> Vessel:
    """A plain bin of thin plastic outdoors, lidded."""
    return can(
        litres,
        1.4,
        Fittings(
            wall=(("plastic", 0.004),),
            lid=(("plastic", 0.003),),
            base=(("plastic", 0.004),),
            inlet_area=inlet,
            side_open=side_open,
            wind_share=0.3,
            sun_share=0.2,
        ),
    )


# V1: six bins of 200 L, filled by and by.


def _thai_mix(given: Mapping[str, float]) -> list[Portion]:
    """A day's 1.6 kg: food scraps, much of them rice, and dry leaves with some dust on them."""
    solids = given["leaf_organic"]
    leaves = replace(
        load_library().find("leaves_mixed_autumn"),
        moisture_content_wet_basis=0.12,
        volatile_solids=solids,
        carbon_content=0.52 * solids,
        bulk_density=65.0,
    )
    # as much leaf as brings the food to the water content asked for
    food_water = 0.75 - 0.066 * given["rice"]
    leaf = 1.6 * (food_water - given["moisture"]) / (food_water - 0.12)
    food = 1.6 - leaf
    return [
        kilograms_of("food_waste_household_mixed", food * (1.0 - given["rice"])),
        kilograms_of("rice_cooked", max(food * given["rice"], 1e-3)),
        Portion.from_mass(leaves, leaf),
    ]


def _passive_bins(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    vessel = _plastic_bin(200.0, given["holes"], given["side_open"])
    air = plain_air(given["air"], 122.0, daily_swing=10.0, humidity=0.7, rain_per_year=1100.0)
    trial = Trial.start(vessel, air, parameters, every=6.0)
    trial.column.set_vent(given["vent"])
    mix = _thai_mix(given)
    dry_in = 0.0
    uptake = []
    warmth = []
    for day in range(120):
        if day < given["days_of_filling"] and trial.column.room_litres() > 0.0:
            trial.column.load(mix)
            dry_in += sum(one.mass * one.feedstock.dry_matter for one in mix)
        before = float(trial.column.ledger[L_OXYGEN_USED])
        trial.run_days(1.0)
        used = float(trial.column.ledger[L_OXYGEN_USED]) - before
        uptake.append(1000.0 * used / trial.dry_mass() / 24.0)  # [mg/(g h)]
        warmth.append(float(np.mean(trial.core[-4:])) - given["air"])
    restless = np.flatnonzero((np.array(uptake) >= 1.0) | (np.abs(warmth) > 3.0))
    dry, nitrogen = trial.dry_mass(), trial.nitrogen()
    day_stable = float(restless[-1] + 1) if restless.size else 0.0
    return {
        "peak_temperature": trial.peak(),
        "dry_mass_loss": 100.0 * (1.0 - dry / dry_in),
        "day_stable": day_stable if day_stable < 120.0 else float("inf"),
        "c_to_n": trial.carbon() / nitrogen,
        "nitrogen": 100.0 * nitrogen / dry,
        "phosphorus_as_p2o5": 100.0 * P2O5_PER_PHOSPHORUS * trial.phosphorus() / dry,
        "potassium_as_k2o": 100.0 * K2O_PER_POTASSIUM * trial.potassium() / dry,
    }


# V4: kitchen waste with leaves or sawdust.


def _kitchen_batch(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    foam = given["foam"]
    fittings = Fittings(
        wall=(("plastic", 0.004), ("eps", foam)),
        lid=(("plastic", 0.003), ("eps", foam)),
        base=(("plastic", 0.004),),
        vent_slot_length=0.3,
        inlet_area=given["holes"],
        roofed=True,
        sun_share=0.0,
        wind_share=0.2,
    )
    air = plain_air(given["air"], 34.0, daily_swing=8.0, humidity=0.6)
    trial = Trial.start(can(given["volume"], 1.3, fittings), air, parameters)
    trial.column.set_vent(given["holes"] / 0.3)
    dry = given["bulking"]
    mix = [
        kilograms_of("fruit_veg_peelings_mixed", 0.7 * (1.0 - dry)),
        kilograms_of("food_waste_cooked_plate", 0.3 * (1.0 - dry)),
        kilograms_of("leaves_mixed_autumn", (1.0 - given["sawdust"]) * dry),
        kilograms_of("sawdust_softwood", given["sawdust"] * dry),
    ]
    trial.column.load(
        scaled_to(0.95 * given["volume"], mix), temperature_celsius=max(given["air"], 2.0)
    )
    organic = trial.organic_mass()
    every = round(given["days_between_turns"])
    for day in range(1, 33):
        trial.run_days(1.0)
        if day % every == 0:
            dry_mass = trial.dry_mass()
            wanted = given["kept_moist"] / (1.0 - given["kept_moist"]) * dry_mass
            trial.column.water(max(wanted - trial.water_mass(), 0.0), 5.0, max(given["air"], 2.0))
            trial.column.turn()
    return {
        "days_above_55": trial.days_above(55.0),
        "organic_matter_loss": 100.0 * (1.0 - trial.organic_mass() / organic),
        "final_moisture": 100.0 * trial.moisture_content(),
        "c_to_n": trial.carbon() / trial.nitrogen(),
    }


# V7 and V8: one batch of food waste and yard trimmings in bins of 300 to 400 L, eastern Canada.


def _yard_mix(litres: float, yard: float) -> list[Portion]:
    kilogram = [
        kilograms_of("fruit_veg_peelings_mixed", 0.5 * (1.0 - yard)),
        kilograms_of("food_waste_household_mixed", 0.5 * (1.0 - yard)),
        kilograms_of("grass_clippings_wilted", yard / 3.0),
        kilograms_of("hedge_trimmings_soft", yard / 3.0),
        kilograms_of("leaves_mixed_autumn", yard / 3.0),
    ]
    return scaled_to(litres, kilogram)


def _montreal(days: float, start_day: float) -> Air:
    # a climate of 7 degC with 31 K from January to July and a metre of rain (from memory)
    return plain_air(
        7.0,
        days,
        daily_swing=10.0,
        yearly_swing=31.0,
        start_day=start_day,
        coldest_day=20.0,
        humidity=0.7,
        wind=3.0,
        rain_per_year=1000.0,
        sun=200.0,
    )


def _batch(
    vessel: Vessel,
    air: Air,
    parameters: Parameters,
    given: Mapping[str, float],
    litres: float,
    every: float = 1.0,
) -> Trial:
    trial = Trial.start(vessel, air, parameters, every=every)
    if vessel.lidded:
        trial.column.set_vent(given["vent"])
    trial.column.load(_yard_mix(given["filled"] * litres, given["yard"]))
    return trial


def _four_systems(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    air = _montreal(22.0, given["start_day"])
    litres = given["volume"]
    side = (litres / 1000.0) ** (1.0 / 3.0)
    slatted = Fittings(
        wall=(("timber", 0.02),),
        lid=(("timber", 0.02),),
        base=(),
        inlet_area=0.002,
        side_open=given["slats"],
        wind_share=0.4,
        sun_share=0.2,
    )
    reactor = Fittings(
        wall=(("plastic", 0.005), ("eps", given["reactor_foam"])),
        lid=(("plastic", 0.005), ("eps", given["reactor_foam"])),
        base=(("plastic", 0.005),),
        vent_slot_length=0.2,
        inlet_area=0.002,
        roofed=True,
        wind_share=0.1,
        sun_share=0.0,
    )
    # a heap 0.6 times as high as wide, whose volume is 0.583 of that of its upright cylinder
    foot = (litres / 1000.0 / (0.583 * np.pi / 4.0 * 0.6)) ** (1.0 / 3.0)
    room = plain_air(given["room"], 22.0, wind=0.1)
    peaks = {}
    for name, vessel, place, size in (
        ("plastic", _plastic_bin(litres, given["slots"]), air, litres),
        ("wood", box(side, side, side, slatted), air, litres),
        ("pile", heap(float(foot), 0.6 * float(foot)), air, litres),
        ("reactor", can(105.0, 1.6, reactor), room, 105.0),
    ):
        trial = _batch(vessel, place, parameters, given, size)
        trial.run_days(21.0)
        peaks[name] = trial.peak()
    return {
        "plastic_over_wood": peaks["plastic"] - peaks["wood"],
        "wood_over_reactor": peaks["wood"] - peaks["reactor"],
        "plastic_less_ground_pile": peaks["plastic"] - peaks["pile"],
    }


def _late_methane(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    vessel = _plastic_bin(given["volume"], given["slots"])
    air = _montreal(151.0, given["start_day"])
    trial = _batch(vessel, air, parameters, given, given["volume"], every=6.0)
    trial.run_days(15.0)
    before = float(trial.column.ledger[L_METHANE])
    trial.run_days(135.0)
    grams = 1000.0 * (float(trial.column.ledger[L_METHANE]) - before)
    return {"methane_after_day_15": grams / float(trial.column.ledger[L_MASS_LOADED])}


# V9: a year of six fed units in Denmark.


def _fed_year(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    air = plain_air(
        8.5,
        366.0,
        daily_swing=6.0,
        yearly_swing=16.0,
        start_day=given["start_day"],
        humidity=0.82,
        wind=4.0,
        rain_per_year=650.0,
        sun=115.0,
    )
    trial = Trial.start(_plastic_bin(given["volume"], given["slots"]), air, parameters, every=12.0)
    column = trial.column
    column.set_vent(given["vent"])
    kitchen = given["kitchen"]
    week = [
        kilograms_of("fruit_veg_peelings_mixed", kitchen * given["raw"]),
        kilograms_of("food_waste_household_mixed", kitchen * (1.0 - given["raw"])),
        kilograms_of("weeds_annual_green", max(0.5 * given["garden"], 1e-3)),
        kilograms_of("leaves_mixed_autumn", max(0.5 * given["garden"], 1e-3)),
    ]
    carbon_in = 0.0
    mixing = round(given["weeks_between_mixing"])
    for number in range(52):
        celsius = max(air.temperature_celsius(column.hour), 5.0)
        row = load_contents(week, parameters, celsius)
        carbon_in += layer_carbon(row)
        column.load_row(row)
        if number % mixing == mixing - 1:
            column.stir(1.0, 0.7)
        trial.run_days(7.0)
    ledger = column.ledger
    fed = float(ledger[L_MASS_LOADED])
    nitrogen_in = float(ledger[L_NITROGEN_LOADED])
    lost = nitrogen_in - trial.nitrogen()
    return {
        "carbon_loss": 100.0 * (1.0 - trial.carbon() / carbon_in),
        "nitrogen_loss": 100.0 * lost / nitrogen_in,
        "leachate": float(ledger[L_LIQUID_OUT]) / fed,
        "methane": 1000.0 * float(ledger[L_METHANE]) / fed,
        "nitrous_oxide": 1000.0 * N2O_PER_NITROGEN * float(ledger[L_NITROUS_OXIDE]) / fed,
        "leachate_share_of_nitrogen_loss": 100.0 * float(ledger[L_NITROGEN_LIQUID]) / lost,
    }


# V11: one mix in blown reactors, dry and wet.


def _reactor_methane(
    parameters: Parameters, given: Mapping[str, float], mix: Sequence[Portion], moisture: float
) -> float:
    """Methane in three weeks for each kilogram of dry matter put in [kg/kg]."""
    fittings = Fittings(
        wall=(("eps", 0.05),),
        lid=(("eps", 0.05),),
        base=(("eps", 0.05),),
        vent_slot_length=0.2,
        inlet_area=0.0,
        roofed=True,
        wind_share=0.0,
        sun_share=0.0,
    )
    trial = Trial.start(can(60.0, 1.5, fittings), plain_air(20.0, 22.0, wind=0.0), parameters)
    column = trial.column
    column.load(mix, temperature_celsius=20.0)
    dry = trial.dry_mass()
    column.set_vent(0.01)
    column.set_forced_air(given["flow"] * dry)
    for _ in range(21):
        # the water content is held: what the air carried off is given back once a day
        missing = moisture * trial.dry_mass() / (1.0 - moisture) - trial.water_mass()
        column.water(max(missing, 0.0), depth=5.0, temperature_celsius=20.0)
        trial.run_days(1.0, hold_celsius=given["held"])
    return float(column.ledger[L_METHANE]) / dry


def _wet_and_dry(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    # so much of chips and shavings that the mix itself comes to 44 % water, or somewhat drier
    mix = scaled_to(
        50.0,
        [
            litres_of("food_waste_household_mixed", 1.0),
            litres_of("wood_shavings", given["structure"]),
            litres_of("hardwood_chips_seasoned", given["structure"]),
        ],
    )
    wet = _reactor_methane(parameters, given, mix, 0.66)
    dry = _reactor_methane(parameters, given, mix, 0.44)
    return {"methane_decades_44_to_66": float(np.log10(wet / dry))}


# V17: an automatic unit that is fed at one end and gives compost at the other.


def _nitrogen_of(row: np.ndarray) -> float:
    return float(row[N_RAPID : N_WOOD + 1].sum() + row[N_AMMONIACAL] + row[N_NITRATE])


def _plug_flow(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    fittings = Fittings(
        wall=(("plastic", 0.004), ("eps", given["foam"])),
        lid=(("plastic", 0.004), ("eps", given["foam"])),
        base=(("plastic", 0.004),),
        vent_slot_length=0.3,
        inlet_area=0.0,  # air comes by the fan alone
        roofed=True,
        sun_share=0.0,
        wind_share=0.1,
    )
    days = 7 * 56
    air = plain_air(given["air"], days + 1.0, yearly_swing=10.0, daily_swing=5.0, humidity=0.7)
    trial = Trial.start(can(given["volume"], 1.3, fittings), air, parameters, every=12.0)
    column = trial.column
    column.set_vent(0.0)  # blown air leaves by the joints, and lets none in against it
    column.set_forced_air(given["flow"])
    half_week = [
        kilograms_of("fruit_veg_peelings_mixed", 1.6 * given["raw"]),
        kilograms_of("food_waste_household_mixed", 1.6 * (1.0 - given["raw"])),
        kilograms_of("sawdust_softwood", max(1.6 * given["sawdust"], 1e-3)),
    ]
    out = np.zeros(column.state.shape[1])
    for number in range(112):
        column.load(half_week)
        column.stir(0.25, 0.5)  # a screw or paddles mix what lies near each other
        trial.run_days(3.5)
        if number % 8 == 7:
            held = given["volume"] - column.room_litres()
            surplus = held - given["kept"] * given["volume"]
            if surplus > 0.0:
                out += column.dig_out(litres=surplus)
    fed = float(column.ledger[L_MASS_LOADED])
    inside = trial.dry_mass() + trial.water_mass()
    taken = float(out[:N_RAPID].sum() + out[WATER])
    # the product is what came out; of a unit that gave nothing, what lies at its outlet
    product = out if taken > 0.0 else column.copy().dig_out(litres=0.25 * given["volume"])
    dry = float(product[:N_RAPID].sum())
    nitrogen = _nitrogen_of(product)
    return {
        "wet_mass_loss": 100.0 * (1.0 - (taken + inside) / fed),
        "c_to_n": layer_carbon(product) / nitrogen,
        "nitrogen": 100.0 * nitrogen / dry,
    }


# A lid that lies on, or slots below the rim of half a metre in all: 5 to 40 cm^2.
VENT = Unknown("vent", 0.001, 0.008, "m", "gap of the lid, 0.5 m long")

_BATCH = (
    VENT,
    Unknown("volume", 300.0, 400.0, "L", "printed range"),
    Unknown("filled", 0.85, 1.00, "-", "how full of loose mix"),
    Unknown("yard", 0.30, 0.55, "kg/kg", "share of yard trimmings, not stated in the abstract"),
    Unknown("slots", 0.003, 0.01, "m^2", "slots at the base of a home bin"),
    Unknown("start_day", 150.0, 210.0, "day", "June or July, from memory"),
)

SET_UPS = (
    SetUp(
        "V1",
        "Six 200 L plastic bins with air by draft alone, Thailand: 1.6 kg of food scraps and dry "
        "leaves a day until full, then left, 120 days in all.",
        (
            Unknown("air", 24.0, 29.0, "degC", "coolest reading 24; Chiang Mai, season not stated"),
            Unknown("moisture", 0.58, 0.66, "kg/kg", "a sister study at the place: about 60 %"),
            # the sister study prints C:N 35 for its mix; that takes scraps with little nitrogen
            Unknown("rice", 0.5, 0.9, "kg/kg", "of the scraps: C:N 24 to 35 in the mix"),
            Unknown("leaf_organic", 0.80, 0.90, "kg/kg", "leaves of tropical trees, with dust"),
            Unknown("days_of_filling", 35.0, 50.0, "day", "45 days in the sister study"),
            VENT,
            Unknown("holes", 0.001, 0.006, "m^2", "six designs"),
            Unknown("side_open", 0.0, 0.01, "-", "none, to holes of 1 cm every 10 cm"),
        ),
        _passive_bins,
    ),
    SetUp(
        "V4",
        "Kitchen waste with leaves and sawdust, one batch, 32 days, Pakistan.",
        (
            Unknown("volume", 60.0, 200.0, "L", "household vessel, not stated"),
            Unknown("foam", 0.001, 0.05, "m", "bare to insulated, not stated"),
            Unknown("holes", 0.0005, 0.003, "m^2", "at the base and in the lid, not stated"),
            Unknown("kept_moist", 0.55, 0.65, "kg/kg", "sprinkled when turned, as is usual"),
            Unknown("bulking", 0.12, 0.25, "kg/kg", "share of leaves and sawdust, not stated"),
            Unknown("sawdust", 0.1, 0.9, "kg/kg", "of these, which of the trials had what: unread"),
            Unknown("air", 20.0, 32.0, "degC", "season not stated"),
            Unknown("days_between_turns", 2.0, 7.0, "day", "turned by hand"),
        ),
        _kitchen_batch,
    ),
    SetUp(
        "V7",
        "One mix of food waste and yard trimmings, in one batch each: a plastic bin, a slatted "
        "wood bin and a pile on the ground of 300 to 400 L, and a laboratory reactor of 105 L.",
        (
            *_BATCH,
            Unknown("slats", 0.05, 0.20, "-", "gaps over the full height of the wood bin"),
            Unknown("reactor_foam", 0.025, 0.05, "m", "not stated"),
            Unknown("room", 19.0, 24.0, "degC", "laboratory"),
        ),
        _four_systems,
    ),
    SetUp(
        "V8",
        "The plastic bin of V7, left for 150 days.",
        _BATCH,
        _late_methane,
    ),
    SetUp(
        "V9",
        "Six plastic units in Denmark, 2.6 to 3.5 kg of kitchen waste a week for a year.",
        (
            Unknown("volume", 200.0, 320.0, "L", "a home bin"),
            VENT,
            Unknown("kitchen", 2.6, 3.5, "kg", "a week, as printed"),
            Unknown("garden", 0.0, 0.8, "kg", "a week: some, not stated"),
            Unknown("raw", 0.4, 0.9, "kg/kg", "raw peelings in the kitchen waste"),
            Unknown("weeks_between_mixing", 1.0, 12.0, "week", "weekly to almost never"),
            Unknown("slots", 0.003, 0.01, "m^2", "openings at the base"),
            Unknown("start_day", 60.0, 180.0, "day", "spring, from memory"),
        ),
        _fed_year,
    ),
    SetUp(
        "V11",
        "Household waste with structure in blown reactors, kept at 44 and at 66 % water.",
        (
            Unknown("structure", 1.9, 2.6, "-", "litres of chips and of shavings for one of waste"),
            Unknown("flow", 1.0e-5, 4.0e-5, "kg/(s*kg)", "0.5 to 2 L a minute for 1 kg dry: ample"),
            Unknown("held", 45.0, 56.0, "degC", "temperature of the hot phase"),
        ),
        _wet_and_dry,
    ),
    SetUp(
        "V17",
        "Automatic household unit fed 3.2 kg a week for 13 months, emptied every four weeks.",
        (
            Unknown("volume", 100.0, 150.0, "L", "not stated"),
            Unknown("kept", 0.5, 0.8, "-", "how full it is kept"),
            Unknown("raw", 0.4, 0.9, "kg/kg", "raw peelings in the waste"),
            Unknown("sawdust", 0.0, 0.08, "kg/kg", "dry stuff for each kilogram, not stated"),
            Unknown("flow", 5.0e-6, 5.0e-5, "kg/s", "fan of 0.25 to 2.5 L a minute"),
            Unknown("foam", 0.001, 0.03, "m", "bare to insulated"),
            Unknown("air", 16.0, 22.0, "degC", "Buenos Aires, sheltered"),
        ),
        _plug_flow,
    ),
)
