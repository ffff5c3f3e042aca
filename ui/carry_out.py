"""How a plan is carried out: in virtual time, or through the engine and the keeper."""

from __future__ import annotations

import sys

from controller.errors import BadInput
from controller.exposing.told import Run
from controller.ports import Cue
from drivers.places import run_folder
from ui import show
from ui.unit import Outcome, Unit, open_book


def _tell(at_s: float, cue: Cue) -> None:
    """Note what is said over the trays."""
    show.note(f"{int(at_s // 60):3}:{at_s % 60:04.1f}  {cue.text}")


def carry_out(
    unit: Unit,
    run: Run,
    *,
    real_time: bool = False,
    by_hand: bool = False,
    screen: bool | None = None,
) -> Outcome:
    """Carry a plan out: in virtual time, or through the engine and the keeper.

    In real time there is a screen where there is a terminal, unless ``screen`` says otherwise:
    its curtain keeps paper dark, and its space bar is a pedal. Raises BadInput where nobody
    could answer.
    """
    if unit.imagined and not (real_time or by_hand):
        from ui.imagined import carry_out_imagined

        with open_book() as book:
            return carry_out_imagined(unit, run, book, tell=_tell)
    on_screen = sys.stdout.isatty() and sys.stdin.isatty() if screen is None else screen
    if not on_screen and (by_hand or not (unit.imagined or unit.rig.pedal)):
        raise BadInput(
            "without a screen there is no key to tap with",
            "--by-hand" if by_hand else unit.asked,
            "a terminal, or a rig with a [[pedal]]",
        )
    from ui.attach import attach
    from ui.live import carry_out_live

    folder = run_folder()
    client = attach(folder, unit.asked, unit.settings, unit.rig.digest(), screen=on_screen)
    for note in client.hello.notes:
        show.note(note)
    try:
        return carry_out_live(
            unit, run, client, folder, by_hand=by_hand or not unit.imagined, screen=on_screen
        )
    finally:
        client.close()
