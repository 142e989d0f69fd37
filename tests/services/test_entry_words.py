"""Entries as people say them: every kind, without a word of the file format."""

from datetime import UTC, date, datetime
from uuid import uuid4

import pytest

from slowfire import kinds as k
from slowfire import records as r
from slowfire.quantities import Amount, Length, Position, Temperature
from slowfire.services.entry_words import entry_words

BIN = r.Bin("Box", "box", inside_width_cm=50, inside_depth_cm=50, inside_height_cm=90)
SITE = r.Site("Yard", "UTC", (BIN,), latitude_degrees=48, longitude_degrees=16)
BELOW = Position(Length(20, "cm"))
SAID = [
    (
        k.Load((k.LoadItem("bread_stale", Amount(0.5, "caddy")),)),
        "half a caddy of bread, stale",
    ),
    (
        k.Stocktake(
            level=Length(35, "cm"), since=date(2025, 5, 1), feed=Amount(1, "caddy"),
            dug=date(2025, 6, 1), squeeze="drops", worms="none", mostly=("home_mix",),
        ),
        "surface 35 cm below the rim, in use since 1 May 2025, fed one caddy a week, dug out last "
        "on 1 June 2025, squeezed: a few drops, no worms, mostly home_mix",
    ),
    (
        k.Reading("long probe", Temperature(131, "F"), BELOW, "centre"),
        "long probe: 131 °F, 20 cm below the surface, centre",
    ),
    (
        k.Look(
            level=Length(10, "in"), smell="rotten-egg", squeeze="trickle", flies="few",
            larvae="none", worms="many", worms_at="base", rodents="droppings", steam=True,
            bulge=False, fault="seal", plastic="few",
        ),
        "surface 10 in below the rim, smells of rotten eggs, squeezed: a trickle, few flies, no "
        "larvae, many worms (base), few plastic, droppings of rats or mice, it steams, the walls "
        "are straight, fault: seal",
    ),
    (k.Look(smell="none", steam=False, bulge=True, fault="none"),
     "no smell, no steam, the walls bulge, nothing broken"),
    (k.Usual(), "all as usual"),
    (k.Stir(depth=Length(12, "cm"), tool="hand fork"), "12 cm deep, with the hand fork"),
    (k.Poke(), ""),
    (k.Turn(depth=Length(1, "ft")), "1 ft deep"),
    (k.Vent("lid", "crack"), "at the lid: a crack"),
    (k.Vent("base", width=Length(2, "mm")), "at the base: open by 2 mm"),
    (k.Cover("insulation", True), "insulation on"),
    (k.Move("the shed", "sheltered"), "to the shed, sheltered"),
    (k.Water(Amount(3, "litre"), BELOW), "three litres poured on, 20 cm below the surface"),
    (
        k.Warm(Amount(2, "litre"), Temperature(70, "C"), Position(Length(10, "cm"), "base")),
        "two litres of water at 70 °C, 10 cm above the base",
    ),
    (k.Drain(Amount(0, "litre"), colour="dark", smell="none"), "the tub was empty"),
    (
        k.Drain(Amount(1.5, "litre"), colour="brown", smell="ammonia", conductivity=4.5),
        "one and a half litres of liquid, brown, smells of ammonia, 4.5 mS/cm",
    ),
    (
        k.DigOut(Amount(30, "litre", 40), to="berry bed", side="front", sieve=Length(12, "mm"),
                 oversize_back=True),
        "30 to 40 litres, to berry bed, from the front, through a sieve of 12 mm, the coarse put "
        "back",
    ),
    (k.DigOut(Amount(2, "barrow"), weighed=Amount(54, "kg")), "two barrows, weighed as 54 kg"),
    (k.Worms(Amount(100, "g"), source="a neighbour", to="heap"),
     "100 g, from a neighbour, to heap"),
    (
        k.Test("cress", days=7, sown=20, sprouted=18, control_sprouted=19, growth="green"),
        "cress test, after 7 days, 18 of 20 sprouted, 19 in the control, growth green",
    ),
    (
        k.Test("flask", warmest=Temperature(24, "C"), surroundings=Temperature(20, "C")),
        "flask test, 24 °C inside, 20 °C around it",
    ),
    (k.Test("bag", swelling="puffed", days=7, smell="sour"),
     "bag test, bag puffed, after 7 days, smells sour"),
    (k.Test("ice-water", thermometer="long probe", shown=Temperature(1, "C")),
     "ice water test, long probe showed 1 °C"),
    (k.Test("water-fill", sample=Amount(10, "litre"), water=Amount(4, "litre")),
     "water fill test, ten litres took four litres of water"),
    (k.Use("liquid", Amount(2, "litre"), "pear", how="drench", dilution=10),
     "two litres of liquid on pear, poured on the soil, 1 part in 10 of water"),
    (k.Stock("bark_chips_fine", Amount(2, "sack"), "store", "bought"),
     "two sacks of conifer bark chips, fine (5-20 mm), bought in store"),
    (
        k.Calendar("leaf-fall", starts=date(2026, 10, 1), ends=date(2026, 11, 1), repeat="yearly"),
        "leaf fall, from 1 October 2026, to 1 November 2026, yearly",
    ),
    (k.Calendar("people", amount=Amount(3, "people")), "people, three people"),
    (k.Advice("add_food", "postponed"), "add food: put off"),
    (k.Photo("a" * 64), "a photo"),
    (k.Note("steam over the vent"), "steam over the vent"),
    (k.Setting("thermometer", "dial", "bias_kelvin", "2"), "dial: bias kelvin is 2"),
]  # fmt: skip


@pytest.mark.parametrize(("payload", "said"), SAID)
def test_an_entry_is_said_in_words(payload, said):
    entry = r.Entry(uuid4(), "Box", datetime(2026, 3, 1, tzinfo=UTC), payload)
    assert entry_words(SITE, entry) == said


def test_every_kind_is_said():
    assert {type(one) for one, _ in SAID if one is not None} == set(k.PAYLOADS)
