"""A plan carried out by the engine and the keeper, in real time, with this as a client.

On an imagined rig the printer is imagined too, unless ``by_hand``: the operator hears what the
engine says and presses the pedal through the same door as a terminal's space bar. What its
hands did, and the edges that the imagined board wrote, are developed afterwards.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

from controller.bench import View
from controller.events import RunEnded
from controller.ports import Cue, Sound, Wants
from controller.told import CurtainIs, LowerCurtain, Press, Run
from drivers.engine_words import FromEngine, Refusal
from ui.attach import EngineClient, EngineFault
from ui.unit import Outcome, Unit

if TYPE_CHECKING:
    from sim.hands import Done, Operator

WIRE_FILE = "wire"


class ImaginedHands:
    """The imagined printer beside a real engine; keeps what was done."""

    def __init__(self, unit: Unit, run: Run, wire: Path, *, by_hand: bool) -> None:
        from ui.imagined import simulator_of

        self._settings = simulator_of(unit, run)
        self._wire = wire
        self._from = wire.stat().st_size if wire.exists() else 0
        self._operator: Operator | None = None
        self.done: list[Done] = []
        if not by_hand:
            from sim.hands import Operator

            self._operator = Operator(self._settings.hands, seed=self._settings.seed)

    @property
    def due_s(self) -> float:
        """How long until the printer does something by itself."""
        next_ns = self._operator.next_ns() if self._operator else None
        return 0.1 if next_ns is None else max(0.0, (next_ns - time.monotonic_ns()) / 1e9)

    def hear(self, message: FromEngine) -> None:
        """Hear what the engine tells."""
        from sim.hands import Done

        now_ns = time.monotonic_ns()
        if isinstance(message, Cue):
            if self._operator:
                self._operator.hear(now_ns, message)
            elif message.hands is not None:  # somebody else presses; the hands do as told
                self.done.append(Done(now_ns, message.hands))
        elif isinstance(message, View) and self._operator:
            self._operator.saw(now_ns, "lamp", bool(message.lit.get("lamp")))

    def act(self, client: EngineClient) -> None:
        """Do what is due."""
        if self._operator is None:
            return
        from sim.hands import Done

        for happening in self._operator.act(time.monotonic_ns()):
            if isinstance(happening, Done):
                self.done.append(happening)
            else:
                client.send(Press(happening.down))

    def develop(self) -> list[object]:
        """Develop what the edges and the hands made."""
        from sim.replay import read_wire, replay

        edges = read_wire(self._wire)
        since_ns = self.done[0].at_ns if self.done else 0
        return list(
            replay(
                self._settings,
                [edge for edge in edges if edge.at_ns >= since_ns],
                self.done,
                lit={edge.output: edge.lit for edge in edges if edge.at_ns < since_ns},
            )
        )


def carry_out_live(
    unit: Unit, run: Run, client: EngineClient, folder: Path, *, by_hand: bool, screen: bool
) -> Outcome:
    """Run a plan through the engine until it is over. Raises EngineFault."""
    hands = ImaginedHands(unit, run, folder / WIRE_FILE, by_hand=by_hand) if unit.imagined else None
    client.send(run)
    if screen:
        from ui.screens.running import watch

        watch(client, run, hands, countdown=unit.imagined, bell=unit.rig.sounder.driver == "bell")
    else:
        _follow(client, run, hands)
    sheets = hands.develop() if hands else []
    return Outcome(run.record_id, sheets)  # type: ignore[arg-type]


def _follow(client: EngineClient, run: Run, hands: ImaginedHands | None) -> None:
    """Follow a run without a screen: prompts as lines."""
    while True:
        if hands:
            hands.act(client)
        for message in client.receive(min(0.5, hands.due_s if hands else 0.5)):
            if hands:
                hands.hear(message)
            match message:
                case Cue():
                    _print(message)
                case LowerCurtain():
                    client.send(CurtainIs(message.down))
                case Refusal(why=why):
                    raise EngineFault(why)
                case RunEnded(record_id=record_id) if record_id == run.record_id:
                    return
                case _:
                    pass
        if client.closed:
            raise EngineFault("the engine has ended; `dryside book list` tells what was done")


def _print(cue: Cue) -> None:
    if cue.text:
        waits = {Wants.CONFIRM: " (tap)", Wants.GO: " (tap to go)"}.get(cue.wants, "")
        print(f"  {cue.text}{waits}", file=sys.stderr)
    elif cue.sound in (Sound.GO, Sound.END):
        print(f"  [{cue.sound.value}]", file=sys.stderr)
