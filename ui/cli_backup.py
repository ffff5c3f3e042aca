"""``dryside backup``: the words of the command line; what they do is in ``ui.commands``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from ui.options import JsonOption

backup_app = typer.Typer(
    help="Copies of all that the unit keeps: book, rig, room, scores, pictures.",
    no_args_is_help=True,
)


@backup_app.command("make")
def backup_make(
    to: Annotated[Path, typer.Option(metavar="FOLDER", help="Where to: a stick that is mounted.")],
    json_: JsonOption = False,
) -> None:
    """Copy all into one dated file and read it back; an engine may be at work meanwhile."""
    from ui.commands.backup import make

    make(to, json_=json_)


@backup_app.command("list")
def backup_list(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where the backups are.")],
    json_: JsonOption = False,
) -> None:
    """List the backups in a folder; every byte of each is checked."""
    from ui.commands.backup import list_

    list_(folder, json_=json_)


@backup_app.command("restore")
def backup_restore(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A backup; a folder: its newest.")],
    json_: JsonOption = False,
) -> None:
    """Bring a backup back; what is here now is put aside, and nothing is deleted."""
    from ui.commands.backup import restore

    restore(file, json_=json_)
