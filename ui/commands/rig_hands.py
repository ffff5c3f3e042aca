"""``dryside rig check --hands``: every part is tried, with the lamp's plug out.

Whatever ends it, ctrl-C and a closed terminal included, the outputs are made safe at last, and
what was found until then is told.
"""

from __future__ import annotations

import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Protocol

from controller.errors import Refused
from controller.ports import Line, PortFault, Sound
from controller.rig import findings
from controller.rig.findings import Finding, Section, State
from controller.rig.model import Rig
from drivers.all_safe import safe_now
from drivers.found import find_sounder
from drivers.looking import trying
from drivers.looking.machine import look_at_machine
from drivers.places import board_options, run_folder
from ui import show
from ui.only_one import refuse_while_running
from ui.unit import unit_for

CAUTION = (
    "Every relay will be switched. Pull the lamp's plug out of the relay's outlet now and put an "
    "LED or a small test lamp in its place; paper stays shut away. Mains wiring is a licensed "
    "electrician's work: open no box that is under power."
)


class Asker(Protocol):
    """Whoever is asked."""

    def tell(self, text: str) -> None:
        """Say something."""

    def word(self, question: str, usual: str) -> str:
        """Ask for a word; only enter is ``usual``. Raises EOFError."""


class Person:
    """Somebody at a terminal; told on stderr, so that a pipe carries the result alone."""

    def tell(self, text: str) -> None:
        """Say something."""
        print(text, file=sys.stderr)

    def word(self, question: str, usual: str) -> str:
        """Ask for a word."""
        hint = f" [{usual}]" if usual else ""
        print(f"{question}{hint} ", end="", file=sys.stderr, flush=True)
        return input().strip().lower() or usual


class AlwaysYes:
    """Answers as if all were well, for an imagined rig."""

    def tell(self, text: str) -> None:
        """Say nothing."""

    def word(self, question: str, usual: str) -> str:  # noqa: ARG002
        """Give the usual answer."""
        return usual or "yes"


def check_by_hand(rig: str | None, settings: Sequence[str], *, yes: bool, json_: bool) -> None:
    """Try every part; exit code 1 where something is wrong. Raises BadInput, Refused."""
    unit = unit_for(rig, settings)
    if yes and not unit.imagined:
        raise Refused(
            "--yes answers for hands, and this rig's relays are real", ("--hands without --yes",)
        )
    refuse_while_running()
    asker: Asker = AlwaysYes() if yes else Person()
    asker.tell(CAUTION)
    if asker.word("Is the lamp's plug out? Write yes:", "").lower() != "yes":
        raise Refused("nothing was switched, since the lamp's plug is not out")
    run = run_folder()
    found: list[Finding] = []
    stopped = False
    with _ends_as_interrupt():
        try:
            for each in walk(unit.rig, asker, run):
                found.append(each)
                if not json_:
                    show.lines(each.as_lines())
        except (KeyboardInterrupt, EOFError):
            stopped = True
        finally:
            last = _all_safe(unit.rig, run)
    found.append(last)
    if json_:
        told = {"rig": unit.asked, "whole": not stopped}
        show.as_json(told | {"findings": [each.as_dict() for each in found]})
    else:
        show.lines(last.as_lines())
        if stopped:
            show.note("It was stopped before the end: what is not listed was not tried.")
    if stopped:
        sys.exit(130)
    sys.exit(int(findings.any_wrong(found)))


def walk(rig: Rig, asker: Asker, run: Path) -> Iterator[Finding]:
    """Try part after part; each is told as soon as it is known."""
    yield from look_at_machine()
    yield from _relays(rig, asker, run)
    yield _dead_man(rig, asker, run)
    for pedal in rig.pedal:
        asker.tell(f"Press the pedal {pedal.name} once, within 20 s.")
        yield _tried(f"pedal {pedal.name}", Section.PEDALS, partial(_press, rig, pedal.name))
    if rig.box is not None:
        asker.tell("Open the (empty) paper box and shut it again, within 20 s.")
        yield _tried("box", Section.BOX, partial(_lid, rig))
    yield _tried("sounder", Section.SOUNDER, partial(_sounds, rig, asker))
    for sensor in rig.sensor:
        name = sensor.name
        yield _tried(f"sensor {name}", Section.SENSORS, partial(_sensor, rig, name, asker, run))


# --- parts ----------------------------------------------------------------------------------


def _relays(rig: Rig, asker: Asker, run: Path) -> Iterator[Finding]:
    lines = rig.lines()
    names = [line.name for line in lines]
    try:
        with trying.opened(rig, run):
            pass  # every line is at its safe level now
    except PortFault as fault:
        yield _faulty("outputs", Section.RELAYS, fault)
        return
    for line in lines:
        state = "lit" if line.safe_lit else "dark"
        right = _agreed(asker, f"All coils are at rest. Is {line.name} {state} now? yes or no:")
        yield findings.resting(line.name, right=right)
    for line in lines:
        yield _click(rig, line, names, asker, run)


def _click(rig: Rig, line: Line, names: Sequence[str], asker: Asker, run: Path) -> Finding:
    def tried() -> Finding:
        while True:
            asker.word(f"Press enter, and {line.name} switches for a moment:", "")
            seen = trying.click(rig, line, run)
            question = "Which light changed? Enter if that one; its name, none, or again:"
            heard = asker.word(question, line.name)
            if heard != "again":
                break
        name = "" if heard in ("none", "no", "n") else heard
        if heard in ("y", "yes") or heard == line.name.lower():
            name = line.name
        return findings.clicked(line.name, name, names, (seen.lit, seen.safe))

    return _tried(f"relay {line.name}", Section.RELAYS, tried)


def _dead_man(rig: Rig, asker: Asker, run: Path) -> Finding:
    part = "dead-man timer"
    if rig.lamp.driver != trying.RELAY_UNIT:
        return Finding(
            part,
            State.NOT_THERE,
            "this board has none that can be tried: the keeper and its watcher put the lamp off",
            Section.DEAD_MAN,
            "a relay unit has one",
        )

    def tried() -> Finding:
        asker.tell("The lamp's output is lit, and the unit has to put it off by itself.")
        alone = trying.dead_man(rig, run)
        if alone:
            return Finding(
                part, State.WELL, "the unit put the lamp off by itself", Section.DEAD_MAN
            )
        what = "nothing was read back" if alone is None else "the lamp stayed lit"
        remedy = "flash the unit's firmware anew, and do not expose with it before this is well"
        return Finding(part, State.WRONG, what, Section.DEAD_MAN, remedy)

    return _tried(part, Section.DEAD_MAN, tried)


def _press(rig: Rig, name: str) -> Finding:
    felt = trying.feel_pedal(rig, name)
    return findings.pressed(name, felt.downs, felt.ups, felt.edges)


def _lid(rig: Rig) -> Finding:
    felt = trying.feel_box(rig)
    return findings.lid(felt.downs, felt.ups)


def _sounds(rig: Rig, asker: Asker) -> Finding:
    driver = rig.sounder.driver
    options = rig.sounder_options()
    silent = driver == "silent" or (driver == "bell" and "tty" not in options)
    if silent:
        what = "it is silent" if driver == "silent" else "only the terminal's own bell rings"
        remedy = "a buzzer or piezo is heard without a screen"
        return Finding("sounder", State.NOT_THERE, what, Section.SOUNDER, remedy)
    unheard: list[str] = []
    sounder = find_sounder(driver).open(options)
    try:
        for sound in Sound:
            sounder.play(sound)
            if not _agreed(asker, f"Was the sound {sound.value!r} heard? yes or no:"):
                unheard.append(sound.value)
    finally:
        sounder.close()
    return findings.heard_sounds(driver, unheard)


def _sensor(rig: Rig, name: str, asker: Asker, run: Path) -> Finding:
    sensor = next(each for each in rig.sensor if each.name == name)
    if sensor.purpose in ("lamp", "stray"):
        asker.word(f"Leave the sensor {name} uncovered, then press enter:", "")
    first = trying.reading(rig, sensor, run)
    unit = first.quantity.unit
    if not trying.can_be_covered(first):
        told = f"it reads {first.value:.4g} {unit}".strip()
        return Finding(f"sensor {name}", State.WELL, told, Section.SENSORS)
    asker.word(f"Cover the sensor {name} with a hand, then press enter:", "")
    return findings.covered(name, first.value, trying.reading(rig, sensor, run).value, unit)


# --- inside ---------------------------------------------------------------------------------


def _agreed(asker: Asker, question: str) -> bool:
    while True:
        said = asker.word(question, "")
        if said in ("y", "yes"):
            return True
        if said in ("n", "no"):
            return False
        asker.tell("Write yes or no.")


def _tried(part: str, section: Section, action: Callable[[], Finding]) -> Finding:
    try:
        return action()
    except PortFault as fault:
        return _faulty(part, section, fault)


def _faulty(part: str, section: Section, fault: PortFault) -> Finding:
    told = str(fault).removeprefix(f"sensor {part.removeprefix('sensor ')!r}: ")  # part says it
    sentence, _, remedy = told.partition("; ")
    return Finding(part, State.WRONG, sentence, section, remedy or "look at its wires")


def _all_safe(rig: Rig, run: Path) -> Finding:
    part = "outputs at the end"
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)  # a second ctrl-C waits for this
    try:
        done = safe_now(rig.lines(), rig.lamp.driver, board_options(rig, run), run=run)
    except PortFault as fault:
        return _faulty(part, Section.RELAYS, fault)
    finally:
        signal.signal(signal.SIGINT, before)
    sentence, _, remedy = done.did[-1].partition(": ") if not done.safe else (done.did[-1], "", "")
    return Finding(part, State.WELL if done.safe else State.WRONG, sentence, Section.RELAYS, remedy)


@contextmanager
def _ends_as_interrupt() -> Iterator[None]:
    """Turn an ending from outside into an interruption, so that the outputs are made safe."""

    def interrupt(_number: int, _frame: FrameType | None) -> None:
        raise KeyboardInterrupt

    before = {each: signal.signal(each, interrupt) for each in (signal.SIGTERM, signal.SIGHUP)}
    try:
        yield
    finally:
        for each, handler in before.items():
            signal.signal(each, handler)
