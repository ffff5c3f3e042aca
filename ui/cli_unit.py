"""``dryside unit``: the words of the command line; what they do is in ``ui.commands``."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Optional

import typer

from ui.options import RigOption, SetOption

unit_app = typer.Typer(
    help="The unit without a screen, and the unit that starts by itself.", no_args_is_help=True
)
IntoOption = Annotated[
    Optional[Path],  # noqa: UP045
    typer.Option("--into", metavar="FOLDER", help="The root to change: an image, or a try-out."),
]
YesOption = Annotated[bool, typer.Option("--yes", help="Do not ask.")]


@unit_app.command("run")
def unit_run(rig: RigOption = None, settings: SetOption = None) -> None:
    """Run the unit by pedal and sounder alone, with no screen, until it is ended."""
    from ui.commands.unit import run

    run(rig, settings or [])


@unit_app.command("install")
def unit_install(
    rig: Annotated[
        Optional[Path],  # noqa: UP045
        typer.Option("--rig", metavar="FILE", help="The rig file that the unit is to have."),
    ] = None,
    user: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--user", help="Whose unit it is; never root. Usually who types this."),
    ] = None,
    headless: Annotated[
        bool, typer.Option("--headless", help="No red terminal on the first console.")
    ] = False,
    watchdog: Annotated[
        bool, typer.Option("--watchdog", help="Have the watchdog chip reset a frozen machine.")
    ] = False,
    into: IntoOption = None,
    show: Annotated[bool, typer.Option("--show", help="Show what the files will say.")] = False,
    yes: YesOption = False,
) -> None:
    """Have the unit start with the machine: shows all that it is going to do, then asks."""
    from ui.commands.unit_service import install

    install(rig, user, headless=headless, watchdog=watchdog, into=into, show_=show, yes=yes)


@unit_app.command("remove")
def unit_remove(into: IntoOption = None, yes: YesOption = False) -> None:
    """Take away what install wrote; the book, the rig and the scores stay."""
    from ui.commands.unit_service import remove

    remove(into=into, yes=yes)
