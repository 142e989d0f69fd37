"""Make examples/courtyard: an invented year of two bins, from a hidden simulated truth.

The truth has other rates, other weights, loads nobody wrote down and thermometers that err; only
the written journal is kept. Run again, the script writes the same files.
"""

from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from uuid import NAMESPACE_URL, uuid5
from zoneinfo import ZoneInfo

import numpy as np

from slowfire import records as r
from slowfire.column.parameters import default_parameters
from slowfire.column.simulate import Column
from slowfire.garden_beds import GardenBed
from slowfire.journal import Journal, write_journal
from slowfire.services.replay import replay_bin, temperature_at

FOLDER = Path(__file__).resolve().parent.parent / "examples" / "courtyard"
ZONE = ZoneInfo("Europe/Vienna")
FIRST = date(2025, 11, 1)
LAST = date(2026, 10, 31)
SEED = 20251101
TIMBER = "Timber bin"
DRUM = "Drum"
PEOPLE = ("Runa", "Odo", "Mirela", "bakery")

SITE = r.Site(
    name="Lantern Court",
    timezone="Europe/Vienna",
    latitude_degrees=48.0,
    longitude_degrees=16.0,
    people=PEOPLE,
    measures={"caddy": 6.0, "scoop": 1.5, "sack": 40.0},
    beds=(
        GardenBed("Quince and currants", 9.0, "Fruit trees and bushes", 6.0),
        GardenBed("Hedge by the gate", 6.0, "Hedge", 22.0),
        GardenBed("Kale", 3.0, "Kale and chard", 9.0, "dug-in"),
        GardenBed("Beans", 2.0, "Beans and peas", 11.0),
    ),
    bins=(
        r.Bin(
            TIMBER,
            "box",
            inside_width_cm=60,
            inside_depth_cm=60,
            inside_height_cm=92,
            wall=(r.WallLayer("timber", 18), r.WallLayer("wool", 60), r.WallLayer("timber", 18)),
            lid=(r.WallLayer("timber", 18), r.WallLayer("wool", 40)),
            base=(r.WallLayer("timber", 24),),
            stands_on="slab",
            vent_slot_length_cm=35,
            base_inlet_area_cm2=30,
            lid_leak="usual",
            shelter="sheltered",
            sun_share_percent=25,
            tub_litres=12,
        ),
        r.Bin(
            DRUM,
            "cylinder",
            inside_diameter_cm=48,
            inside_height_cm=78,
            wall=(r.WallLayer("foam", 45),),
            lid=(r.WallLayer("foam", 30),),
            base=(r.WallLayer("plastic", 4),),
            stands_on="raised",
            vent_slot_length_cm=20,
            base_inlet_area_cm2=20,
            lid_leak="usual",
            shelter="sheltered",
            sun_share_percent=40,
            tub_litres=6,
        ),
    ),
    thermometers=(
        r.Thermometer("lid dial", "lid"),
        r.Thermometer("long probe", "probe", depth_cm=20),
    ),
    weather=r.WeatherSetting(
        "seasonal",
        mean_celsius=10.5,
        yearly_swing_kelvin=20,
        daily_swing_kelvin=8,
        noise_kelvin=3,
        seed=7,
    ),
)


class Writer:
    """Collects what truly happened and what was written, entry by entry."""

    def __init__(self, bin_name: str) -> None:
        self.bin = bin_name
        self.true: list[r.Entry] = []
        self.written: list[r.Entry] = []

    def entry(self, when: datetime, payload: r.Payload, who: str = "", note: str = "") -> r.Entry:
        mark = f"slowfire-example/{self.bin}/{when.isoformat()}/{payload.kind}/{len(self.true)}"
        return r.Entry(uuid5(NAMESPACE_URL, mark), self.bin, when, payload, who=who, note=note)

    def add(
        self,
        when: datetime,
        payload: r.Payload,
        true: r.Payload | None = None,
        who: str = "",
        note: str = "",
        forgotten: bool = False,
    ) -> None:
        entry = self.entry(when, payload, who, note)
        self.true.append(replace(entry, payload=true) if true is not None else entry)
        if not forgotten:
            self.written.append(entry)


def at(day: date, hour: int, minute: int = 0) -> datetime:
    return datetime(day.year, day.month, day.day, hour, minute, tzinfo=ZONE)


def item(name: str, number: float, unit: str, packing: str | None = None) -> r.LoadItem:
    return r.LoadItem(name, r.Amount(number, unit), packing)


def scaled(load: r.Load, factors: np.ndarray) -> r.Load:
    return r.Load(
        tuple(
            replace(one, amount=r.Amount(one.amount.number * float(f), one.amount.unit))
            for one, f in zip(load.items, factors, strict=True)
        )
    )


def feed(
    writer: Writer, draws: np.random.Generator, when: datetime, load: r.Load, who: str
) -> None:
    """A load as written, in round measures, and as it truly was."""
    factors = np.exp(draws.normal(0.0, 0.18, len(load.items)))
    forgotten = bool(draws.random() < 0.05)
    writer.add(when, load, scaled(load, factors), who=who, forgotten=forgotten)
    writer.add(when + timedelta(minutes=2), r.Stir(r.Length(12, "cm"), "hand fork"))


def timber_year(draws: np.random.Generator) -> Writer:
    writer = Writer(TIMBER)
    day = FIRST
    writer.add(at(day, 9), r.Vent("lid", "crack"))
    start = r.Load(
        (
            item("half_finished_compost", 2, "sack"),
            item("food_waste_household_mixed", 4, "caddy"),
            item("corrugated_cardboard", 3, "caddy", "loose"),
            item("bark_chips_fine", 1, "caddy"),
        )
    )
    writer.add(at(day, 10), start, who="Runa", note="first filling, some of last year's heap")
    writer.add(at(day, 10, 5), r.Stir(r.Length(30, "cm"), "hand fork"))
    writer.add(
        at(day, 10, 15),
        r.Warm(
            r.Amount(2, "litre"), r.Temperature(85, "C"), r.Position(r.Length(15, "cm"), "surface")
        ),
        who="Runa",
    )
    day += timedelta(days=3)
    k = 0
    while day <= LAST:
        away = date(2026, 8, 3) <= day <= date(2026, 8, 20)
        if not away:
            full_house = date(2025, 12, 22) <= day <= date(2026, 1, 4)
            caddies = 2.0 if full_house or draws.random() < 0.35 else 1.5
            items = [
                item("food_waste_household_mixed", caddies, "caddy"),
                item("office_paper_shredded", 0.5 * caddies, "caddy", "loose"),
                item("bark_chips_fine", 1.0, "scoop"),
            ]
            if k % 3 == 0:
                items.append(item("bread_stale", 0.5, "caddy"))
            if k % 4 == 1:
                items.append(item("coffee_grounds", 1.0, "scoop"))
            feed(writer, draws, at(day, 18), r.Load(tuple(items)), PEOPLE[k % 3])
            mowing = date(2026, 4, 8) <= day <= date(2026, 9, 25) and k % 5 == 2
            if mowing:
                grass = r.Load(
                    (
                        item("grass_clippings_fresh", 1.5, "caddy"),
                        item("corrugated_cardboard", 1.0, "caddy", "loose"),
                    )
                )
                feed(writer, draws, at(day, 19), grass, "Odo")
        day += timedelta(days=3 if k % 2 else 4)
        k += 1
    writer.add(at(date(2025, 12, 6), 11), r.Cover("insulation", True), who="Odo")
    writer.add(at(date(2026, 3, 14), 11), r.Cover("insulation", False), who="Odo")
    writer.add(
        at(date(2026, 7, 26), 20),
        r.Calendar("absence", starts=date(2026, 8, 3), ends=date(2026, 8, 20)),
        note="two flats away",
    )
    for when, litres in (
        (date(2026, 4, 18), 70),
        (date(2026, 6, 13), 70),
        (date(2026, 9, 12), 70),
    ):
        writer.add(
            at(when, 10),
            r.DigOut(r.Amount(litres, "litre"), to="shrub border", side="front"),
            r.DigOut(
                r.Amount(litres * float(np.exp(draws.normal(0, 0.1))), "litre"),
                to="shrub border",
                side="front",
            ),
            who="Mirela",
        )
        writer.add(at(when, 10, 40), r.Poke(tool="rod"))
    # dry by feel from late spring: a can of water every other week
    day = date(2026, 5, 3)
    while day <= date(2026, 9, 6):
        writer.add(at(day, 18, 30), r.Look(squeeze="dry"))
        writer.add(at(day, 18, 31), r.Water(r.Amount(5, "litre")), who="Odo")
        day += timedelta(days=14)
    # dry stuff: paper from the bakery's office every month, bark when it is bought
    for month in range(11, 23):
        day = date(2025 + (month - 1) // 12, (month - 1) % 12 + 1, 2)
        paper = r.Stock("office_paper_shredded", r.Amount(1.5, "sack"), "bin", "gathered")
        writer.add(at(day, 9), paper, who="bakery")
        if month % 3 == 2:
            bark = r.Stock("bark_chips_fine", r.Amount(1.5, "sack"), "bin", "bought")
            writer.add(at(day, 9, 5), bark, who="Odo")
    writer.add(at(date(2026, 2, 7), 17), r.Usual(), who="Mirela")
    writer.add(at(date(2026, 5, 9), 17), r.Look(smell="earthy", worms="many", worms_at="base"))
    return writer


def drum_year(draws: np.random.Generator) -> Writer:
    writer = Writer(DRUM)
    writer.add(at(FIRST, 9), r.Vent("lid", "crack"))
    writer.add(
        at(FIRST, 9, 1),
        r.Stocktake(
            r.Length(35, "cm"),
            since=date(2025, 5, 1),
            feed=r.Amount(1, "caddy"),
            squeeze="drops",
            worms="many",
            mostly=("peelings",),
        ),
        who="Mirela",
    )
    day = FIRST + timedelta(days=2)
    k = 0
    while day <= LAST:
        items = [
            item("fruit_veg_peelings_mixed", 1.0, "caddy"),
            item("newspaper_shredded", 1.0, "caddy", "loose"),
        ]
        if k % 2 == 0:
            items.append(item("prunings_chipped_woody", 0.5, "scoop"))
        if k % 3 == 0:
            items.append(item("coffee_grounds", 0.5, "scoop"))
        feed(writer, draws, at(day, 8), r.Load(tuple(items)), "Mirela")
        day += timedelta(days=6 if k % 2 else 5)
        k += 1
    for when, litres in (
        (date(2026, 3, 7), 35),
        (date(2026, 5, 30), 40),
        (date(2026, 8, 29), 40),
    ):
        writer.add(at(when, 11), r.DigOut(r.Amount(litres, "litre"), to="berry bed"), who="Mirela")
        writer.add(at(when, 11, 20), r.Poke(tool="rod"))
    return writer


def readings(
    writer: Writer, draws: np.random.Generator, parameters: dict[str, float], bias: float
) -> list[r.Entry]:
    """Read the hidden truth: lid dial once a week, long probe every second week."""
    planned: list[r.Entry] = []
    day = FIRST + timedelta(days=6)
    k = 0
    while day <= LAST:
        zero = r.Temperature(0, "C")
        planned.append(writer.entry(at(day, 17, 30), r.Reading("lid dial", zero)))
        if k % 2 == 0:
            probe = r.Reading("long probe", zero, r.Position(r.Length(20, "cm"), "surface"))
            planned.append(writer.entry(at(day, 17, 31), probe))
        day += timedelta(days=7)
        k += 1
    for month in range(11, 23):
        when = date(2025 + (month - 1) // 12, (month - 1) % 12 + 1, 20)
        planned.append(writer.entry(at(when, 9), r.Drain(r.Amount(0, "litre"), "dark", "none")))
    truth = Journal(SITE, tuple(writer.true + planned))
    found: list[float] = []
    tub: list[float] = []

    def watch(hour: float, column: Column) -> None:
        section = column.section()
        inside = temperature_at(section, 0.20)
        tub.append(section.tub_litres)
        found.append(section.lid_celsius)
        found.append(inside if inside is not None else section.lid_celsius)

    waiting = sorted(
        (e for e in truth.effective if e.bin == writer.bin and e.kind in WATCHED),
        key=lambda e: e.when,
    )
    replay_bin(
        truth, writer.bin, at(LAST, 20), parameters=default_parameters(**parameters), watch=watch
    )
    kept = []
    for k, entry in enumerate(waiting):
        payload = entry.payload
        if isinstance(payload, r.Drain):
            # whoever draws empties the tub
            litres = round(2.0 * tub[k]) / 2.0
            kept.append(replace(entry, payload=replace(payload, amount=r.Amount(litres, "litre"))))
        if not isinstance(payload, r.Reading):
            continue
        dial = payload.thermometer == "lid dial"
        value = found[2 * k] if dial else found[2 * k + 1] + bias
        value += float(draws.normal(0.0, 1.0 if dial else 0.6))
        step = 1.0 if dial else 0.5
        shown = r.Temperature(round(value / step) * step, "C")
        kept.append(replace(entry, payload=replace(payload, temperature=shown)))
    return kept


WATCHED = ("reading", "look", "usual", "drain", "dig_out")


def main() -> None:
    draws = np.random.default_rng(SEED)
    hidden = {
        TIMBER: {"rate_rapid": 0.42, "conductivity_factor": 0.85, "particle_diameter": 0.0008},
        DRUM: {"rate_rapid": 0.29, "slump": 0.55, "vent_exchange": 0.8},
    }
    entries: list[r.Entry] = []
    for writer, bias in ((timber_year(draws), 0.8), (drum_year(draws), -0.5)):
        entries += writer.written
        entries += readings(writer, draws, hidden[writer.bin], bias)
    entries.sort(key=lambda entry: (entry.when, entry.bin))
    FOLDER.mkdir(parents=True, exist_ok=True)
    write_journal(Journal(SITE, tuple(entries)), FOLDER)
    print(f"{len(entries)} entries written to {FOLDER.relative_to(FOLDER.parent.parent)}")


if __name__ == "__main__":
    main()
