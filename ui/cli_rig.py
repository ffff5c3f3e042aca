"""Commands of ``dryside rig`` that look at the real thing."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from ui.options import JsonOption, RigOption, SetOption


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
