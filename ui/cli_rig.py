"""``dryside rig``: the words of the command line; what they do is in ``ui.commands``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from ui.options import JsonOption, RigOption, SetOption

rig_app = typer.Typer(help="The rig: what is wired to what.", no_args_is_help=True)


@rig_app.command("find")
def rig_find(
    ask: Annotated[
        Optional[list[str]],  # noqa: UP045  (Typer reads it at run time)
        typer.Option(
            "--ask",
            metavar="PORT",
            help="Open this serial port and ask what it is; the lamp's plug out first.",
        ),
    ] = None,
    write: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--write", metavar="FILE", help="Write a first rig file."),
    ] = None,
    json_: JsonOption = False,
) -> None:
    """List what is there, by name; nothing is switched."""
    from ui.commands.rig_find import find

    find(ask or [], write, json_=json_)


@rig_app.command("check")
def rig_check(
    rig: RigOption = None,
    settings: SetOption = None,
    hands: Annotated[
        bool,
        typer.Option(
            "--hands", help="Try every part, with the lamp's plug out and an LED in its place."
        ),
    ] = False,
    yes: Annotated[
        bool,
        typer.Option("--yes", help="On an imagined rig, with --hands: every answer is yes."),
    ] = False,
    json_: JsonOption = False,
) -> None:
    """Look for faults in a rig file, each with its remedy; with --hands, in the wiring too."""
    if hands:
        from ui.commands.rig_hands import check_by_hand

        check_by_hand(rig, settings or [], yes=yes, json_=json_)
        return
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
