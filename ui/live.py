"""A plan carried out by the engine and the keeper, in real time, with this as a client.

On an imagined rig the printer is imagined too, unless ``by_hand``: the operator hears what the
engine says and presses the pedal through the same door as a terminal's space bar. What its
hands did, and the edges that the imagined board wrote, are developed afterwards.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from controller.events import RunEnded
from controller.exposing.told import CurtainIs, LowerCurtain, Run
from controller.ports import Cue, Sound, Wants
from drivers.engine_words import Refusal
from ui.attach import EngineClient, EngineFault
from ui.unit import Outcome, Unit

if TYPE_CHECKING:
    from ui.imagined_hands import ImaginedHands

WIRE_FILE = "wire"


def carry_out_live(
    unit: Unit, run: Run, client: EngineClient, folder: Path, *, by_hand: bool, screen: bool
) -> Outcome:
    """Run a plan through the engine until it is over. Raises EngineFault."""
    hands: ImaginedHands | None = None
    if unit.imagined:
        from ui.imagined_hands import ImaginedHands

        hands = ImaginedHands(unit, run, folder / WIRE_FILE, by_hand=by_hand)
    client.send(run)
    if screen:
        from ui.screens.running import watch

        watch(
            client,
            run,
            hands,
            countdown=unit.imagined,
            bell=unit.rig.sounder.driver == "bell",
            clock=client.clock,
        )
    else:
        _follow(client, run, hands)
    sheets = hands.develop() if hands else []
    return Outcome(run.record_id, sheets)


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
