"""The command line of the book. Light to load, like the rest of it."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from ui.cli_book_again import again, compare
from ui.cli_book_edition import edition_app
from ui.cli_book_print import find, negative_app, print_app
from ui.options import ByHandOption, JsonOption, LimitOption, RealTimeOption, RigOption, SetOption

book_app = typer.Typer(
    help="The book: what was exposed, and how it came out.", no_args_is_help=True
)
book_app.add_typer(negative_app, name="negative")
book_app.add_typer(print_app, name="print")
book_app.add_typer(edition_app, name="edition")
book_app.command("find")(find)
book_app.command("compare")(compare)
book_app.command("again")(again)


@book_app.command("list")
def book_list(
    limit: LimitOption = 20,
    json_: JsonOption = False,
) -> None:
    """List the newest records."""
    from ui.commands.book import list_records

    list_records(limit, json_=json_)


@book_app.command("show")
def book_show(
    key: Annotated[str, typer.Argument(help="A mark such as K7, or the start of a record id.")],
    json_: JsonOption = False,
) -> None:
    """Show one record: what a plan exposed, on every sheet of its run (a print: print show)."""
    from ui.commands.book import show_record

    show_record(key, json_=json_)


@book_app.command("rest")
def book_rest(
    key: Annotated[
        str, typer.Argument(help="Mark of the interrupted sheet; else the newest.")
    ] = "",
    moved: Annotated[
        Optional[bool],  # noqa: UP045
        typer.Option("--moved/--not-moved", help="Was the sheet moved since?"),
    ] = None,
    spoiled: Annotated[bool, typer.Option("--spoiled", help="Mark it spoiled.")] = False,
    settings: SetOption = None,
    rig: RigOption = None,
    real_time: RealTimeOption = False,
    by_hand: ByHandOption = False,
) -> None:
    """Give an interrupted sheet what it is still owed, or mark it spoiled."""
    from ui.commands.book import rest

    rest(
        key,
        moved=moved,
        spoiled=spoiled,
        rig=rig,
        settings=settings or [],
        real_time=real_time,
        by_hand=by_hand,
    )
