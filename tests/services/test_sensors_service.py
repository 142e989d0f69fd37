"""Looking after devices: adding, files of loggers, decisions, from the outside."""

from datetime import UTC, datetime, timedelta

import pytest

from slowfire import records as r
from slowfire.errors import InvalidInput, JournalError, UnknownName
from slowfire.journal.store import open_store
from slowfire.services import sensors as service

BIN = r.Bin("Box", "box", inside_width_cm=50, inside_depth_cm=50, inside_height_cm=90)
SITE = r.Site("Yard", "Europe/Vienna", (BIN,), (r.Thermometer("core", "probe", depth_cm=30),))
START = datetime(2026, 3, 2, tzinfo=UTC)
NOW = START + timedelta(days=1, hours=1)


@pytest.fixture
def data(tmp_path):
    with open_store(tmp_path / "data") as store:
        store.set_site(SITE)
    return tmp_path / "data"


def file(folder, name="log.csv", unit="C", hours=24, offset=0.0):
    lines = [f"when;core {unit};lid {unit}"]
    for k in range(hours * 4):
        when = START + timedelta(minutes=15 * k, hours=1)  # the clock of Vienna in winter
        shown = f"{40.0 + 0.05 * k + offset:.2f}".replace(".", ",")
        lines.append(f"{when:%d.%m.%Y %H:%M};{shown};12,5")
    path = folder / name
    path.write_text("\n".join(lines), encoding="utf-8")
    return path


def entries(data):
    with open_store(data) as store:
        return r.effective_entries(store.entries())


def test_a_logger_from_its_file_to_the_journal(data, tmp_path):
    path = file(tmp_path)
    done = service.take_in(data, path, "grey logger", now=NOW)
    assert (done.values, done.new, done.left_out, done.readings) == (192, 192, 0, 0)
    words = "\n".join(done.words)
    for one in ("semicolon", "day-first", "core", "feeds no thermometer yet"):
        assert one in words
    told = service.add(
        data, "grey logger", channel="core", bin_name="box", thermometer="core", depth="25 cm",
        now=NOW,
    )  # fmt: skip
    assert "8 readings" in told
    written = entries(data)
    assert len(written) == 8
    assert written[0].payload.position.distance.metres == 0.25
    assert written[0].payload.temperature.temperature_celsius == pytest.approx(40.2, abs=0.15)
    again = service.take_in(data, path, "grey logger", now=NOW)
    assert (again.new, again.known, again.readings) == (0, 192, 0)
    assert "as the files of grey logger were before" in again.words[0]
    assert len(entries(data)) == 8


def test_a_file_with_a_mistake_takes_nothing_in(data, tmp_path):
    path = file(tmp_path)
    path.write_text(path.read_text("utf-8") + "\n3.3.2026 10:00;hot;1", encoding="utf-8")
    with pytest.raises(JournalError, match=r"log.csv, line 98, column 2 \(core\)"):
        service.take_in(data, path, "grey logger", now=NOW)
    assert service.sensors(data).devices == ()


def test_what_is_there_in_words(data, tmp_path):
    service.take_in(data, file(tmp_path), "grey logger", now=NOW)
    service.token(data, "north")
    found = service.sensors(data, NOW + timedelta(hours=5))
    assert [(one.name, one.kind, one.has_token) for one in found.devices] == [
        ("grey logger", "logger", False), ("north", "push", True),
    ]  # fmt: skip
    core = found.devices[0].probes[0]
    assert core.last_words == "44.8 °C, 2026-03-03 00:45"
    assert core.gaps == ("silent from 2026-03-03 00:45 to now",)


def test_decisions_are_shown_and_turned_round(data, tmp_path):
    path = file(tmp_path)
    lines = path.read_text("utf-8").splitlines()
    lines[30] = lines[30].split(";")[0] + ";75,5;12,5"
    path.write_text("\n".join(lines), encoding="utf-8")
    done = service.take_in(data, path, "grey logger", now=NOW)
    assert done.left_out == 1
    (decision,) = service.sensors(data).decisions
    assert decision.reason == "spike"
    assert "1 value, spike" in decision.words
    assert "count now" in service.overrule(data, decision.number, NOW)
    assert service.sensors(data).decisions[0].overruled
    assert "left out again" in service.overrule(data, decision.number, NOW)


def test_leaving_out_a_stretch(data, tmp_path):
    service.take_in(data, file(tmp_path), "grey logger", now=NOW)
    service.add(data, "grey logger", channel="core", thermometer="core", now=NOW)
    told = service.leave_out(
        data, "grey logger", "2026-03-02 01:00", "2026-03-02 06:59", "core", NOW
    )
    assert "2 taken back" in told
    assert len(entries(data)) == 6
    with pytest.raises(InvalidInput, match="earlier time first"):
        service.leave_out(data, "grey logger", "2026-03-03", "2026-03-02")


@pytest.mark.parametrize(
    "wrong",
    [
        {"bin_name": "Other", "thermometer": "core"},
        {"thermometer": "other"},
        {"bin_name": "Box"},
        {"depth": "30 cm"},
        {"thermometer": "core", "depth": "30"},
        {"thermometer": "core", "depth": "30 cm", "height": "30 cm"},
        {"thermometer": "core", "depth": "9 m"},
        {"thermometer": "core", "spot": "somewhere"},
        {"thermometer": "core", "unit": "V"},
        {"thermometer": "core", "since": "soon"},
        {"kind": "radio"},
    ],
)
def test_what_cannot_be_added_is_told(data, wrong):
    with pytest.raises((InvalidInput, UnknownName)):
        service.add(data, "north", **wrong)


def test_without_a_journal_it_says_so(tmp_path):
    with pytest.raises(JournalError, match="no journal"):
        service.sensors(tmp_path)
