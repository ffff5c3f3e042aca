"""The keeper of an imagined rig whose time runs faster: told and heard in the unit's time.

The keeper itself, its deadlines and both heartbeats keep real time, so nothing of what makes a
lamp safe is any other than on a real rig. Only a rig whose lamp is imagined may have a pace.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import TypeAlias

import msgspec

from controller.enlarger.lamp import ns
from controller.exposing.lit import LATE_S
from controller.keeper import Alive, Beat, Edge, Ended, Message, Pulse, Reply
from drivers.clock import Clock
from drivers.keeper_link import KeeperLink, KeeperLost
from drivers.keeper_words import Setup


class PacedLink:
    """A running keeper process in the time of a clock; the same calls as a ``KeeperLink``."""

    def __init__(self, link: KeeperLink, clock: Clock) -> None:
        self._link = link
        self._clock = clock

    @property
    def notes(self) -> tuple[str, ...]:
        """What the system did not grant."""
        return self._link.notes

    def fileno(self) -> int:
        """Give the descriptor for a selector."""
        return self._link.fileno()

    @property
    def until_ns(self) -> int:
        """When ``check`` must be called at the latest."""
        return self._clock.at_ns(self._link.until_ns)

    def send(self, message: Message) -> None:
        """Tell the keeper something."""
        clock = self._clock
        if isinstance(message, Pulse):
            # how late it may be read is a matter of two processes, and as short as ever
            not_after_ns = clock.real_ns(clock.now_ns()) + ns(LATE_S)
            message = msgspec.structs.replace(
                message,
                duration_ns=clock.real_ns(message.duration_ns),
                not_after_ns=not_after_ns,
            )
        elif isinstance(message, Beat):
            message = Beat(clock.real_ns(message.sent_ns))
        self._link.send(message)

    def beat(self, now_ns: int) -> None:
        """Send the engine's heartbeat."""
        self.send(Beat(now_ns))

    def receive(self, now_ns: int) -> list[Reply]:
        """Give everything that the keeper said, in order; never waits."""
        return self._heard(self._link.receive(self._clock.real_ns(now_ns)))

    def check(self, now_ns: int) -> KeeperLost | None:
        """Judge the keeper; if it is silent or dead, take its lines over before returning."""
        lost = self._link.check(self._clock.real_ns(now_ns))
        if lost is None:
            return None
        at_ns = self._clock.at_ns(lost.at_ns)
        return replace(lost, at_ns=at_ns, replies=tuple(self._heard(lost.replies)))

    def restart(self) -> None:
        """Start a new keeper after one was lost. Raises PortFault."""
        self._link.restart()

    def close(self) -> KeeperLost | None:
        """End the keeper in order; gives what happened if that needed force."""
        return self._link.close()

    def _heard(self, replies: Iterable[Reply]) -> list[Reply]:
        at_ns = self._clock.at_ns
        heard: list[Reply] = []
        for reply in replies:
            match reply:
                case Edge():
                    reply = msgspec.structs.replace(reply, at_ns=at_ns(reply.at_ns))
                case Ended():
                    on_ns, off_ns = at_ns(reply.on_ns), at_ns(reply.off_ns)
                    reply = msgspec.structs.replace(reply, on_ns=on_ns, off_ns=off_ns)
                case Alive():
                    reply = Alive(at_ns(reply.sent_ns))
                case _:
                    pass
            heard.append(reply)
        return heard


AnyLink: TypeAlias = KeeperLink | PacedLink


def start_keeper(setup: Setup, clock: Clock, *, run: Path) -> AnyLink:
    """Start a keeper and wait until it holds the lines; with a plain link at a pace of 1.

    Raises PortFault with the keeper's own sentence.
    """
    if clock.pace == 1:
        return KeeperLink.start(setup, run=run)
    # a journal would tell real time, and whoever settles a book by it knows of no other
    setup = msgspec.structs.replace(setup, journal=None)
    return PacedLink(KeeperLink.start(setup, run=run), clock)
