"""Two light chips: their conversions, and what is sent to them and read from them."""

from __future__ import annotations

import pytest

from controller.ports import PortFault
from drivers import bh1750, veml7700
from drivers.bh1750 import Bh1750, Mode
from drivers.veml7700 import Veml7700


class ImaginedChip:
    """Answers as a chip would; ``words`` and ``raw`` are what it gives."""

    def __init__(self, raw: bytes = b"", word: int = 0) -> None:
        self.raw = raw
        self.read_word = word
        self.sent: list[object] = []
        self.gone = False
        self.closed = False

    def open(self, bus: int, address: int) -> ImaginedChip:
        self.sent.append((bus, address))
        return self

    def _here(self) -> None:
        if self.gone:
            raise PortFault("no chip answers")

    def command(self, byte: int) -> None:
        self._here()
        self.sent.append(byte)

    def put_word(self, register: int, word: int) -> None:
        self._here()
        self.sent.append((register, word))

    def word(self, register: int) -> int:
        self._here()
        self.sent.append(register)
        return self.read_word

    def bytes(self, count: int) -> bytes:
        self._here()
        return self.raw[:count]

    def close(self) -> None:
        self.closed = True


def test_bh1750_as_its_sheet_has_it() -> None:
    """Counts of 0x8390 are 28,067 lx, as in the sheet's example (from memory of it)."""
    assert bh1750.lux(0x8390) == pytest.approx(28067, abs=1)
    assert bh1750.lux(0x8390, Mode.FINE) == pytest.approx(28067 / 2, abs=1)


def test_bh1750_measurement_time_as_its_sheet_has_it() -> None:
    """For half the sensitivity lost behind a window, 138 is sent as 0x44 and 0x6A (from memory)."""
    assert bh1750.time_commands(138) == (0b01000_100, 0b011_01010)
    assert bh1750.lux(1000, register=138) == pytest.approx(bh1750.lux(500))


def test_bh1750_is_told_and_read() -> None:
    """It is woken, told its time and mode, and its two bytes are lux, the high one first."""
    chip = ImaginedChip(raw=b"\x83\x90")
    sensor = Bh1750.open(0x23, {"mode": "quick"}, chip.open)
    assert chip.sent == [(1, 0x23), 0x01, 0x42, 0x65, 0x13]
    reading = sensor.read()
    assert reading.value == pytest.approx(28067, abs=1)
    assert reading.over_ns == pytest.approx(16e6, rel=0.01)
    assert not reading.saturated
    chip.raw = b"\xff\xff"
    assert sensor.read().saturated


def test_a_chip_that_lost_its_power_is_told_again() -> None:
    """After an answer that did not come the chip is set up anew, since it has forgotten."""
    chip = ImaginedChip(raw=b"\x00\x78")
    sensor = Bh1750.open("0x5c", {"mode": "quick", "bus": 3}, chip.open)
    chip.gone = True
    with pytest.raises(PortFault):
        sensor.read()
    chip.gone = False
    before = len(chip.sent)
    assert sensor.read().value == pytest.approx(100)
    assert chip.sent[before:] == [0x01, 0x42, 0x65, 0x13]


def test_veml7700_resolutions_as_its_sheet_has_them() -> None:
    """Every gain and time has the resolution of the sheet's table (from memory of it)."""
    sheet = {
        ("2", 800): 0.0042,
        ("1", 800): 0.0084,
        ("1/4", 800): 0.0336,
        ("1/8", 800): 0.0672,
        ("2", 100): 0.0336,
        ("1", 100): 0.0672,
        ("1", 25): 0.2688,
        ("1/8", 25): 2.1504,
    }
    found = {key: veml7700.lux_per_count(*key) for key in sheet}
    assert found == pytest.approx(sheet)


def test_veml7700_is_told_and_read() -> None:
    """Gain and time go to register 0, and the light comes from register 4."""
    chip = ImaginedChip(word=1000)
    sensor = Veml7700.open(0x10, {"gain": "1/8", "integration_ms": 25}, chip.open)
    assert chip.sent == [(1, 0x10), (0, 0b10_0_1100_00_0000)]
    assert sensor.read().value == pytest.approx(2150.4)
    assert chip.sent[-1] == 4
    chip.read_word = 0xFFFF
    assert sensor.read().saturated


@pytest.mark.parametrize(
    ("address", "options", "said"),
    [
        (0x23, {"mode": "slow"}, "mode = 'slow' is not known"),
        (0x23, {"gain": 1}, "has no option 'gain'"),
        (3, {}, "3 is no address"),
        ("lamp", {}, "'lamp' is no address"),
        (0x23, {"bus": 1.5}, "a whole number"),
    ],
)
def test_what_a_chip_cannot_be_is_refused(
    address: int | str, options: dict[str, object], said: str
) -> None:
    """Address, bus and options that cannot be right are refused in one sentence."""
    with pytest.raises(PortFault, match=said):
        Bh1750.open(address, options, ImaginedChip().open)
    with pytest.raises(PortFault, match="25, 50, 100"):
        Veml7700.open(0x10, {"integration_ms": 30}, ImaginedChip().open)


def test_a_bus_that_is_not_there() -> None:
    """A bus without a device file is refused with how to switch it on."""
    with pytest.raises(PortFault, match="there is no I2C bus 97"):
        Bh1750.open(0x23, {"bus": 97})


def test_a_chip_that_does_not_answer_lets_go_of_the_bus() -> None:
    """Where no chip answers when it is opened the bus is closed again."""
    chip = ImaginedChip()
    chip.gone = True
    with pytest.raises(PortFault):
        Veml7700.open(0x10, {}, chip.open)
    assert chip.closed
