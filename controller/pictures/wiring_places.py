"""Where the parts of a wiring diagram stand: widths, heights and columns, in the pen's units."""

from __future__ import annotations

from dataclasses import dataclass

from controller.rig.wiring import Board, Wiring

ROW = 4.3  # of a relay
MOSFET_ROW = 4.2
INPUT_ROW = 1.7
WIRE_APART = 0.8  # the wires of one sensor
PLUG_ROW = 2.4
FONT_NOTE = 11.5
HEAD = 8.6  # mains supply, breaker and two-pole switch; at the left the supplies of the relays
COMPUTER = 4.6  # width
UNIT = 4.4
GAP = 2.4
PULL = 4.4  # zone of the resistors
RELAY = 6.4
COM = 1.75  # from a relay's axis up to its common contact
USED, UNUSED = 0.45, -0.55


@dataclass(frozen=True)
class Columns:
    """Where things stand, from left to right."""

    unit: float
    pulls: float
    relay: float
    live: float
    neutral: float

    @classmethod
    def of(cls, wiring: Wiring) -> Columns:
        """Place the columns for a kind of board."""
        unit = COMPUTER + GAP
        between = wiring.board in (Board.RELAY_UNIT,)
        pulls = unit + UNIT if between else COMPUTER
        relay = pulls + PULL
        live = relay + RELAY + 5.8
        return cls(unit, pulls, relay, live, live + 7.6)

    @property
    def boundary(self) -> float:
        """Where the upright boundary stands."""
        return self.relay + 2.9
