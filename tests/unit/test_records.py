"""Records refuse what cannot be, and say what is allowed; effective entries."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from slowfire.errors import InvalidInput, UnknownName
from slowfire.records import (
    Amount,
    Bin,
    Calendar,
    Cover,
    Entry,
    Length,
    Load,
    LoadItem,
    Look,
    Note,
    Position,
    Reading,
    Setting,
    Site,
    Stocktake,
    Temperature,
    Thermometer,
    Usual,
    Vent,
    WallLayer,
    WeatherSetting,
    effective_entries,
    joined_loads,
)

NOON = datetime(2026, 3, 12, 12, tzinfo=UTC)
DRUM = Bin("Drum", "cylinder", inside_diameter_cm=50, inside_height_cm=75)


def entry(number: int, hours: float = 0.0, **changes: object) -> Entry:
    """An all-as-usual entry with a short id."""
    plain = Entry(UUID(int=number), "Drum", NOON + timedelta(hours=hours), Usual())
    return replace(plain, **changes)  # type: ignore[arg-type]


def answer(number: int, target: int, **changes: object) -> Entry:
    """An entry that corrects another."""
    return entry(number, corrects=UUID(int=target), **changes)


def retraction(number: int, target: int) -> Entry:
    """An entry that takes another back."""
    return answer(number, target, payload=None, retracts=True)


def numbers(entries: list[Entry]) -> list[int]:
    """Their short ids in order."""
    return [one.id.int for one in effective_entries(entries)]


REFUSED = {
    "nan": (lambda: Temperature(float("nan"), "C"), "nan"),
    "infinite amount": (lambda: Amount(float("inf"), "kg"), "0 to 1000000"),
    "negative amount": (lambda: Amount(-1, "kg"), "0 to 1000000"),
    "true as a number": (lambda: Amount(True, "kg"), "not a number"),
    "no unit": (lambda: Amount(2, " "), "scoop, caddy, litre or kg"),
    "bare degrees": (lambda: Temperature(55, ""), "write 55 C or 55 F"),
    "other unit": (lambda: Temperature(328, "K"), "allowed is C or F"),
    "95 C": (lambda: Reading("dial", Temperature(95, "C")), r"-40 to 85 C. Was it 95 F \(35 C\)\?"),
    "320 F": (lambda: Reading("dial", Temperature(300, "F")), "-40 to 185 F. Read"),
    "-60 F": (lambda: Reading("dial", Temperature(-41, "F")), "-40 to 185 F. Read the"),
    "depth": (lambda: Position(Length(4, "m")), "0 to 3 m"),
    "negative depth": (lambda: Length(-4, "cm"), "0 to 10000"),
    "length unit": (lambda: Length(4, "yard"), "mm, cm, m, in, ft"),
    "held back": (lambda: LoadItem("scraps", Amount(1, "kg"), held_back=99), "0 to 95 %"),
    "empty load": (lambda: Load(()), "at least one"),
    "empty look": (Look, "write usual"),
    "two openings": (lambda: Vent("lid", "open", Length(2, "mm")), "one opening"),
    "cover": (lambda: Cover("hat", True), "insulation, roof, sheet"),
    "dug before start": (
        lambda: Stocktake(since=date(2026, 1, 2), dug=date(2026, 1, 1)), "swap them",
    ),
    "visitors without number": (
        lambda: Calendar("visitors", None, date(2026, 1, 1), date(2026, 1, 3)), "how many",
    ),
    "setting": (lambda: Setting("thermometer", "dial", "bias", "1"), "mean bias_kelvin"),
    "no size": (lambda: Bin("A", "box", 60, 60), "inside_height_cm is missing"),
    "wrong size": (lambda: replace(DRUM, inside_width_cm=5), "does not belong to a cylinder"),
    "slats": (lambda: replace(DRUM, slatted=True), "open share"),
    "open but not slatted": (lambda: replace(DRUM, open_share_percent=5), "slatted is false"),
    "thick wall": (lambda: WallLayer("foam", 2000), "0.1 to 1000 mm"),
    "bias": (lambda: Thermometer("dial", "lid", bias_kelvin=20), "-15 to 15 K"),
    "weather": (lambda: WeatherSetting("constant"), "needs mean_celsius"),
    "weather file": (lambda: WeatherSetting("file", file="/etc/x.csv"), "bare name"),
    "coldest day": (lambda: WeatherSetting("seasonal", 9, coldest_day=0), "1 to 366"),
    "no bins": (lambda: Site("Yard", "UTC", ()), "at least one"),
    "same bins": (lambda: Site("Yard", "UTC", (DRUM, replace(DRUM, name="DRUM"))), "own name"),
    "zone": (lambda: Site("Yard", "Nowhere/Town", (DRUM,)), "region and town"),
    "zone path": (lambda: Site("Yard", "../../etc/passwd", (DRUM,)), "region and town"),
    "measure": (lambda: Site("Yard", "UTC", (DRUM,), measures={"tub": 0}), "0.001 to 5000"),
    "quote in a name": (lambda: LoadItem('sc"raps', Amount(1, "kg")), "double quote"),
    "control in a note": (lambda: entry(1, note="a\x07b"), "control character"),
    "naive time": (lambda: entry(1, when=datetime(2026, 3, 12)), "without an offset"),
    "year 1200": (lambda: entry(1, when=datetime(1200, 1, 1, tzinfo=UTC)), "1970-01-02 to"),
    "first year": (
        lambda: entry(1, when=datetime(1, 1, 1, tzinfo=timezone(timedelta(hours=5)))), "1970",
    ),
    "far future": (lambda: entry(1, when=datetime(2101, 1, 1, tzinfo=UTC)), "2099-12-31"),
    "no bin": (lambda: entry(1, bin=""), "say which bin"),
    "itself": (lambda: answer(1, 1), "itself"),
    "retraction of nothing": (lambda: entry(1, payload=None, retracts=True), "id it takes back"),
    "retraction with content": (lambda: answer(2, 1, retracts=True), "no payload"),
    "two texts": (lambda: entry(1, payload=Note("a"), note="b"), "one place only"),
}  # fmt: skip


@pytest.mark.parametrize("case", sorted(REFUSED))
def test_what_cannot_be_is_refused(case: str) -> None:
    """The message says what is allowed or asks the right question."""
    make, said = REFUSED[case]
    with pytest.raises(InvalidInput, match=said):
        make()


def test_typed_values_are_kept_beside_their_meaning() -> None:
    """A Fahrenheit reading stays Fahrenheit; inches stay inches."""
    reading = Reading("dial", Temperature(131, "°F"), Position(Length(12, "inches"), "base"))
    assert reading.temperature == Temperature(131, "F")
    assert reading.temperature.temperature_celsius == 55.0
    assert reading.position is not None
    assert reading.position.distance.metres == pytest.approx(0.3048)


def test_times_are_kept_in_utc() -> None:
    """The same moment is equal whatever clock it was read on."""
    east = NOON.astimezone(timezone(timedelta(hours=2)))
    assert entry(1, when=east) == entry(1)
    assert entry(1, when=east).when.tzinfo is UTC


def test_a_site_finds_by_name_whatever_the_capitals() -> None:
    """Bins and thermometers; a kind stands for a thermometer without properties."""
    site = Site("Yard", "UTC", (DRUM,), (Thermometer("Old Dial", "lid", None, 1.5),))
    assert site.bin_named("drum") is DRUM
    assert site.thermometer_named("old dial").bias_kelvin == 1.5
    assert site.thermometer_named("probe") == Thermometer("probe", "probe")
    with pytest.raises(UnknownName, match=r"no bin is called 'Dram'; .* Did you mean Drum\?"):
        site.bin_named("Dram")
    with pytest.raises(UnknownName, match="Old Dial, lid, probe, infrared, air"):
        site.thermometer_named("stick")


def test_entries_come_by_time_and_once() -> None:
    """Late entries are sorted in; the same entry twice counts once; other content is refused."""
    late, early = entry(1, 5.0), entry(2)
    assert numbers([late, early, late]) == [2, 1]
    with pytest.raises(InvalidInput, match="two different entries"):
        effective_entries([late, replace(late, note="other")])


@pytest.mark.parametrize(
    ("later", "left"),
    [
        ([], [1]),
        ([answer(2, 1)], [2]),
        ([answer(2, 1), answer(3, 2)], [3]),
        ([retraction(2, 1)], []),
        ([answer(2, 1), retraction(3, 2)], [1]),
        ([answer(2, 1), retraction(3, 1)], []),
        ([answer(2, 1), answer(3, 2), retraction(4, 3)], [2]),
        ([answer(2, 1), answer(3, 2), retraction(4, 2)], [1]),
        ([retraction(2, 1), retraction(3, 2)], [1]),
        ([retraction(2, 1), retraction(3, 2), retraction(4, 3)], []),
        ([answer(2, 1), answer(3, 1)], [3]),
        ([answer(2, 1, recorded=NOON), answer(3, 1)], [2]),
        ([answer(2, 1), answer(3, 1), retraction(4, 3)], [2]),
        ([answer(2, 1), answer(3, 2), answer(4, 1)], [4]),
    ],
)
def test_corrections_and_retractions(later: list[Entry], left: list[int]) -> None:
    """A correction supersedes, a retraction removes, undoing either restores; order is free."""
    assert numbers([entry(1), *later]) == left
    rivals = [one.corrects for one in later if not one.retracts and one.recorded is None]
    if len(set(rivals)) == len(rivals):
        assert numbers([*reversed(later), entry(1)]) == left


def test_corrections_that_cannot_be_are_refused() -> None:
    """Unknown, in a ring, or of a retraction."""
    with pytest.raises(InvalidInput, match="not in the journal"):
        effective_entries([answer(2, 1)])
    with pytest.raises(InvalidInput, match="in a ring"):
        effective_entries([answer(1, 2), answer(2, 1)])
    with pytest.raises(InvalidInput, match="take the retraction back"):
        effective_entries([entry(1), retraction(2, 1), answer(3, 2)])


def test_a_long_chain_of_corrections_is_no_trouble() -> None:
    """Five thousand corrections of one entry leave the last."""
    chain = [entry(1), *(answer(number, number - 1) for number in range(2, 5001))]
    assert numbers(chain) == [5000]


@given(st.permutations(range(6)))
def test_loads_of_one_time_and_bin_are_joined(order: list[int]) -> None:
    """Rows written one by one make one layer; another bin or time makes another."""
    loads = [
        entry(
            number + 1,
            float(number // 4),
            bin="Drum" if number % 2 else "Box",
            payload=Load((LoadItem(f"material {number}", Amount(1, "scoop")),)),
        )
        for number in range(6)
    ]
    joined = joined_loads(effective_entries([loads[place] for place in order]))
    found = {(when, name): {one.material for one in items} for when, name, items in joined}
    hour = NOON + timedelta(hours=1)
    assert found == {
        (NOON, "Box"): {"material 0", "material 2"},
        (NOON, "Drum"): {"material 1", "material 3"},
        (hour, "Box"): {"material 4"},
        (hour, "Drum"): {"material 5"},
    }
