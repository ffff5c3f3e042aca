"""Options of everything that converts a score: what is to change, and what is known."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

Texts = Optional[list[str]]  # noqa: UP045  (Typer reads it at run time)
Figure = Optional[float]  # noqa: UP045

FromMagnification = Annotated[Figure, typer.Option(help="If the score does not say it.")]
ToMagnification = Annotated[
    Figure, typer.Option(help="Length on the easel over length on the negative.")
]
FromAperture = Annotated[str, typer.Option(help="If the score does not say it.")]
ToAperture = Annotated[str, typer.Option(help="The new aperture, as engraved.")]
Filters = Annotated[
    Texts, typer.Option("--filter", metavar="OLD=NEW", help="Another filter, such as 5=4 1/2.")
]
FromLux = Annotated[Figure, typer.Option(help="Light on the easel before, in lux.")]
ToLux = Annotated[Figure, typer.Option(help="Light on the same place now, in lux.")]
Lamp = Annotated[str, typer.Option(help="Another lamp, by its name.")]
Paper = Annotated[str, typer.Option(help="Another paper, by its name.")]
Batch = Annotated[str, typer.Option(help="Another batch of the paper.")]
Speed = Annotated[str, typer.Option(metavar="OLD=NEW", help="ISO speeds, if known: 200=250.")]
Stops = Annotated[str, typer.Option(help="What a strip has settled, such as +1/3.")]
SizeOption = Annotated[str, typer.Option(help="Size in mm such as 203x25, or 8x10in.")]
Densities = Annotated[
    Optional[list[str]],  # noqa: UP045
    typer.Option(
        "--density",
        metavar="REGION=D",
        help="Density of a region on the dry print, to be kept: sky=0.30.",
    ),
]
