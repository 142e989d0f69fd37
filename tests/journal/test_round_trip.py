"""A journal written and read back is the same journal."""

import shutil
from dataclasses import fields, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import UUID, uuid5

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from slowfire import kinds as k
from slowfire.journal import Journal, read_journal, write_journal
from slowfire.journal.cells import SLOTS, read_payload, write_payload
from slowfire.records import (
    KINDS,
    Amount,
    Bin,
    Entry,
    Length,
    Load,
    LoadItem,
    Note,
    Position,
    Reading,
    Setting,
    Site,
    Temperature,
    Thermometer,
    WallLayer,
    WeatherSetting,
)
from slowfire.site import SETTING_KEYS
from slowfire.tables_text import number_text, read_number

SITE = Site(
    "Nutmeg Yard",
    "Europe/Vienna",
    (
        Bin(
            "Timber bin", "box", 60, 60, 90,
            wall=(WallLayer("timber", 20), WallLayer("wool", 60)), lid=(WallLayer("foam", 40),),
            slatted=True, open_share_percent=8, vent_slot_length_cm=45, tub_litres=10,
        ),
        Bin("Drum", "cylinder", inside_diameter_cm=52.5, inside_height_cm=75, roofed=True),
        Bin("Old heap", "heap", 120, 110, 80),
    ),
    (Thermometer("dial", "lid"), Thermometer("long probe", "probe", 30, -0.5)),
    {"caddy": 5, "blue tub": 12.5},
    {"brewery malt": {"moisture_percent": 78, "like": "spent grain", "c_to_n": [12, 15]}},
    ("Ada", "Bo"),
    48.2,
    16.4,
    "us",
    WeatherSetting("seasonal", 10.5, 20, 8, rain="wet", noise_kelvin=2.5, seed=7),
)  # fmt: skip

letters = st.characters(exclude_categories=("Cc", "Cs", "Zs", "Zl", "Zp"), exclude_characters='"+')
words = st.text(letters, min_size=1, max_size=8)
names = st.lists(words, min_size=1, max_size=3).map(" ".join)
units = st.sampled_from(["scoop", "heaped scoop", "litre", "kg", "caddy", "e5", "tonne", "to"])
positive = st.floats(1e-9, 1e6)
texts = st.text(
    st.characters(exclude_categories=("Cs", "Cc"), include_characters="\n\t"), max_size=30
)


def amounts() -> st.SearchStrategy[Amount]:
    """Any amount above zero, some of them ranges."""
    single = st.builds(Amount, positive, units)
    ranges = st.builds(Amount, st.floats(1e-6, 10), units, st.floats(11, 1e6))
    return st.one_of(single, ranges)


def temperatures(low: float, high: float) -> st.SearchStrategy[Temperature]:
    """Temperatures typed in C or F, inside a range of C."""
    return st.one_of(
        st.builds(Temperature, st.floats(low, high), st.just("C")),
        st.builds(Temperature, st.floats(low * 1.8 + 33, high * 1.8 + 31), st.just("F")),
    )


def lengths(metres: float) -> st.SearchStrategy[Length]:
    """Lengths in every unit up to so many metres."""
    return st.one_of(
        *(
            st.builds(Length, st.floats(0, metres / one * 0.999), st.just(unit))
            for unit, one in (("mm", 0.001), ("cm", 0.01), ("m", 1.0), ("in", 0.0254))
        )
    )


def maybe(one: st.SearchStrategy[object]) -> st.SearchStrategy[object]:
    """Given or left out."""
    return st.one_of(st.none(), one)


def choice(allowed: tuple[str, ...]) -> st.SearchStrategy[object]:
    """One of the words, or left out."""
    return maybe(st.sampled_from(allowed))


positions = st.builds(Position, lengths(3.0), st.sampled_from(["surface", "base"]))
days = st.dates(date(1970, 1, 1), date(2099, 12, 31))
items = st.builds(
    LoadItem, names, amounts(), choice(k.PACKINGS), choice(k.STATES),
    maybe(st.floats(0, 365)), maybe(st.floats(0, 95)), maybe(temperatures(-30, 100)),
)  # fmt: skip
reach = (maybe(lengths(3.0)), maybe(names))
known_thermometers = st.sampled_from(["dial", "long probe", "infrared", "air"])


def settings_of(about: str) -> st.SearchStrategy[Setting]:
    """Settings of one sort with a property it has."""
    name = {
        "bin": st.sampled_from(["Drum", "Old heap"]),
        "thermometer": st.sampled_from(["dial", "probe"]),
    }.get(about, names)
    keys = SETTING_KEYS[about]
    return st.builds(Setting, st.just(about), name, st.sampled_from(keys) if keys else names, names)


def looks() -> st.SearchStrategy[k.Look]:
    """Looks that say at least their smell."""
    return st.builds(
        k.Look, maybe(lengths(3.0)), st.sampled_from(k.SMELLS), choice(k.SQUEEZES),
        choice(k.COUNTS), choice(k.COUNTS), choice(k.COUNTS), choice(k.WORM_PLACES),
        choice(k.RODENTS), maybe(st.booleans()), maybe(st.booleans()), choice(k.FAULTS),
        choice(k.COUNTS),
    )  # fmt: skip


payloads: dict[str, st.SearchStrategy[object]] = {
    "stocktake": st.builds(
        k.Stocktake, maybe(lengths(3.0)), maybe(st.dates(date(1980, 1, 1), date(2000, 1, 1))),
        maybe(amounts()), maybe(st.dates(date(2001, 1, 1), date(2030, 1, 1))), choice(k.SQUEEZES),
        choice(k.COUNTS), st.lists(names, max_size=3).map(tuple),
    ),
    "load": st.lists(items, min_size=1, max_size=3, unique=True).map(lambda i: Load(tuple(i))),
    "reading": st.builds(
        Reading, known_thermometers, temperatures(-40, 85), maybe(positions), choice(k.SPOTS)
    ),
    "look": looks(),
    "usual": st.builds(k.Usual),
    "stir": st.builds(k.Stir, *reach),
    "poke": st.builds(k.Poke, *reach),
    "turn": st.builds(k.Turn, *reach),
    "vent": st.one_of(
        st.builds(k.Vent, st.sampled_from(k.VENTS), st.sampled_from(k.OPENINGS)),
        st.builds(k.Vent, st.sampled_from(k.VENTS), st.none(), lengths(0.3)),
    ),
    "cover": st.builds(k.Cover, st.sampled_from(k.COVERS), st.booleans()),
    "move": st.builds(k.Move, names, choice(("sheltered", "windy")), maybe(st.floats(0, 100))),
    "water": st.builds(k.Water, amounts(), maybe(positions)),
    "warm": st.builds(k.Warm, amounts(), temperatures(20, 100), maybe(positions)),
    "drain": st.builds(
        k.Drain, amounts(), choice(k.COLOURS), choice(k.SMELLS), maybe(st.floats(0, 100))
    ),
    "dig_out": st.builds(
        k.DigOut, amounts(), maybe(names), choice(k.SIDES), maybe(lengths(0.1)),
        maybe(st.booleans()), maybe(amounts()),
    ),
    "worms": st.builds(k.Worms, amounts(), maybe(names), maybe(names)),
    "test": st.one_of(
        st.builds(
            k.Test, st.just("cress"), maybe(st.floats(0, 365)), st.just(20.0), st.floats(0, 20),
            st.floats(0, 20), choice(k.GROWTHS), choice(k.GROWTHS),
        ),
        st.builds(
            k.Test, st.just("flask"), warmest=temperatures(-10, 85),
            surroundings=temperatures(-10, 85), smell=choice(k.SMELLS),
        ),
        st.builds(k.Test, st.just("water-fill"), sample=amounts(), water=amounts()),
        st.builds(
            k.Test, st.just("ice-water"), thermometer=known_thermometers,
            shown=temperatures(-15, 15),
        ),
        st.builds(
            k.Test, st.just("bag"), days=st.floats(0, 365), swelling=st.sampled_from(k.SWELLINGS)
        ),
    ),
    "use": st.builds(k.Use, names, amounts(), names, choice(k.USES), maybe(st.floats(0, 200))),
    "stock": st.builds(
        k.Stock, names, amounts(), choice(k.STORES), st.sampled_from(k.CHANGES)
    ),
    "calendar": st.one_of(
        st.builds(k.Calendar, st.just("people"), amounts(), maybe(days)),
        st.builds(
            k.Calendar, st.just("absence"), st.none(), st.dates(date(2020, 1, 1), date(2025, 1, 1)),
            st.dates(date(2025, 1, 2), date(2026, 1, 1)), st.sampled_from(k.REPEATS),
        ),
    ),
    "advice": st.builds(k.Advice, names, st.sampled_from(k.ANSWERS)),
    "photo": st.builds(k.Photo, st.text("0123456789abcdef", min_size=64, max_size=64)),
    "note": st.builds(Note, texts.filter(lambda text: text.strip())),
    "setting": st.one_of(*(settings_of(about) for about in SETTING_KEYS)),
}  # fmt: skip


@st.composite
def journals(draw: st.DrawFn) -> Journal:
    """Journals of up to six entries, some of them correcting or taking back an earlier one."""
    entries: list[Entry] = []
    times = st.datetimes(datetime(1970, 1, 3), datetime(2099, 12, 30), timezones=st.just(UTC))
    for place in range(draw(st.integers(0, 6))):
        retracts = bool(entries) and draw(st.integers(0, 4)) == 0
        kind = draw(st.sampled_from(sorted(KINDS)))
        payload = None if retracts else draw(payloads[kind])
        target = None
        open_ids = [one.id for one in entries if not one.retracts]
        if retracts:
            target = draw(st.sampled_from([one.id for one in entries]))
        elif open_ids and draw(st.integers(0, 4)) == 0:
            target = draw(st.sampled_from(open_ids))
        entries.append(
            Entry(
                uuid5(UUID(int=5), f"{place}"),
                draw(st.sampled_from(["Timber bin", "Drum", "Old heap"])),
                draw(times),
                payload,
                draw(maybe(times)),
                draw(st.sampled_from(["", "Ada", "Bo"])),
                "" if isinstance(payload, Note) else draw(texts),
                target,
                retracts,
            )
        )
    return Journal(SITE, tuple(entries))


def test_every_kind_has_a_strategy_and_slots_for_every_field() -> None:
    """No kind and no field can be forgotten in the text form."""
    assert set(payloads) == set(KINDS) == set(SLOTS)
    for kind, record in KINDS.items():
        record = LoadItem if kind == "load" else record
        assert {slot.name for slot in SLOTS[kind]} == {one.name for one in fields(record)}


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(journal=journals())
def test_what_is_written_reads_back_the_same(journal: Journal, tmp_path: Path) -> None:
    """read(write(j)) == j, and writing again gives the same bytes."""
    write_journal(journal, tmp_path / "one")
    again = read_journal(tmp_path / "one")
    assert again == journal
    write_journal(again, tmp_path / "two")
    for name in ("site.toml", "entries.csv"):
        assert (tmp_path / "two" / name).read_bytes() == (tmp_path / "one" / name).read_bytes()


@pytest.mark.parametrize("kind", sorted(KINDS))
@settings(max_examples=40, deadline=None)
@given(data=st.data())
def test_each_kind_survives_its_cells(kind: str, data: st.DataObject) -> None:
    """The cells of any payload give that payload."""
    payload = data.draw(payloads[kind])
    parts = payload.items if isinstance(payload, Load) else (payload,)
    for part in parts:
        back = read_payload(kind, write_payload(part), decimal_comma=False)
        assert back == (Load((part,)) if kind == "load" else part)


@given(st.floats(-1e15, 1e15))
def test_a_number_is_written_exactly(value: float) -> None:
    """The written text is the same number and needs no exponent."""
    text = number_text(value)
    assert read_number(text) == value
    assert "e" not in text


def test_a_hand_written_folder_reads_and_writes_without_loss(tmp_path: Path) -> None:
    """Rows by hand, without ids and in mixed order, keep their order and content."""
    folder = tmp_path / "hand"
    write_journal(Journal(SITE), folder)
    (folder / "entries.csv").write_text(
        "when,bin,kind,item,amount,unit,at,value,note,who\n"
        "2026-03-12 18:30,Drum,load,kitchen scraps,1,caddy,,fresh,,Ada\n"
        "2026-03-12 18:30,Drum,load,office paper,2 to 3,scoop,,loose,,Ada\n"
        "2026-03-10,drum,Reading,long probe,131,°F,20 cm below surface,,,\n"
        "2026-03-14T07:05:30+02:00,Drum,dig out,,1/2,barrow,front,sieve=10mm,,\n"
        "2026-03-14 08:00,Drum,load,pizza box,2 caddies,,,,,\n",
        encoding="utf-8",
    )
    journal = read_journal(folder)
    assert [one.kind for one in journal.entries] == ["load", "load", "reading", "dig_out", "load"]
    assert journal.effective[0].kind == "reading"
    first = journal.entries[0]
    assert first.when == datetime(2026, 3, 12, 17, 30, tzinfo=UTC)
    assert first.payload == Load((LoadItem("kitchen scraps", Amount(1, "caddy"), state="fresh"),))
    assert journal.entries[2].when == datetime(2026, 3, 10, 11, 0, tzinfo=UTC)
    assert journal.entries[2].payload.temperature.temperature_celsius == pytest.approx(55.0)
    assert journal.entries[4].payload.items[0].amount == Amount(2, "caddies")
    write_journal(journal, tmp_path / "copy")
    assert read_journal(tmp_path / "copy") == journal


def test_reading_a_folder_again_adds_nothing(tmp_path: Path) -> None:
    """Ids made for rows depend on content alone; two equal rows stay two."""
    folder = tmp_path / "twice"
    write_journal(Journal(SITE), folder)
    head = "when,bin,kind,item,amount,unit\n"
    row = "2026-03-12 18:30,Drum,load,scraps,1,caddy\n"
    other = "2026-03-13 18:30,Drum,load,scraps,1,caddy\n"
    (folder / "entries.csv").write_text(head + row + row + other, encoding="utf-8")
    ids = [one.id for one in read_journal(folder).entries]
    assert len(set(ids)) == 3
    (folder / "entries.csv").write_text(head + other + row + row, encoding="utf-8")
    assert {one.id for one in read_journal(folder).entries} == set(ids)
    # The same content as a spreadsheet may save it: semicolons, seconds, decimals.
    saved = "when;bin;kind;item;amount;unit\n2026-03-12 18:30:00;drum;Load;scraps;1,0;caddy\n"
    (folder / "entries.csv").write_text(saved, encoding="utf-8-sig")
    assert read_journal(folder).entries[0].id == ids[0]


def test_ids_of_rows_do_not_change_between_versions(tmp_path: Path) -> None:
    """An alarm: another id here means that every hand-kept journal would be imported anew."""
    folder = tmp_path / "pinned"
    write_journal(Journal(SITE), folder)
    (folder / "entries.csv").write_text(
        "when,bin,kind,item,amount,unit\n2026-03-12 18:30,Drum,load,scraps,1,caddy\n",
        encoding="utf-8",
    )
    content = (
        "when=2026-03-12T17:30:00+00:00\x1fbin=Drum\x1fkind=load\x1fitem=scraps\x1famount=1\x1f"
        "unit=caddy\x1fat=\x1fvalue=\x1fnote=\x1fwho=\x1frecorded=\x1fcorrects="
    )
    expected = uuid5(UUID("6f0d3b52-9c1e-4a57-8f6e-2d1c7a90b4e3"), content)
    assert read_journal(folder).entries[0].id == expected


def test_an_exported_row_without_its_id_is_the_same_entry_only_if_it_had_none(
    tmp_path: Path,
) -> None:
    """A row pasted again below its exported self is left out."""
    folder = tmp_path / "pasted"
    write_journal(Journal(SITE), folder)
    head = "id,when,bin,kind,item,amount,unit\n"
    row = "2026-03-12 18:30,Drum,load,scraps,1,caddy\n"
    (folder / "entries.csv").write_text(head + "," + row, encoding="utf-8")
    own = read_journal(folder).entries[0].id
    (folder / "entries.csv").write_text(f"{head}{own},{row},{row}", encoding="utf-8")
    assert len(read_journal(folder).entries) == 1


def test_rows_of_one_id_are_one_load(tmp_path: Path) -> None:
    """A load of several materials is several rows, also when the file is joined to itself."""
    load = Load(tuple(LoadItem(name, Amount(1, "scoop")) for name in ("paper", "chip", "leaves")))
    entry = Entry(UUID(int=3), "Drum", datetime(2026, 3, 1, tzinfo=UTC), load)
    write_journal(Journal(SITE, (entry,)), tmp_path)
    lines = (tmp_path / "entries.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    assert len(lines) == 4
    (tmp_path / "entries.csv").write_text("".join(lines + lines[1:]), encoding="utf-8")
    assert read_journal(tmp_path).entries == (entry,)


def test_times_around_the_clock_change(tmp_path: Path) -> None:
    """Skipped hour: counted on from before; double hour: the first; stated in the docs."""
    folder = tmp_path / "clock"
    write_journal(Journal(SITE), folder)
    (folder / "entries.csv").write_text(
        "when,bin,kind\n"
        "2026-03-29 02:30,Drum,usual\n"
        "2026-10-25 02:30,Drum,usual\n"
        "2026-10-25 02:30+01:00,Drum,usual\n",
        encoding="utf-8",
    )
    skipped, first, second = (one.when for one in read_journal(folder).entries)
    assert skipped == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)
    assert first == datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    assert second - first == timedelta(hours=1)


def test_the_weather_file_goes_along(tmp_path: Path) -> None:
    """A journal with a weather file is written with it; one lying there is found."""
    site = replace(SITE, weather=WeatherSetting("file", file="yard.csv"))
    here = tmp_path / "here"
    here.mkdir()
    (here / "yard.csv").write_text("when,temperature_celsius\n", encoding="utf-8")
    write_journal(Journal(site, (), here / "yard.csv"), tmp_path / "there")
    assert read_journal(tmp_path / "there").weather_file == tmp_path / "there" / "yard.csv"
    plain = replace(SITE, weather=None)
    write_journal(Journal(plain), tmp_path / "plain")
    assert read_journal(tmp_path / "plain").weather_file is None
    shutil.copy(here / "yard.csv", tmp_path / "plain" / "weather.csv")
    assert read_journal(tmp_path / "plain").weather_file is not None
