"""What engine and keeper process say to each other, besides the core's own messages.

Light to import: the keeper loads it at its start.
"""

from __future__ import annotations

from pathlib import Path
from typing import TypeAlias

import msgspec

from controller.keeper import (
    SILENCE_NS,
    Alive,
    AllSafe,
    Beat,
    Cut,
    Edge,
    Ended,
    OutputRule,
    Pulse,
    Put,
    Refused,
)
from controller.ports import Line


class Setup(msgspec.Struct, frozen=True, tag="setup"):
    """The first message to a keeper: what it is to hold.

    ``driver`` is a name of the entry-point group ``dryside.outputs``; ``journal`` a file that
    gets a line for each pulse that ended (it belongs on the run-time folder, where a write does
    not wait for a memory card); None: no journal.
    """

    lines: tuple[Line, ...]
    rules: tuple[OutputRule, ...]
    driver: str
    options: dict[str, object] = {}
    journal: str | None = None
    silence_ns: int = SILENCE_NS


class Ready(msgspec.Struct, frozen=True, tag="ready"):
    """The lines are held, at their safe levels. ``notes``: what the system did not grant."""

    notes: tuple[str, ...]
    pid: int


class Failed(msgspec.Struct, frozen=True, tag="failed"):
    """The keeper could not begin, and ends; ``why`` is a sentence."""

    why: str


ToKeeper: TypeAlias = Setup | Beat | Pulse | Cut | Put | AllSafe
FromKeeper: TypeAlias = Ready | Failed | Edge | Ended | Refused | Alive


CLOSED = b'{"type":"closed"}'  # the journal's last line where a keeper ended in order


def read_journal(path: Path) -> list[Ended]:
    """Read what a keeper noted of the pulses that ended; a torn or foreign line is left out.

    Times in it are monotonic: they compare only with times of the same boot.
    """
    ended: list[Ended] = []
    try:
        lines = path.read_bytes().splitlines()
    except FileNotFoundError:
        return ended
    for line in lines:
        try:
            ended.append(msgspec.json.decode(line, type=Ended))
        except msgspec.DecodeError:
            continue
    return ended
