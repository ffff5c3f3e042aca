"""The checksum of the relay unit's lines against published values."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from drivers import relay_words
from drivers.firmware import core

BOTH_ENDS = [core.crc16, relay_words.crc16]

# CRC-16/IBM-3740 (also called CRC-16/CCITT-FALSE): polynomial 0x1021, start 0xFFFF, nothing
# reflected. "Check" is the value of the digits 1 to 9 in ASCII in the public catalogues of
# checksums; from memory of them, as is the value of nothing at all, which is the start value.
PUBLISHED = [(b"123456789", 0x29B1), (b"", 0xFFFF)]


@pytest.mark.parametrize("crc16", BOTH_ENDS)
@pytest.mark.parametrize(("data", "value"), PUBLISHED)
def test_published_values(crc16: Callable[[bytes], int], data: bytes, value: int) -> None:
    """Unit and host make the catalogue's CRC-16/IBM-3740 of its check string, and of nothing."""
    assert crc16(data) == value


@pytest.mark.parametrize("crc16", BOTH_ENDS)
def test_by_its_definition(crc16: Callable[[bytes], int]) -> None:
    """Both agree with the plain definition, a division bit by bit, over every byte."""
    for data in (bytes(range(256)), bytes(256), b"\xff" * 7):
        crc = 0xFFFF
        for byte in data:
            crc ^= byte << 8
            for _ in range(8):
                crc = (crc << 1 ^ (0x1021 if crc & 0x8000 else 0)) & 0xFFFF
        assert crc16(data) == crc
