"""``dryside paper``: the paper's own curve, filters compared, soft and hard doses solved."""

from __future__ import annotations

from typing import Annotated

import typer

from ui.options import JsonOption

paper_app = typer.Typer(
    help="Paper measured: its curve, ISO speed and range, filters, soft and hard doses.",
    no_args_is_help=True,
)

RelativeOption = Annotated[
    bool,
    typer.Option(
        "--relative", help="Exposures are relative, not log10 lux seconds: no speed is told."
    ),
]


@paper_app.command("fit")
def paper_fit(
    file: Annotated[
        str,
        typer.Argument(
            metavar="FILE.csv",
            help="Columns log_exposure (log10 of lux seconds on the easel) and density.",
        ),
    ],
    relative: RelativeOption = False,
    between: Annotated[
        str,
        typer.Option(metavar="D1-D2", help="Tell the contrast between two densities: 0.2-1.6."),
    ] = "",
    json_: JsonOption = False,
) -> None:
    """Fit the characteristic curve to the densities of five or more patches."""
    from ui.commands.paper_curve import fit

    fit(file, between=between, relative=relative, json_=json_)
