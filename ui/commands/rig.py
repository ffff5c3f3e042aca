"""``dryside rig`` and ``dryside safe``."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from controller.errors import BadInput
from controller.rig.cautions import warnings
from controller.rig.file import example_rig, find_faults, load_rig, read_raw
from controller.rig.settings import override
from ui import show
from ui.unit import DEFAULT_IMAGINED, configured, unit_for


def check(rig: str | None, settings: Sequence[str], *, json_: bool) -> None:
    """Tell every fault of a rig file, with its remedy; exit code 2 where there is one."""
    asked = rig or configured() or DEFAULT_IMAGINED
    raw, fields = override(read_raw(asked), settings)
    faults = [str(fault) for fault in find_faults(raw, asked, fields)]
    notes = [] if faults else [str(warning) for warning in warnings(raw, asked)]
    if json_:
        show.as_json({"rig": asked, "faults": faults, "warnings": notes})
    else:
        for sentence in faults:
            print(sentence, file=sys.stderr)
        show.lines(f"note: {warning}" for warning in notes)
        if not faults:
            print(f"{asked}: no fault found")
    if faults:
        sys.exit(2)


def example(board: str) -> None:
    """Print an example for a kind of relay board."""
    print(example_rig(board), end="")


def draw(rig: str | None, settings: Sequence[str], folder: Path) -> None:
    """Leave a rig's wiring in a folder: the diagram, pins, parts, and the order of bring-up."""
    from controller.pictures.wiring import draw_wiring
    from controller.rig.wiring import wiring_of
    from controller.rig.wiring_pages import pages

    asked = rig or configured()
    if asked is None:
        raise BadInput(
            "no rig was named, and an imagined one has no wires",
            "rig draw",
            "--rig FILE (dryside rig example > rig.toml gives one to begin with)",
        )
    wiring = wiring_of(load_rig(asked, settings))
    files = {"wiring.svg": draw_wiring(wiring)} | pages(wiring)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in files.items():
            (folder / name).write_text(text, encoding="utf-8")
    except OSError as error:
        raise BadInput(
            f"{folder}: {error.strerror}", "--out", "a folder that can be written"
        ) from error
    show.lines(str(folder / name) for name in files)
    print("Mains work by a licensed electrician; local codes first.")


def safe(rig: str | None, settings: Sequence[str]) -> None:
    """Bring every output to its safe state."""
    from drivers.all_safe import safe_now
    from drivers.places import board_options, run_folder

    unit = unit_for(rig, settings)
    done = safe_now(
        unit.rig.lines(),
        unit.rig.lamp.driver,
        board_options(unit.rig, run_folder()),
        run=run_folder(),
        called={light.name: _as_safelight(light.name) for light in unit.rig.safelight},
    )
    show.lines(done.did)
    if not done.safe:
        sys.exit(1)


def _as_safelight(name: str) -> str:
    return name if "safelight" in name else f"safelight {name}"
