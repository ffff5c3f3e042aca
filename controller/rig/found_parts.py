"""What may belong to a rig and was found on this machine. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum


@dataclass(frozen=True, slots=True)
class Chip:
    """A GPIO chip; ``busy`` has who holds a line. ``why``: it could not be looked at."""

    name: str
    label: str
    lines: int
    busy: Mapping[int, str] = field(default_factory=dict)
    why: str = ""


class Answer(Enum):
    """What answered at a serial port."""

    NOT_ASKED = "not asked"
    MODBUS = "a Modbus board"
    RELAY_UNIT = "a relay unit"
    NOTHING = "nothing that is known here answers"
    FAULT = "it could not be asked"


@dataclass(frozen=True, slots=True)
class SerialPortFound:
    """A serial port, and what answered; ``told`` says more, ``options`` is its ``[board]``."""

    path: str
    answer: Answer = Answer.NOT_ASKED
    told: str = ""
    options: Mapping[str, str | int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class LightChip:
    """A light chip on an I2C bus; ``sure``: its identity register said so."""

    bus: int
    address: int
    driver: str
    sure: bool


@dataclass(frozen=True, slots=True)
class FoundParts:
    """All of it."""

    chips: tuple[Chip, ...] = ()
    ports: tuple[SerialPortFound, ...] = ()
    pedals: tuple[str, ...] = ()
    buses: tuple[int, ...] = ()
    light_chips: tuple[LightChip, ...] = ()
    thermometers: tuple[str, ...] = ()
    cards: tuple[str, ...] = ()
    speech: str = ""
    backlights: Mapping[str, bool] = field(default_factory=dict)
    watchdogs: tuple[str, ...] = ()
