"""The command line of two prints beside each other, and of one again. Light to load."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from ui.cli_book_print import PrintArgument
from ui.options import JsonOption, RigOption, SetOption
from ui.options_convert import (
    Batch,
    Densities,
    Filters,
    FromAperture,
    FromLux,
    FromMagnification,
    Lamp,
    Paper,
    SizeOption,
    Speed,
    Stops,
    ToAperture,
    ToLux,
    ToMagnification,
)


def compare(
    first: PrintArgument,
    second: Annotated[str, typer.Argument(metavar="PRINT", help="The other.")],
    json_: JsonOption = False,
) -> None:
    """Lay two prints beside each other: every difference, in stops and in words."""
    from ui.commands.book_again import compare as command

    command(first, second, json_=json_)


def again(
    key: PrintArgument,
    to: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--to", metavar="SCORE", help="Keep the score to print it again from."),
    ] = None,
    from_magnification: FromMagnification = None,
    to_magnification: ToMagnification = None,
    from_aperture: FromAperture = "",
    to_aperture: ToAperture = "",
    filters: Filters = None,
    from_lux: FromLux = None,
    to_lux: ToLux = None,
    lamp: Lamp = "",
    paper: Paper = "",
    batch: Batch = "",
    speed: Speed = "",
    stops: Stops = "",
    size: SizeOption = "",
    density: Densities = None,
    rig: RigOption = None,
    settings: SetOption = None,
    json_: JsonOption = False,
) -> None:
    """Take a print up again: what has changed since, and the score for it, line by line."""
    from ui.commands.book_again import again as command
    from ui.commands.score_convert import wanted_of

    wanted = wanted_of(
        from_magnification=from_magnification,
        to_magnification=to_magnification,
        from_aperture=from_aperture,
        to_aperture=to_aperture,
        filters=filters or (),
        from_lux=from_lux,
        to_lux=to_lux,
        lamp=lamp,
        paper=paper,
        batch=batch,
        speed=speed,
        stops=stops,
        size=size,
    )
    command(key, wanted, to or "", rig, settings or [], densities=density or (), json_=json_)
