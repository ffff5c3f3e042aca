"""A meter that sends lines: whatever it sends, a reading is right or is not given."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from controller.ports import PortFault, Quantity, Reading, Sensor
from drivers.meter_lines import Lines, Meaning
from drivers.serial_meter import SerialMeter


def meaning(**options: object) -> Meaning:
    return Meaning.of(options)


@pytest.mark.parametrize(
    ("options", "line", "value"),
    [
        ({}, "12.5", 12.5),
        ({}, "E 0,35 lx", 0.35),
        ({"factor": 2.0, "offset": 1.0}, "3", 7.0),
        ({"pattern": r"(?P<value>[0-9.]+) *(?P<unit>k?lx|fc)"}, "1.5 klx", 1500.0),
        ({"pattern": r"(?P<value>[0-9.]+) *(?P<unit>k?lx|fc)"}, "2 fc", 21.53),
        ({"pattern": r"(?P<value>[0-9.]+) *(?P<unit>\w+)"}, "2 mV", None),
        ({"pattern": r"D=(?P<value>[0-9.]+)", "unit": "density"}, "D=1.42", 1.42),
        ({"pattern": r"D=(?P<value>[0-9.]+)", "unit": "density"}, "OVER", None),
        ({"pattern": r"(?P<value>\S+)"}, "nan", None),
        ({"pattern": r"(?P<value>\S+)"}, "--.--", None),
    ],
)
def test_a_line_is_read_as_it_is_described(
    options: dict[str, object], line: str, value: float | None
) -> None:
    """Number, unit, factor and offset give lux or density, and anything else gives nothing."""
    assert meaning(**options).value_of(line) == (value and pytest.approx(value, rel=1e-3))


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"pattern": "("}, "is no regular expression"),
        ({"pattern": r"\d+"}, "name its group"),
        ({"pattern": 3}, "is no regular expression"),
        ({"unit": "luxx"}, "right would be 'lux'"),
        ({"factor": 0}, "makes every reading the same"),
        ({"factor": "2"}, "write a number"),
    ],
)
def test_a_description_that_cannot_work_is_refused(options: dict[str, object], said: str) -> None:
    """A pattern, unit or factor that is wrong is refused with what would be right."""
    with pytest.raises(PortFault, match=said):
        meaning(**options)


def test_lines_arrive_in_any_pieces() -> None:
    """The first half line is thrown away, as is one without an end; the rest is cut at its ends."""
    lines = Lines()
    assert lines.feed(b"2.5\r\n1") == []
    assert lines.feed(b"3.5\r") == ["13.5"]
    assert lines.feed(b"\n" + b"9" * 400) == []
    assert lines.feed(b"9\n7\n") == ["7"]
    assert lines.feed(b"\xff\xfe8\n") == ["\ufffd\ufffd8"]


def test_the_first_line_after_silence_counts() -> None:
    """A densitometer that sends when it is pressed loses no first patch; half a line stays lost."""
    lines = Lines()
    lines.silent()
    assert lines.feed(b"0.0") == []
    assert lines.feed(b"6\r\n") == ["0.06"]
    late = Lines()
    assert late.feed(b"2.") == []
    late.silent()
    assert late.feed(b"06\n0.31\n") == ["0.31"]


class Wire:
    """A port that can be pulled out: a link, as under by-id, to a pseudo terminal."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.ends: list[int] = []

    def plug(self) -> None:
        self.ends = list(os.openpty())
        self.path.symlink_to(os.ttyname(self.ends[1]))

    def send(self, data: bytes) -> None:
        os.write(self.ends[0], data)

    def unplug(self) -> None:
        self.path.unlink(missing_ok=True)
        for end in self.ends:
            os.close(end)
        self.ends = []


@pytest.fixture
def wire(tmp_path: Path) -> Iterator[Wire]:
    plugged = Wire(tmp_path / "usb-meter-port0")
    plugged.plug()
    yield plugged
    plugged.unplug()


def until(meter: Sensor, send: Callable[[], None], wanted: Callable[[object], bool]) -> object:
    end_s = time.monotonic() + 30
    got: object = None
    while time.monotonic() < end_s:
        send()
        try:
            got = meter.read()
        except PortFault as fault:
            got = str(fault)
        if wanted(got):
            return got
    raise AssertionError(got)


def test_a_meter_is_heard_and_heals(wire: Wire) -> None:
    """Readings come, an unplugged meter is said to be so, and is heard again when it is back."""
    meter = SerialMeter.open(str(wire.path), {"unit": "density", "stale_s": 0.2})
    try:

        def is_(value: float) -> Callable[[object], bool]:
            return lambda got: isinstance(got, Reading) and got.value == value

        got = until(meter, lambda: wire.send(b"\n0.45\n"), is_(0.45))
        assert isinstance(got, Reading)
        assert got.quantity is Quantity.DENSITY
        until(meter, lambda: None, lambda got: "has sent nothing" in str(got))
        until(meter, lambda: wire.send(b"\nready\n"), lambda got: "sends 'ready'" in str(got))
        wire.unplug()
        until(meter, lambda: None, lambda got: "was unplugged" in str(got))
        wire.plug()
        until(meter, lambda: wire.send(b"\n0.50\n"), is_(0.5))
    finally:
        meter.close()


def test_a_port_that_is_not_there(tmp_path: Path) -> None:
    """A port that is no path, or not there, is refused with how to write one."""
    with pytest.raises(PortFault, match="there is no port"):
        SerialMeter.open(str(tmp_path / "nothing"), {})
    with pytest.raises(PortFault, match="4 is no port"):
        SerialMeter.open(4, {})
    with pytest.raises(PortFault, match="did you mean 'baud'"):
        SerialMeter.open(str(tmp_path / "nothing"), {"bauds": 9600})
