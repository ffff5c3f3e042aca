"""Trying one part at a time, through the drivers that the unit uses itself.

Outputs are opened anew for each try and are safe before, between and after: nothing is lit while
a person thinks about a question. For whoever runs this when no engine does.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from queue import Empty, SimpleQueue

from controller.exposing.foot import Contact
from controller.ports import Bounded, Line, Outputs, PortFault, Quantity, Reading, Tended
from controller.rig.findings import PRESSES_WITHIN_S
from controller.rig.model import LAMP, Rig
from controller.rig.sensors import SensorAt
from drivers.found import BOX, find_outputs, open_box, open_pedals, open_sensor
from drivers.places import board_options

RELAY_UNIT = "relay-unit"  # the driver whose board has a dead-man timer of its own
LIT_S = 0.6  # long enough to hear both clicks, and to see the LED
MOST_LIT_S = 5.0  # what a board with a clock of its own is told
_TEND_S = 0.02
_QUIET_S = 0.5  # after a press: bounces, and a second press by mistake
_DEAD_MS = 300  # the unit's usual dead-man time


@dataclass(frozen=True, slots=True)
class Click:
    """A relay was switched and switched back: did its line read back so? None: blind."""

    lit: bool | None
    safe: bool | None


@contextmanager
def opened(rig: Rig, run: Path) -> Iterator[Outputs]:
    """Open the outputs, all safe, and leave them so, whatever happens. Raises PortFault."""
    lines = rig.lines()
    outputs = find_outputs(rig.lamp.driver).open(lines, board_options(rig, run))
    try:
        yield outputs
    finally:
        try:
            _make_safe(outputs, lines)
        finally:
            outputs.close()


def click(rig: Rig, line: Line, run: Path, *, lit_s: float = LIT_S) -> Click:
    """Take one output away from its safe state for a moment. Raises PortFault."""
    away = not line.safe_lit
    with opened(rig, run) as outputs:
        _switch(outputs, line.name, lit=away)
        _tend(outputs, lit_s)
        lit = _agrees(outputs.read(line.name), wanted=away)
        outputs.write(line.name, line.safe_lit)
        safe = _agrees(outputs.read(line.name), wanted=line.safe_lit)
    return Click(lit, safe)


def dead_man(rig: Rig, run: Path) -> bool | None:
    """Light the lamp's output, say nothing more, and tell whether the board put it off itself.

    None where the line cannot be read back. Raises PortFault.
    """
    dead_ms = rig.driver_options().get("dead_ms", _DEAD_MS)
    silence_s = 2 * float(dead_ms if isinstance(dead_ms, int) else _DEAD_MS) / 1000 + 0.2
    with opened(rig, run) as outputs:
        _switch(outputs, LAMP, lit=True)
        if outputs.read(LAMP) is not True:
            return None
        time.sleep(silence_s)
        seen = outputs.read(LAMP)
    return None if seen is None else not seen


@dataclass(slots=True)
class Felt:
    """What a contact did: downs and ups without bounce, and all its edges."""

    downs: int = 0
    ups: int = 0
    edges: int = 0


def feel_pedal(rig: Rig, name: str, *, within_s: float = PRESSES_WITHIN_S) -> Felt:
    """Wait for one press of a pedal. Raises PortFault."""
    pedal = next(each for each in rig.pedal if each.name == name)
    came: SimpleQueue[tuple[int, bool]] = SimpleQueue()
    alone = rig.model_copy(update={"pedal": (pedal,)})
    listening = open_pedals(alone, lambda at_ns, _, down: came.put((at_ns, down)))
    try:
        return feel(came, pedal.bounce_ms / 1000, within_s, ends_down=False)
    finally:
        for each in listening:
            each.close()


def feel_box(rig: Rig, *, within_s: float = PRESSES_WITHIN_S) -> Felt:
    """Wait until the lid of the box was opened and shut. Raises PortFault."""
    came: SimpleQueue[tuple[int, bool]] = SimpleQueue()
    listening = open_box(rig, lambda at_ns, _, down: came.put((at_ns, down)))
    if rig.box is None or listening is None:
        raise PortFault(f"this rig has no {BOX}")
    try:
        # a lid that is shut already is told as down while it opens: that is no shutting
        already = 0 if came.empty() else 1
        felt = feel(came, rig.box.bounce_ms / 1000, within_s, ends_down=True, downs=1 + already)
        felt.downs -= already
        return felt
    finally:
        listening.close()


def feel(
    came: SimpleQueue[tuple[int, bool]],
    bounce_s: float,
    within_s: float,
    *,
    ends_down: bool,
    downs: int = 1,
) -> Felt:
    """Count edges until it went down and up so often and is quiet, or time is up."""
    contact, felt = Contact(bounce_s), Felt()
    until_s = time.monotonic() + within_s
    while (left_s := until_s - time.monotonic()) > 0:
        try:
            at_ns, down = came.get(timeout=min(left_s, _QUIET_S))
        except Empty:
            _count(felt, contact.settle(time.monotonic_ns()))
            whole = felt.downs >= downs and felt.ups >= 1
            if whole and contact.down == ends_down and contact.next_ns is None:
                break
            continue
        felt.edges += 1
        # the end of a bounce that came before this edge is told first
        _count(felt, contact.settle(at_ns))
        _count(felt, contact.edge(at_ns, down))
    return felt


def reading(rig: Rig, sensor: SensorAt, run: Path) -> Reading:
    """Read a sensor once. Raises PortFault."""
    eye = open_sensor(rig, sensor, run)
    try:
        return eye.read()
    finally:
        eye.close()


def can_be_covered(seen: Reading) -> bool:
    """Does a hand before this sensor change what it reads?"""
    return seen.quantity in (Quantity.ILLUMINANCE, Quantity.LIGHT)


# --- inside ---------------------------------------------------------------------------------


def _switch(outputs: Outputs, name: str, *, lit: bool) -> None:
    if isinstance(outputs, Bounded):
        outputs.write_for(name, lit, round(MOST_LIT_S * 1e9))
    else:
        outputs.write(name, lit)


def _tend(outputs: Outputs, seconds: float) -> None:
    until_s = time.monotonic() + seconds
    while time.monotonic() < until_s:
        if isinstance(outputs, Tended):
            lost = outputs.alive(time.monotonic_ns())
            if lost:
                raise PortFault(f"the board lost sight of {', '.join(lost)} while it was lit")
        time.sleep(_TEND_S)


def _make_safe(outputs: Outputs, lines: Sequence[Line]) -> None:
    for line in lines:
        # one that does not obey is no reason to leave the next; ``dryside safe`` is told after all
        with suppress(PortFault):
            outputs.write(line.name, line.safe_lit)


def _agrees(seen: bool | None, *, wanted: bool) -> bool | None:
    return None if seen is None else seen == wanted


def _count(felt: Felt, became: bool | None) -> None:
    if became is True:
        felt.downs += 1
    elif became is False:
        felt.ups += 1
