"""The command line of editions. Light to load, like the rest of it."""

from __future__ import annotations

from typing import Annotated

import typer

from ui.cli_book_print import PrintArgument
from ui.options import (
    ByHandOption,
    JsonOption,
    PauseOption,
    PlanOption,
    RealTimeOption,
    RemarkOption,
    RigOption,
    ScreenOption,
    SetOption,
    ways_of,
)

edition_app = typer.Typer(
    help="Editions: numbers are given when a print is signed, dry, in any order.",
    no_args_is_help=True,
)

EditionArgument = Annotated[str, typer.Argument(metavar="EDITION", help="Its name.")]


@edition_app.command("new")
def edition_new(
    name: EditionArgument,
    copies: Annotated[int, typer.Option(help="How many copies there are to be, ever.")],
    proofs: Annotated[int, typer.Option(help="How many artist's proofs beside them.")] = 0,
    negative: Annotated[str, typer.Option(help="Of which negative.")] = "",
    remark: RemarkOption = "",
    json_: JsonOption = False,
) -> None:
    """Begin an edition; how many there are is fixed once the first is signed."""
    from ui.commands.book_editions import new

    new(name, copies, proofs, negative, remark, json_=json_)


@edition_app.command("sign")
def edition_sign(
    name: EditionArgument,
    key: PrintArgument,
    number: Annotated[
        str, typer.Option("--as", help="3/25, AP 1/3, PP, BAT or HC; else the lowest left.")
    ] = "",
    json_: JsonOption = False,
) -> None:
    """Put down that a print was signed, and as which."""
    from ui.commands.book_editions import sign

    sign(name, key, number, json_=json_)


@edition_app.command("show")
def edition_show(
    name: Annotated[str, typer.Argument(metavar="EDITION", help="Its name; else all.")] = "",
    json_: JsonOption = False,
) -> None:
    """Show an edition: what is signed, where it went, what each really got, what is left."""
    from ui.commands.book_editions import show_edition

    show_edition(name, json_=json_)


@edition_app.command("run")
def edition_run(
    name: EditionArgument,
    copies: Annotated[str, typer.Option(help="How many prints in this run.")] = "1",
    score: Annotated[
        str, typer.Option(metavar="SCORE", help="The score; else that of its last good print.")
    ] = "",
    show_plan: PlanOption = False,
    rig: RigOption = None,
    settings: SetOption = None,
    json_: JsonOption = False,
    real_time: RealTimeOption = False,
    by_hand: ByHandOption = False,
    screen: ScreenOption = None,
    pause_at: PauseOption = None,
) -> None:
    """Print copies of an edition, sheet by sheet, and tell how far apart they came out."""
    from ui.commands.book_editions import run

    ways = ways_of(
        rig, settings, real_time=real_time, by_hand=by_hand, screen=screen, pause_at=pause_at
    )
    run(name, copies, score, ways, json_=json_, show_plan=show_plan)
