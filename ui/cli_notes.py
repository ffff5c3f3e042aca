"""The command line of spoken notes, within ``book``."""

from __future__ import annotations

from typing import Annotated

import typer

from ui.options import JsonOption

notes_app = typer.Typer(
    help="Notes that were spoken over the trays: hear them, and type them up.",
    no_args_is_help=False,
)


Number = Annotated[int, typer.Argument(min=1, help="Its number in the list.")]


@notes_app.callback(invoke_without_command=True)
def notes(
    context: typer.Context,
    every: Annotated[bool, typer.Option("--all", help="Those that were typed, too.")] = False,
    json_: JsonOption = False,
) -> None:
    """List the notes that nobody has typed yet."""
    if context.invoked_subcommand is None:
        from ui.commands.notes import list_notes

        list_notes(every=every, json_=json_)


@notes_app.command("hear")
def notes_hear(
    number: Number = 1,
    device: Annotated[str, typer.Option(help="The sound device, if not the usual one.")] = "",
) -> None:
    """Play a note."""
    from ui.commands.notes import hear_note

    hear_note(number, device)


@notes_app.command("type")
def notes_type(
    number: Number = 1,
    text: Annotated[str, typer.Argument(help="What it says; asked for if not given.")] = "",
) -> None:
    """Write what a note says: into the book, as a remark on its sheet."""
    from ui.commands.notes import type_note

    type_note(number, text)
