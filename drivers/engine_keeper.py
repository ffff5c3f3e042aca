"""The engine's keeper: beaten for by the engine's own loop, heard, and replaced when it is lost."""

from __future__ import annotations

import selectors
from collections.abc import Iterator
from enum import Enum
from pathlib import Path
from typing import TypeAlias

from controller.keeper import MS, Message, Pulse, Reply
from controller.ports import Cue, PortFault, Sound
from controller.rig.model import Rig
from drivers.clock import Clock
from drivers.keeper_link import KeeperLost, setup_of
from drivers.paced_link import start_keeper

BEAT_NS = 50 * MS
RESTART_NS = 2_000 * MS  # between two tries to start a keeper


class Change(Enum):
    """Another keeper than before."""

    LOST = "lost"  # all that it would have said has been said for it
    NEW = "new"  # everything is at its safe level


Taken: TypeAlias = Reply | Cue | Change


class EngineKeeper:
    """A keeper is started at once. ``selector`` wakes for what it says. Raises PortFault."""

    def __init__(
        self, rig: Rig, clock: Clock, selector: selectors.BaseSelector, *, run: Path
    ) -> None:
        self._clock = clock
        self._selector = selector
        self._beat_ns = 0
        self._restart_ns: int | None = None  # when one is to be started, where there is none
        self._out_of_reach = ""  # why there is none
        self._link = start_keeper(setup_of(rig, run), clock, run=run)
        self.notes = self._link.notes
        self._listen()

    @property
    def next_ns(self) -> int:
        """When ``beat`` and ``take`` must be called again."""
        restart_ns = self._restart_ns
        return min(self._beat_ns, self._link.until_ns if restart_ns is None else restart_ns)

    def send(self, message: Message) -> None:
        """Tell it something; before a pulse it hears that its engine lives."""
        if isinstance(message, Pulse):
            self._link.beat(self._clock.now_ns())
        self._link.send(message)

    def beat(self, now_ns: int) -> None:
        """Beat, if it is time."""
        if now_ns >= self._beat_ns:
            self._link.beat(now_ns)
            self._beat_ns = now_ns + self._clock.at_ns(BEAT_NS)

    def take(self, now_ns: int) -> Iterator[Taken]:
        """Give what it said, in order; judge it, and replace one that is lost.

        Each is to be done before the next is asked for: what an answer leads to is for the
        keeper that gave it.
        """
        yield from self._link.receive(now_ns)
        lost = self._link.check(self._clock.now_ns())
        if lost is None:
            return
        yield Cue(f"{lost.why}; {_where(lost)}", Sound.FAULT)
        yield from lost.replies
        yield Change.LOST  # whatever it was at, it is at it no more
        self._selector.unregister(self._fd)
        yield from self._restart()

    def try_again(self, now_ns: int) -> Iterator[Taken]:
        """Start a keeper where there is none, if it is time."""
        if self._restart_ns is not None and now_ns >= self._restart_ns:
            yield from self._restart()

    def close(self) -> None:
        """End it in order."""
        self._link.close()

    # -- inside ------------------------------------------------------------------------------

    def _restart(self) -> Iterator[Taken]:
        """Start another keeper; where that can't be (a cable is out) it is tried again."""
        self._restart_ns = None
        try:
            self._link.restart()
        except PortFault as fault:
            self._restart_ns = self._clock.now_ns() + self._clock.at_ns(RESTART_NS)
            if str(fault) != self._out_of_reach:
                self._out_of_reach = str(fault)
                yield Cue(f"{fault}; nothing can be lit until that is mended", Sound.FAULT)
            return
        if self._out_of_reach:
            self._out_of_reach = ""
            yield Cue("the outputs answer again", Sound.ATTENTION)
        self._listen()
        self._beat_ns = 0
        yield Change.NEW

    def _listen(self) -> None:
        self._fd = self._link.fileno()
        self._selector.register(self._fd, selectors.EVENT_READ)


def _where(lost: KeeperLost) -> str:
    if lost.safe:
        return "its lines were taken over and are safe"
    return "its lines could not be taken: cut the lamp's supply now"
