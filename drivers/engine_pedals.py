"""The engine's contacts: pedals, the switch on the paper box, and a terminal's space bar.

Edges come from threads of the drivers; here they wait until the loop takes them, and lose their
bounce.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable

from controller.foot import Contact
from controller.ports import Pedal
from controller.rig.model import Rig
from drivers.found import BOX, open_box, open_pedals

TERMINAL = "terminal"  # the pedal that a terminal's space bar is


class EnginePedals:
    """Every contact of a rig, open from ``open`` to ``close``."""

    def __init__(self, rig: Rig, wake: Callable[[], None]) -> None:
        self._rig = rig
        self._wake = wake
        self._edges: deque[tuple[int, str, bool]] = deque()
        self._contacts = {TERMINAL: Contact(0.0)}
        self._open: list[Pedal] = []
        self.wet = frozenset(pedal.name for pedal in rig.pedal if pedal.wet)

    def __bool__(self) -> bool:
        """Is there a pedal that says go?"""
        return len(self.wet) < len(self._rig.pedal)

    def open(self) -> None:
        """Begin to listen. Raises PortFault."""
        rig = self._rig
        self._contacts |= {p.name: Contact(p.bounce_ms / 1000) for p in rig.pedal}
        self._open += open_pedals(rig, self._edge)
        if rig.box is not None:
            self._contacts[BOX] = Contact(rig.box.bounce_ms / 1000)
            box = open_box(rig, self._edge)
            self._open += [box] if box else []

    def take(self, now_ns: int) -> list[tuple[str, bool]]:
        """Give what went down or came up since the last call: the contact's name, and whether."""
        taken: list[tuple[str, bool | None]] = []
        while self._edges:
            at_ns, name, down = self._edges.popleft()
            taken.append((name, self._contacts[name].edge(at_ns, down)))
        taken += [(name, contact.settle(now_ns)) for name, contact in self._contacts.items()]
        return [(name, down) for name, down in taken if down is not None]

    def space_bar(self, now_ns: int, down: bool) -> bool | None:
        """Take an edge of a terminal's pedal; gives the new state, or None if nothing changed."""
        return self._contacts[TERMINAL].edge(now_ns, down)

    @property
    def foot_down(self) -> bool:
        """Is any pedal down now that could light a lamp?"""
        others = (BOX, *self.wet)
        return any(contact.down for name, contact in self._contacts.items() if name not in others)

    @property
    def next_ns(self) -> int | None:
        """When ``take`` must be called again."""
        times = (contact.next_ns for contact in self._contacts.values())
        return min((each for each in times if each is not None), default=None)

    def close(self) -> None:
        """Let go of all of them."""
        for pedal in self._open:
            pedal.close()

    def _edge(self, at_ns: int, name: str, down: bool) -> None:
        self._edges.append((at_ns, name, down))
        self._wake()
