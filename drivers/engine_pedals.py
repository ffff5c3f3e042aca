"""The engine's contacts: pedals, the switch on the paper box, and a terminal's space bar.

Edges come from threads of the drivers; here they wait until the loop takes them, and lose their
bounce.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import NamedTuple, TypeAlias

from controller.exposing.foot import Contact
from controller.ports import Pedal
from controller.rig.model import Rig
from drivers.found import BOX, open_box, open_pedals

BACK_NS = 1_000_000_000  # a foot that is down so soon after plugging in stands there by accident
TERMINAL = "terminal"  # the pedal that a terminal's space bar is


class Moved(NamedTuple):
    """A contact went down, or came up."""

    name: str
    down: bool


class Gone(NamedTuple):
    """A contact was unplugged, ``was_down`` until then; ``last``: no other pedal stops light."""

    name: str
    was_down: bool
    last: bool


class Back(NamedTuple):
    """A contact is plugged in again."""

    name: str


Taken: TypeAlias = Moved | Gone | Back


class EnginePedals:
    """Every contact of a rig, open from ``open`` to ``close``."""

    def __init__(self, rig: Rig, wake: Callable[[], None]) -> None:
        self._rig = rig
        self._wake = wake
        self._came: deque[tuple[int, Moved | Gone | Back]] = deque()
        self._contacts = {TERMINAL: Contact(0.0)}
        self._open: list[Pedal] = []
        self.wet = frozenset(pedal.name for pedal in rig.pedal if pedal.wet)
        self._dry = frozenset(pedal.name for pedal in rig.pedal) - self.wet
        self._away: set[str] = set()
        self._back_ns: dict[str, int] = {}  # when each was plugged in again
        self._stale: set[str] = set()  # what is down since then

    def __bool__(self) -> bool:
        """Is there a pedal that says go, plugged in or not?"""
        return bool(self._dry)

    def open(self) -> None:
        """Begin to listen. Raises PortFault."""
        rig = self._rig
        self._contacts |= {p.name: Contact(p.bounce_ms / 1000) for p in rig.pedal}
        if rig.box is not None:
            self._contacts[BOX] = Contact(rig.box.bounce_ms / 1000)
        self._open += open_pedals(rig, self._edge, self._presence)
        box = open_box(rig, self._edge, self._presence)
        self._open += [box] if box else []

    def take(self, now_ns: int) -> list[Taken]:
        """Give what happened since the last call, in order."""
        taken: list[Taken] = []
        while self._came:
            at_ns, came = self._came.popleft()
            match came:
                case Moved(name, raw):
                    taken += self._moved(at_ns, name, self._contacts[name].edge(at_ns, raw))
                case Gone(name):
                    taken += self._gone(name)
                case Back(name):
                    self._away.discard(name)
                    self._back_ns[name] = at_ns
                    taken.append(came)
        for name, contact in self._contacts.items():
            taken += self._moved(now_ns, name, contact.settle(now_ns))
        return taken

    def space_bar(self, now_ns: int, down: bool) -> bool | None:
        """Take an edge of a terminal's pedal; gives the new state, or None if nothing changed."""
        return self._contacts[TERMINAL].edge(now_ns, down)

    def words(self, name: str) -> str:
        """Say which contact it is; a pedal's name only where there are several."""
        if name == BOX:
            return "box switch"
        return f"{name.replace('-', ' ')} pedal" if len(self._rig.pedal) > 1 else "pedal"

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
        self._came.append((at_ns, Moved(name, down)))
        self._wake()

    def _presence(self, at_ns: int, name: str, there: bool) -> None:
        self._came.append((at_ns, Back(name) if there else Gone(name, was_down=False, last=False)))
        self._wake()

    def _moved(self, at_ns: int, name: str, down: bool | None) -> list[Taken]:
        if down is None:
            return []
        back_ns = self._back_ns.get(name)
        if down and name != BOX and back_ns is not None and at_ns < back_ns + BACK_NS:
            self._stale.add(name)
        elif name not in self._stale:
            return [Moved(name, down)]
        elif not down:
            self._stale.discard(name)
        return []

    def _gone(self, name: str) -> list[Taken]:
        self._away.add(name)
        self._stale.discard(name)
        was_down = self._contacts[name].gone()
        last = name in self._dry and self._dry <= self._away
        return [Gone(name, was_down, last)]
