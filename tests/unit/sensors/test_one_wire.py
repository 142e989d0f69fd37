"""The one-wire bus as the kernel shows it: checksums, the power-on value, missing files.

Lines of `w1_slave` are written as in the kernel's documentation of w1_therm, from memory: nine
bytes, then their checksum and YES or NO, then the bytes again and t= thousandths of a degree.
"""

from datetime import UTC, datetime

import pytest

from slowfire.sensors.one_wire import read_bus, read_slave

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
NAME = "28-0123456789ab"


def slave(thousandths, answer="YES"):
    bytes_ = "72 01 4b 46 7f ff 0e 10 57"
    return f"{bytes_} : crc=57 {answer}\n{bytes_} t={thousandths}\n"


def bus(folder, **files):
    for name, content in files.items():
        place = folder / (NAME if name != "other" else "28-00000000000f")
        place.mkdir(exist_ok=True)
        (place / ("w1_slave" if name in ("w1_slave", "other") else name)).write_text(content)
    return read_bus(folder, lambda: NOW)


@pytest.mark.parametrize(("thousandths", "celsius"), [(23125, 23.125), (-1062, -1.062), (0, 0.0)])
def test_a_temperature(tmp_path, thousandths, celsius):
    found = bus(tmp_path, w1_slave=slave(thousandths))
    (one,) = found.measurements
    assert (one.device, one.channel, one.si, one.when) == (NAME, "1", celsius, NOW)
    assert not found.problems


def test_a_wrong_checksum_is_left_out(tmp_path):
    found = bus(tmp_path, w1_slave=slave(23125, "NO"), other=slave(21000))
    assert [one.si for one in found.measurements] == [21.0]
    assert "checksum" in found.problems[0]


def test_a_wrong_checksum_is_not_circumvented_by_the_other_file(tmp_path):
    found = bus(tmp_path, w1_slave=slave(23125, "NO"), temperature="23125\n")
    assert not found.measurements


@pytest.mark.parametrize("file", ["w1_slave", "temperature"])
def test_the_power_on_value_is_left_out(tmp_path, file):
    text = slave(85000) if file == "w1_slave" else "85000\n"
    found = bus(tmp_path, **{file: text})
    assert not found.measurements
    assert "85" in found.problems[0]


def test_nearly_the_power_on_value_is_a_value():
    assert read_slave(slave(84937)) == (84937, "")


def test_the_temperature_file_alone(tmp_path):
    assert bus(tmp_path, temperature="23125\n").measurements[0].si == 23.125


@pytest.mark.parametrize("text", ["", "\n", "warm", "t=5", slave("x"), "YES", "57 YES\n57 t="])
def test_what_is_no_temperature(tmp_path, text):
    found = bus(tmp_path, w1_slave=text)
    assert not found.measurements
    assert len(found.problems) == 1


def test_a_thermometer_that_does_not_answer(tmp_path):
    (tmp_path / NAME).mkdir()
    assert "does not answer" in read_bus(tmp_path).problems[0]


def test_no_bus_at_all(tmp_path):
    assert "not there" in read_bus(tmp_path / "none").problems[0]
    assert "no thermometer" in read_bus(tmp_path).problems[0]


def test_other_devices_of_the_bus_are_left_alone(tmp_path):
    for name in ("w1_bus_master1", "10-0123456789ab", "28-short"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "w1_slave").write_text(slave(1000))
    assert not read_bus(tmp_path).measurements
