"""The words of Modbus RTU against its specifications and against another implementation."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pymodbus.framer import FramerRTU
from pymodbus.pdu import DecodePDU
from pymodbus.pdu.bit_message import (
    ReadCoilsRequest,
    ReadCoilsResponse,
    WriteMultipleCoilsRequest,
    WriteSingleCoilRequest,
)

from drivers.modbus_words import (
    Coils,
    Done,
    Refused,
    clear_coils,
    crc16,
    find_answer,
    framed,
    read_coils,
    write_coil,
)

FRAMER = FramerRTU(DecodePDU(False))
UNITS = st.integers(1, 247)
COILS = st.integers(0, 0xFFFF)


@pytest.mark.parametrize(
    ("data", "crc"),
    [
        # "MODBUS over serial line V1.02", 6.2.2, the worked example (from memory of it)
        (bytes.fromhex("0207"), 0x1241),
        # the check value of CRC-16/MODBUS in catalogues of checksums (from memory of them)
        (b"123456789", 0x4B37),
    ],
)
def test_published_checksums(data: bytes, crc: int) -> None:
    """The checksum is the published one, and goes out low byte first."""
    assert crc16(data) == crc
    assert framed(data) == data + bytes([crc & 0xFF, crc >> 8])


def test_published_commands() -> None:
    """Commands and answers are those of the examples in the application protocol.

    "MODBUS Application Protocol Specification V1.1b3", 6.1, 6.5 and 6.11 (from memory of it).
    """
    read = read_coils(1, 0x13, 0x13)
    assert read.frame[1:-2] == bytes.fromhex("0100130013")
    answer = find_answer(framed(bytes.fromhex("010103CD6B05")), read)
    on = "11001101 01101011 00000101"  # outputs 27-20, 35-28, 38-36, highest first
    bits = "".join(byte[::-1] for byte in on.split())
    assert answer == Coils(frozenset(0x13 + i for i, bit in enumerate(bits) if bit == "1"))
    write = write_coil(1, 0xAC, on=True)
    assert write.frame[1:-2] == bytes.fromhex("0500ACFF00")
    assert find_answer(write.frame, write) == Done()
    clear = clear_coils(1, 0x13, 10)
    assert clear.frame[1:-2] == bytes.fromhex("0F0013000A020000")
    assert find_answer(framed(bytes.fromhex("010F0013000A")), clear) == Done()
    assert find_answer(framed(bytes.fromhex("018102")), read) == Refused(2)


@given(st.binary(max_size=64))
def test_checksums_agree(data: bytes) -> None:
    """Both implementations give every frame the same checksum."""
    assert framed(data)[-2:] == FramerRTU.compute_CRC(data).to_bytes(2, "big")


@given(UNITS, COILS, st.integers(1, 64), st.booleans())
def test_commands_agree(unit: int, coil: int, count: int, on: bool) -> None:
    """Both implementations write the same commands."""
    count = min(count, 0x10000 - coil)
    one = WriteSingleCoilRequest(address=coil, bits=[on], dev_id=unit)
    assert write_coil(unit, coil, on=on).frame == FRAMER.buildFrame(one)
    several = WriteMultipleCoilsRequest(address=coil, bits=[False] * count, dev_id=unit)
    assert clear_coils(unit, coil, count).frame == FRAMER.buildFrame(several)
    read = ReadCoilsRequest(address=coil, count=count, dev_id=unit)
    assert read_coils(unit, coil, count).frame == FRAMER.buildFrame(read)


@given(UNITS, st.integers(0, 1000), st.lists(st.booleans(), min_size=1, max_size=40), st.data())
def test_answers_agree(unit: int, first: int, bits: list[bool], data: st.DataObject) -> None:
    """Coils that the other implementation tells are read, between whatever noise."""
    asked = read_coils(unit, first, len(bits))
    answer = FRAMER.buildFrame(ReadCoilsResponse(bits=list(bits), dev_id=unit))
    noise = bytes(each for each in data.draw(st.binary(max_size=9)) if each != unit)
    heard = noise + answer + data.draw(st.binary(max_size=4))
    on = frozenset(first + i for i, bit in enumerate(bits) if bit)
    assert find_answer(heard, asked) == Coils(on)
    for end in range(len(answer)):
        assert find_answer(answer[:end], asked) is None


@settings(max_examples=10, deadline=None)
@given(UNITS, st.integers(0, 1000), st.lists(st.booleans(), min_size=1, max_size=16))
def test_damage_is_seen(unit: int, first: int, bits: list[bool]) -> None:
    """An answer of which one or two bits are wrong is never a reading."""
    asked = read_coils(unit, first, len(bits))
    good = FRAMER.buildFrame(ReadCoilsResponse(bits=list(bits), dev_id=unit))
    places = range(8 * len(good))
    for one in places:
        for other in places:
            flipped = int.from_bytes(good, "big") ^ 1 << one ^ (1 << other if other != one else 0)
            heard = flipped.to_bytes(len(good), "big")
            assert not isinstance(find_answer(heard, asked), Coils)


def test_an_echo_is_no_reading() -> None:
    """A command to read that an adapter gives back is not taken for its answer."""
    for count in (1, 8, 9, 64):
        asked = read_coils(1, 0, count)
        assert find_answer(asked.frame, asked) is None
