"""The engine and a sensor that sees the lamp: the light ends where the sensor says."""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from controller.events import Fate
from controller.keeper import Cause
from controller.plan import Expose, Go, Plan, Sheet
from controller.ports import PortFault, Reading
from controller.rig.file import load_rig
from drivers import counters_file, found
from drivers.engine_senses import Senses
from drivers.engine_words import Leave
from sim.sensor import ImaginedSensor
from tests.drivers.unit_on_bench import QUICK, Bench, is_alive, unit

BY_SENSOR = "integration.ends_exposures=true"
# a lamp at its full light is to this sensor one at five sixths
WEAK = ("integration.full_light=480",)


def write(wire: Path, at_ns: int, lit: bool) -> None:
    with wire.open("a") as file:
        file.write(f"{at_ns} lamp {int(lit)} {int(lit)}\n")


def test_the_imagined_sensor_sees_what_the_board_does(tmp_path: Path) -> None:
    """It reads dark before the wire says that the lamp is lit, and the lamp's light after."""
    wire = tmp_path / "wire"
    options = {"wire": str(wire), "room": {"lamp": "led"}, "full_lux": 300.0, "noise": 0.0}
    sensor = ImaginedSensor.open("lamp", options)
    assert sensor.read().value == 0.0
    write(wire, time.monotonic_ns(), True)
    end_s = time.monotonic() + 30
    while sensor.read().value < 299.9:
        assert time.monotonic() < end_s
    write(wire, time.monotonic_ns(), False)
    while sensor.read().value > 0.1:
        assert time.monotonic() < end_s
    sensor.close()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({}, "option wire"),
        ({"wire": "w", "noise": 2}, "noise"),
        ({"wire": "w", "a": 1}, "full_lux"),
    ],
)
def test_an_imagined_sensor_that_is_wrong(options: dict[str, object], said: str) -> None:
    """An option that is not right is refused in one sentence."""
    with pytest.raises(PortFault, match=said):
        ImaginedSensor.open("lamp", options)


class Counting:
    """A driver whose sensor counts how often it was asked."""

    asked = 0

    def open(self, address: object, options: object) -> Counting:
        return self

    def read(self) -> Reading:
        self.asked += 1
        raise PortFault("it is out of order")

    def close(self) -> None:
        """Nothing is held."""


def test_the_sensor_is_asked_only_while_the_lamp_is_lit(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing is read before the first pulse; what is wrong with the sensor is told once."""
    driver = Counting()
    monkeypatch.setattr(found, "find_sensor", lambda name: driver)
    senses = Senses(load_rig("led", (BY_SENSOR,)), tmp_path, lambda: None)
    try:
        time.sleep(0.1)
        assert driver.asked == 0
        senses.lit(lit=True)
        notices: list[str] = []
        end_s = time.monotonic() + 30
        while driver.asked < 2:
            assert time.monotonic() < end_s
            notices += senses.notices()
            time.sleep(0.01)
        assert notices == ["it is out of order"]
    finally:
        senses.close()


def test_a_sensor_that_is_not_there_leaves_it_to_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sensor that cannot be opened is told, and the runner is not promised one."""

    def find(name: str) -> object:
        raise PortFault("there is none")

    monkeypatch.setattr(found, "find_sensor", find)
    senses = Senses(load_rig("led", (BY_SENSOR,)), tmp_path, lambda: None)
    assert senses.seen is None
    assert senses.notice == "exposures end by time: sensor 'house': there is none"
    senses.close()


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with unit(tmp_path, (*QUICK, BY_SENSOR, *WEAK)) as made:
        yield made


@pytest.mark.real
@pytest.mark.skipif(
    "sim" not in found.names(found.SENSORS), reason="the installed package has no sensors yet"
)
def test_an_engine_ends_the_light_by_its_sensor(bench: Bench) -> None:
    """A lamp at five sixths of its light burns six fifths of its time, and the book says why."""
    plan = Plan("strip", "a strip", (Sheet(203, 25), Go("A", lead_in_s=0.1), Expose("A", 2.0)))
    bench.start(plan)
    bench.until(lambda: bench.ended is not None)
    assert bench.ended
    assert bench.ended.fate is Fate.DONE
    edges = bench.lamp()
    on_s = (edges[1][0] - edges[0][0]) / 1e9
    assert on_s > 2.36  # by time alone it would be 2.06; a busy machine may be late, never early
    bench.close()  # the last rows are written when the engine has ended
    with bench.book() as book:
        page = book.record("r1")
    assert page
    [exposure] = page.exposures
    assert exposure.pulses[0].cause is Cause.INTEGRAL
    assert exposure.delivered_dose_s
    assert exposure.delivered_dose_s / on_s == pytest.approx(2.0 / 2.46, abs=0.03)


@pytest.mark.real
def test_an_engine_counts_what_its_outputs_do(tmp_path: Path) -> None:
    """Lamp and safelight are counted as they were lit, and the file has it when the unit ended."""
    with unit(tmp_path) as made:
        actions = (
            Sheet(203, 25),
            Go("A", lead_in_s=0.1),
            Expose("A", 0.5),
            Go("B"),
            Expose("B", 0.4),
        )
        made.start(Plan("strip", "a strip", actions))
        made.until(lambda: made.ended is not None)
        engine = made.engine_pid
        made.client.send(Leave())
        end_s = time.monotonic() + 30
        while is_alive(engine):  # the file is whole when it has ended, not when it says good-bye
            assert time.monotonic() < end_s
            made.client.receive(0.02)
        counts = counters_file.read(tmp_path, made.rig.name)
    edges = made.lamp()
    on_s = [(off - on) / 1e9 for (on, _), (off, _) in zip(edges[::2], edges[1::2], strict=True)]
    assert counts["lamp"].operations == 2
    assert counts["lamp"].on_s == pytest.approx(sum(on_s), abs=0.001)
    assert counts["lamp"].longest_s == pytest.approx(max(on_s), abs=0.001)
    assert counts["ceiling"].on_s > sum(on_s)
