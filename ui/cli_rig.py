"""``dryside rig``: the words of the command line; what they do is in ``ui.commands.rig``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ui.options import JsonOption, RigOption, SetOption

rig_app = typer.Typer(help="The rig: what is wired to what.", no_args_is_help=True)


@rig_app.command("check")
def rig_check(rig: RigOption = None, settings: SetOption = None, json_: JsonOption = False) -> None:
    """Look for faults in a rig file, each with its remedy."""
    from ui.commands.rig import check

    check(rig, settings or [], json_=json_)


@rig_app.command("draw")
def rig_draw(
    out: Annotated[Path, typer.Option(help="The folder that is written to.")],
    rig: RigOption = None,
    settings: SetOption = None,
) -> None:
    """Draw a rig's wiring, with its pins, parts and order of bring-up."""
    from ui.commands.rig import draw

    draw(rig, settings or [], out)


@rig_app.command("example")
def rig_example(
    board: Annotated[
        str,
        typer.Argument(
            help="How relays are driven: gpio, modbus (RS-485) or modem-lines (serial)."
        ),
    ] = "gpio",
) -> None:
    """Print a rig file to begin with, every field explained."""
    from ui.commands.rig import example

    example(board)
