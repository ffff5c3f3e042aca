"""How a plan is carried out: in virtual time, or through the engine and the keeper."""

from __future__ import annotations

from controller.told import Run
from drivers.places import run_folder
from ui.unit import Outcome, Unit, open_book


def carry_out(
    unit: Unit, run: Run, *, real_time: bool = False, by_hand: bool = False, screen: bool = False
) -> Outcome:
    """Carry a plan out: in virtual time, or through the engine and the keeper."""
    if unit.imagined and not (real_time or by_hand):
        from ui.imagined import carry_out_imagined

        with open_book() as book:
            return carry_out_imagined(unit, run, book)
    from ui.attach import attach
    from ui.live import carry_out_live

    folder = run_folder()
    client = attach(folder, unit.asked, unit.settings, unit.rig.digest(), screen=screen)
    try:
        return carry_out_live(
            unit, run, client, folder, by_hand=by_hand or not unit.imagined, screen=screen
        )
    finally:
        client.close()
