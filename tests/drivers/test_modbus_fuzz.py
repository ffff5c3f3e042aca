"""Ten thousand commands over a bad line: what is told is always so, and a clean line heals."""

from __future__ import annotations

from dataclasses import dataclass, field
from random import Random

import pytest

from controller.ports import PortFault
from controller.rig.modbus import ModbusOptions
from drivers.modbus import MOST_NS, Board
from drivers.modbus_talk import MS
from tests.drivers.modbus_line import CLEAN, COILS, LINES, BadLine, Faults, Relays

OPTIONS = ModbusOptions(BadLine.name, baud=115200)
COMMANDS = 10_000
BY_NAME = {line.name: line for line in LINES}

ROUGH = (
    Faults(lost=0.1),
    Faults(holes=0.1, damaged=0.1),
    Faults(damaged=0.5),
    Faults(noise=0.3, damaged=0.05),
    Faults(late=0.3),
    Faults(late=0.5, lost=0.1, twice=0.05),
    Faults(lost=0.05, holes=0.05, damaged=0.05, noise=0.1, late=0.1, twice=0.05, echo=0.1),
    Faults(lost=0.5, late=0.2),
    Faults(echo=1.0, lost=0.2),
)


@dataclass
class Walk:
    """A walk over one board; ``told`` is what its owner was last told, None: unknown."""

    random: Random
    commands: int = 0
    confirmed: int = 0
    unknown: int = 0
    longest_ns: int = 0
    told: dict[str, bool | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.relays = Relays()
        self.line = BadLine(self.relays, self.random)
        self.board = Board(LINES, self.line, OPTIONS)
        self.told = {line.name: line.safe_lit for line in LINES}

    def is_lit(self, name: str) -> bool:
        line = BY_NAME[name]
        return line.level(True) == int(self.relays.coils[COILS[name]])

    def write(self, name: str, *, lit: bool) -> bool:
        self.commands += 1
        began_ns = self.line.now_ns()
        try:
            self.board.write(name, lit)
        except PortFault:
            self.told[name] = None
            self.unknown += 1
        else:
            assert self.is_lit(name) is lit, f"told {lit}, at command {self.commands}"
            self.told[name] = lit
            self.confirmed += 1
        self.longest_ns = max(self.longest_ns, self.line.now_ns() - began_ns)
        return self.told[name] is lit

    def read(self, name: str) -> None:
        self.commands += 1
        lit = self.board.read(name)
        if lit is not None:
            assert lit is self.is_lit(name), f"read {lit}, at command {self.commands}"

    def still_so(self) -> None:
        """What was told stays so, as long as nothing outside the line happens."""
        for name, lit in self.told.items():
            assert lit is None or lit is self.is_lit(name), f"{name}, at command {self.commands}"

    def rest(self, longest_ms: float) -> None:
        self.line.rest(self.line.now_ns() + int(self.random.random() * longest_ms * MS))

    def step(self) -> None:
        """Do what a keeper does: switch, read, and insist on the safe state of what failed."""
        unknown = [name for name, lit in self.told.items() if lit is None]
        if unknown and self.random.random() < 0.7:
            name = self.random.choice(unknown)
            self.line.rest(self.line.now_ns() + 10 * MS)
            self.write(name, lit=BY_NAME[name].safe_lit)
        elif self.random.random() < 0.3:
            self.read(self.random.choice(list(COILS)))
        else:
            name = self.random.choice(list(COILS))
            if not self.write(name, lit=self.random.random() < 0.5) and self.random.random() < 0.5:
                for _ in range(3):  # whoever is told "unknown" may well ask
                    self.read(name)
                    self.rest(30)
        self.befall()
        self.rest(self.random.choice((1, 30, 400)))
        self.still_so()

    def befall(self) -> None:
        """Now and then somebody stumbles over a cable, or a coil obeys nothing for a while."""
        chance = self.random.random()
        if not self.line.plugged:
            if chance < 0.3:
                self.line.replug()
        elif chance < 0.01:
            self.line.unplug()
        elif chance < 0.015:
            self.relays.power_up()
            for name, lit in self.told.items():
                if lit is not None and lit is not self.is_lit(name):
                    self.told[name] = None

        if self.random.random() < 0.05:
            self.relays.stuck ^= {self.random.choice(list(COILS.values()))}

    def heal(self) -> None:
        """On a clean line every output obeys again, and is read as it is."""
        self.line.faults = CLEAN
        self.relays.stuck.clear()
        if not self.line.plugged:
            self.line.replug()
        self.line.rest(self.line.now_ns() + 250 * MS)
        for name, line in BY_NAME.items():
            assert self.write(name, lit=line.safe_lit), name
        self.line.rest(self.line.now_ns() + 250 * MS)
        for lit in (True, False):
            for name, line in BY_NAME.items():
                if not self.write(name, lit=lit):  # a board that came back is told of once
                    self.line.rest(self.line.now_ns() + 250 * MS)
                    assert self.write(name, lit=line.safe_lit), name
                    assert self.write(name, lit=lit), name
                assert self.board.read(name) is lit


@pytest.mark.parametrize("seed", range(4))
def test_what_is_told_is_so(seed: int) -> None:
    """Never is off told of a coil that is on, or on of one that is off; a clean line heals."""
    walk = Walk(Random(seed))
    while walk.commands < COMMANDS // 4:
        walk.line.faults = walk.random.choice(ROUGH)
        for _ in range(walk.random.randint(10, 60)):
            walk.step()
        walk.heal()
    assert walk.confirmed > 500
    assert walk.unknown > 300
    # the last command of a call begins before its time is over; its answer is not waited for
    assert walk.longest_ns <= MOST_NS + 5 * MS
