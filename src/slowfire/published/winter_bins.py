"""Set-ups of insulated bins in the cold."""

from collections.abc import Mapping

from slowfire.column.parameters import Parameters
from slowfire.materials.feedstock import Portion
from slowfire.published.mixes import by_volume
from slowfire.published.trial import SetUp, Trial, Unknown, litres_of, plain_air
from slowfire.vessel import Fittings, Vessel, box, cylinder, inside_volume

MORNING = 8.0  # o'clock of the readings [h]


def _foam_bin(foam: float, lid_fit: str = "usual", side_open: float = 0.0) -> Vessel:
    """A bin of 200 L with foam walls, lid and base."""
    fittings = Fittings(
        wall=(("eps", foam), ("plastic", 0.003)),
        lid=(("eps", foam), ("plastic", 0.003)),
        base=(("eps", foam),),
        vent_slot_length=0.4,
        inlet_area=0.002,
        lid_fit=lid_fit,
        side_open=side_open,
        wind_share=0.4,
        sun_share=0.1,
    )
    return cylinder(0.55, 0.84, fittings)


# case-3: the same rebuild in a tight and in a leaky bin


def _rebuild(vessel: Vessel, given: Mapping[str, float]) -> list[Portion]:
    fresh = given["fresh"]
    parts = {
        "half_finished_compost": 1.0 - 2.0 * fresh - 0.1,
        "food_waste_household_mixed": fresh,
        "office_paper_shredded": 0.6 * fresh,
        "grass_clippings_wilted": 0.4 * fresh,
        "bark_chips_fine": 0.1,
    }
    return by_volume(1000.0 * given["fill"] * inside_volume(vessel), parts)


def _excess_at_5(vessel: Vessel, parameters: Parameters, given: Mapping[str, float]) -> float:
    """Core over the air of 5 degC in the morning, three days after the rebuild [K]."""
    # the coldest hour is 4 o'clock; the mean is such that the air is at 5 degC when it is read
    swing = given["swing"]
    mean = 5.0 + 0.25 * swing
    air = plain_air(mean, 5.0, daily_swing=swing, wind=2.5)
    trial = Trial.start(vessel, air, parameters)
    trial.column.set_vent(given["vent"])
    trial.column.load(_rebuild(vessel, given), temperature_celsius=given["start"])
    trial.run_days(3.0 + MORNING / 24.0)
    return trial.core[-1] - trial.column.air.temperature_celsius(trial.column.hour)


def _tight_and_leaky(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    tight = _excess_at_5(_foam_bin(given["foam"]), parameters, given)
    leaky_bin = _foam_bin(given["foam"], "leaky", given["joints"])
    # air that creeps behind the panels carries heat off without passing through the heap
    walls = leaky_bin.base_perimeter * leaky_bin.height
    loss = 1.0 / leaky_bin.wall_resistance + given["behind"] / walls
    leaky_bin = leaky_bin._replace(wall_resistance=1.0 / loss)
    leaky = _excess_at_5(leaky_bin, parameters, given)
    return {"tight_excess": tight, "leaky_excess": leaky, "loss_ratio": tight / max(leaky, 0.1)}


# case-4: two weeks of filling in frost


def _january_filling(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    vessel = _foam_bin(given["foam"])
    air = plain_air(given["air"], 19.0, daily_swing=given["swing"], humidity=0.85, wind=1.5)
    trial = Trial.start(vessel, air, parameters)
    column = trial.column
    column.set_vent(given["vent_first"])
    for _ in range(7):
        load = [
            litres_of("food_waste_household_mixed", given["food"]),
            litres_of("office_paper_shredded", 0.5 * given["browns"] * given["food"]),
            litres_of("leaves_mixed_autumn", 0.5 * given["browns"] * given["food"]),
            litres_of("compost_oversize_bark", given["bark"] * given["food"]),
        ]
        column.load(load, temperature_celsius=given["caddy"])
        column.stir(0.15, 0.7)
        trial.run_days(2.0)
    found: dict[str, float] = {}
    cores = []
    for day in (0, 3):
        trial.run_days(0.5 if day == 0 else 3.0)
        outside = column.air.temperature_celsius(column.hour)
        core = trial.core[-1]
        cores.append(core)
        # a core no warmer than the air has no share to speak of
        # a dial through the lid reads part of the way to the air outside
        warm = (1.0 - given["stem"]) * (trial.lid[-1] - outside)
        found[f"lid_share_day_{day}"] = warm / max(core - outside, 0.5)
        column.set_vent(given["vent_then"])
    found["core_day_0"] = cores[0]
    found["core_rise_3_days"] = cores[1] - cores[0]
    return found


# case-28: a thick wall of leaves


def _leaf_walled(parameters: Parameters, given: Mapping[str, float]) -> dict[str, float]:
    # leaves of another conductivity count as that much more or less straw at 0.06
    leaves = given["leaves"] * 0.06 / given["conductivity"]
    fittings = Fittings(
        wall=(("timber", 0.012), ("straw", leaves)),
        lid=(("timber", 0.012), ("straw", 0.5 * leaves)),
        # the ground, not the air as here, lies under a bin: some leaves stand for what it gives
        base=(("straw", 0.5 * leaves),),
        vent_slot_length=0.4,
        inlet_area=0.001,
        wind_share=0.4,
        sun_share=0.1,
    )
    vessel = box(given["side"], given["side"], 0.9, fittings)
    days = 45.0
    # weather of a continental winter: the mornings of early January come down to -18 degC
    swing = 9.0
    year = given["year"]
    air = plain_air(
        year,
        days + 2.0,
        daily_swing=swing,
        yearly_swing=2.0 * (year + 18.0 - 0.25 * swing),
        start_day=365.0 + 3.0 - days,
        coldest_day=3.0,
        wind=2.0,
    )
    trial = Trial.start(vessel, air, parameters, every=3.0)
    column = trial.column
    column.set_vent(0.005)
    first = by_volume(
        400.0 * inside_volume(vessel), {"half_finished_compost": 1.0, "leaves_mixed_autumn": 1.0}
    )
    column.load(first, temperature_celsius=12.0)
    while column.hour < 24.0 * days:
        bucket = [
            litres_of("food_waste_household_mixed", given["bucket"]),
            litres_of("leaves_mixed_autumn", 0.75 * given["browns"] * given["bucket"]),
            litres_of("grass_clippings_wilted", 0.25 * given["browns"] * given["bucket"]),
        ]
        if column.room_litres() > sum(one.litres for one in bucket):
            column.load(bucket, temperature_celsius=15.0)
            column.stir(0.2, 0.5)
        trial.run_days(min(given["every"], days - column.hour / 24.0 + 1e-6))
    trial.run_days(MORNING / 24.0)
    return {"excess": trial.mean[-1] - column.air.temperature_celsius(column.hour)}


SET_UPS = (
    SetUp(
        "case-3",
        "Two insulated bins of 200 L, tight and with open joints, at 5 degC after a rebuild.",
        (
            Unknown("foam", 0.04, 0.06, "m", "'insulated' only"),
            Unknown("fill", 0.6, 0.9, "-", "how full after the rebuild"),
            Unknown("fresh", 0.1, 0.3, "-", "fresh food by volume in the rebuilt heap"),
            Unknown("start", 10.0, 22.0, "degC", "old compost that was opened and moved"),
            Unknown("swing", 4.0, 10.0, "K", "day and night in late April"),
            Unknown("vent", 0.003, 0.010, "m", "lid vent"),
            # air spreads from a slit into the heap, so slits pass more than their area
            Unknown("joints", 0.05, 0.25, "-", "open share of the sides: four gaps of 1 to 3 mm"),
            Unknown("behind", 0.3, 1.5, "W/K", "draught of such gaps, a third to half warmed up"),
        ),
        _tight_and_leaky,
    ),
    SetUp(
        "case-4",
        "Insulated bin of 200 L filled for two weeks in January, then its vent nearly shut.",
        (
            Unknown("foam", 0.05, 0.06, "m", "'insulated', of this class"),
            Unknown("air", -4.0, -1.5, "degC", "no day above 0"),
            Unknown("swing", 2.0, 3.0, "K", "overcast and snow; highest not above 0"),
            Unknown(
                "food", 5.0, 10.0, "L", "each of seven loads; the starting level was not reached"
            ),
            Unknown("browns", 0.5, 1.2, "-", "paper and leaves to food by volume"),
            Unknown("bark", 0.1, 0.2, "-", "composted bark to food by volume"),
            Unknown("caddy", 12.0, 19.0, "degC", "kitchen waste outweighs browns from a shed"),
            Unknown("stem", 0.0, 0.35, "-", "of a dial in the lid, read from outside"),
            Unknown("vent_first", 0.010, 0.020, "m", "'wide'"),
            Unknown("vent_then", 0.002, 0.008, "m", "reduced, nearly shut"),
        ),
        _january_filling,
    ),
    SetUp(
        "case-28",
        "Home-made bin in a wall of leaves at -18 degC, a bucket every few days.",
        (
            Unknown("leaves", 0.2, 0.4, "m", "'thick'"),
            Unknown("conductivity", 0.05, 0.08, "W/(m K)", "dry leaves"),
            Unknown("side", 0.6, 0.9, "m", "inside; not stated"),
            Unknown("bucket", 8.0, 15.0, "L", "a bucket"),
            Unknown("every", 2.0, 5.0, "day", "between buckets"),
            Unknown("browns", 1.0, 2.0, "-", "leaves and grass to scraps by volume"),
            Unknown("year", 2.0, 8.0, "degC", "mean air of the year, a place with such mornings"),
        ),
        _leaf_walled,
    ),
)
