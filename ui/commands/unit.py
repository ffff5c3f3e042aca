"""``dryside unit``: the unit without a screen."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from ui import show
from ui.unit import unit_for


def run(rig: str | None, settings: Sequence[str]) -> None:
    """Be the engine, in the foreground: a long press of the pedal offers what can be done."""
    from drivers.engine_process import main

    unit = unit_for(rig, settings)
    if not unit.rig.pedal:
        show.note("this rig has no pedal: only a terminal that attaches can say go")
    words = ["--rig", unit.asked]
    for setting in unit.settings:
        words += ["--set", setting]
    sys.exit(main(words))


def abandon() -> None:
    """Abandon what runs."""
    from drivers.places import run_folder
    from ui.attach import abandon as ask

    print("abandoned; the lamp is off" if ask(run_folder()) else "nothing runs")
