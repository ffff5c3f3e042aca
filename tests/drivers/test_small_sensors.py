"""A bare light sensor, a thermometer, and the thread that asks a sensor."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from controller.ports import PortFault, Quantity, Reading
from drivers.light_pin import LightPin
from drivers.one_wire import OneWire, celsius
from drivers.pins_mock import HeldFactory, mock_factory
from drivers.sensing import Sensing

MOCK = {"library": "mock"}
NUMBER = "28-0316a2795bff"
GOOD = "72 01 4b 46 7f ff 0e 10 57 : crc=57 YES\n72 01 4b 46 7f ff 0e 10 57 t=23125\n"


@pytest.fixture
def board() -> Iterator[HeldFactory]:
    factory = mock_factory()
    factory.reset()
    yield factory
    factory.reset()


def test_a_switch_tells_light(board: HeldFactory) -> None:
    """The line's level means light or none, as the rig file says, and the pull-up is on."""
    sensor = LightPin.open(20, MOCK)
    pin = board.pin(20)
    pin.drive_low()
    assert sensor.read().value == 1.0
    pin.drive_high()
    reading = sensor.read()
    assert (reading.quantity, reading.value) == (Quantity.LIGHT, 0.0)
    assert pin.pull == "up"
    sensor.close()
    other = LightPin.open("GPIO20", MOCK | {"lit_level": "high"})
    board.pin(20).drive_high()
    assert other.read().value == 1.0
    other.close()


def test_a_capacitor_is_timed(board: HeldFactory) -> None:
    """A capacitor that charges soon enough is light, and one that does not is dark."""
    pin = board.pin(21)
    bright = threading.Event()
    put = type(pin)._set_function

    class Charging(type(pin)):  # type: ignore[misc]
        """A mock pin whose level rises as soon as it is an input, where there is light."""

        def _set_function(self, value: str) -> None:
            put(self, value)
            if value == "input" and bright.is_set():
                self.drive_high()

        function = property(type(pin)._get_function, _set_function)

    pin.__class__ = Charging
    sensor = LightPin.open(21, MOCK | {"kind": "capacitor", "charge_s": 0.5})
    try:
        assert sensor.read().value == 0.0
        bright.set()
        end_s = time.monotonic() + 5
        while sensor.read().value != 1.0:
            assert time.monotonic() < end_s
            time.sleep(0.02)
    finally:
        sensor.close()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"kind": "eye"}, "kind = 'eye' is not known"),
        ({"lit_level": "on"}, "lit_level = 'on'"),
        ({"charge_s": 1}, "no option 'charge_s'"),
        ({"kind": "capacitor", "threshold": 2}, "from 0 to 1"),
    ],
)
def test_a_light_pin_that_is_wrong(
    board: HeldFactory, options: dict[str, object], said: str
) -> None:
    """What a bare sensor cannot be is refused in one sentence, and the line is left free."""
    with pytest.raises(PortFault, match=said):
        LightPin.open(20, MOCK | options)
    LightPin.open(20, MOCK).close()


def test_a_thermometer_is_read(tmp_path: Path) -> None:
    """The kernel's lines, or its plain number, are degrees Celsius."""
    folder = tmp_path / NUMBER
    folder.mkdir()
    (folder / "w1_slave").write_text(GOOD)
    sensor = OneWire.open(NUMBER, {"root": str(tmp_path)})
    assert sensor.read().value == pytest.approx(23.125)
    assert sensor.read().quantity.unit == "°C"
    (folder / "w1_slave").unlink()
    (folder / "temperature").write_text("-1250\n")
    assert sensor.read().value == pytest.approx(-1.25)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (GOOD.replace("YES", "NO"), "check sum"),
        (GOOD.replace("23125", "85000"), "85 °C"),
        (GOOD.replace("23125", "127937"), "cannot measure"),
        ("85000", "85 °C"),
        ("", "check sum"),
        (GOOD.split("\n")[0], "no temperature"),
    ],
)
def test_what_looks_like_a_temperature(text: str, said: str) -> None:
    """A wrong check sum, the power-on value and what cannot be measured are told for what they are.

    None of them is given as a temperature.
    """
    with pytest.raises(ValueError, match=said):
        celsius(text)


def test_a_thermometer_that_is_not_there(tmp_path: Path) -> None:
    """A number that is none, or that does not answer, is refused with those that do."""
    with pytest.raises(PortFault, match="none answers"):
        OneWire.open("28-000000000000", {"root": str(tmp_path)})
    (tmp_path / NUMBER).mkdir()
    with pytest.raises(PortFault, match=f"those that answer: {NUMBER}"):
        OneWire.open("tray", {"root": str(tmp_path)})


class Faulty:
    """A sensor that fails twice, and then reads."""

    def __init__(self) -> None:
        self.asked = 0
        self.closed = False

    def read(self) -> Reading:
        self.asked += 1
        if self.asked <= 2:
            raise PortFault("it is unplugged")
        return Reading(Quantity.ILLUMINANCE, float(self.asked), time.monotonic_ns())

    def close(self) -> None:
        self.closed = True


def test_a_sensor_is_asked_by_a_thread() -> None:
    """It is asked only while it is on, a fault is told once, and readings come when it heals."""
    sensor = Faulty()
    woken = threading.Event()
    sensing = Sensing(sensor, 0.01, woken.set)
    try:
        assert not woken.wait(0.05)
        sensing.turn(on=True)
        got: list[Reading] = []
        end_s = time.monotonic() + 30
        while len(got) < 3:
            assert time.monotonic() < end_s
            woken.wait(1.0)
            got += sensing.readings()
        assert [reading.value for reading in got[:3]] == [3.0, 4.0, 5.0]
        assert sensing.faults() == ["it is unplugged"]
    finally:
        sensing.close()
    assert sensor.closed
