"""``dryside paper``: the paper's own curve, filters compared, soft and hard doses solved."""

from __future__ import annotations

from typing import Annotated, Optional

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


SoftOption = Annotated[
    str,
    typer.Option(
        "--soft",
        metavar="SOFT.csv",
        help="Patches of soft light alone: log_exposure,density. log_exposure is log10 of easel "
        "lux, as metered without a filter, times seconds of dose through the soft filter.",
    ),
]
HardOption = Annotated[
    str,
    typer.Option(
        "--hard",
        metavar="HARD.csv",
        help="The same of hard light; the lux measured in the same way, without a filter.",
    ),
]
MixedOption = Annotated[
    str,
    typer.Option(
        "--mixed",
        metavar="MIXED.csv",
        help="Patches of both: soft_log_exposure,hard_log_exposure,density.",
    ),
]
OnOption = Annotated[
    str, typer.Option("--on", metavar="BOX", help="Instead of files: a box of paper in the book.")
]


@paper_app.command("solve")
def paper_solve(
    highlight: Annotated[
        str,
        typer.Option(
            metavar="LUX=DENSITY",
            help="A light tone: its easel light, as the sheets' lux were metered, and the density "
            "it shall have. Dose times this lux is the exposure.",
        ),
    ],
    shadow: Annotated[str, typer.Option(metavar="LUX=DENSITY", help="A dark tone, the same way.")],
    soft: SoftOption = "",
    hard: HardOption = "",
    mixed: MixedOption = "",
    curve: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option(
            metavar="NAME=FILE.csv",
            help="Instead of soft and hard: the curve of a single filter, once for each.",
        ),
    ] = None,
    on: OnOption = "",
    one_filter: Annotated[
        bool, typer.Option("--one-filter", help="Of a box: a single filter, no soft and hard.")
    ] = False,
    also: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option(metavar="LUX", help="A further reading: which density it will get."),
    ] = None,
    bare: Annotated[
        str,
        typer.Option(
            metavar="LUX",
            help="Easel light with the carrier empty: then tones may be told by the negative's "
            "densities, D1.2=0.12.",
        ),
    ] = "",
    json_: JsonOption = False,
) -> None:
    """Solve two tones for soft and hard dose, or for one filter and its dose."""
    from ui.commands.paper_solve import (
        named_fits,
        not_both,
        of_box,
        of_files,
        one_source,
        solve,
        solve_filter,
    )

    one_source(on, soft, hard, mixed, *curve or ())
    if curve:
        not_both(soft, hard)
    if on:
        sheets, fits = of_box(on, one_filter=one_filter)
    elif curve:
        sheets, fits = None, named_fits(curve, "--curve")
    else:
        sheets, fits = of_files(soft, hard, mixed), {}
    if sheets is None:
        solve_filter(fits, highlight, shadow, also or [], bare=bare, json_=json_)
    else:
        solve(sheets, highlight, shadow, also or [], bare=bare, json_=json_)


@paper_app.command("split")
def paper_split(
    soft: SoftOption = "",
    hard: HardOption = "",
    mixed: MixedOption = "",
    on: OnOption = "",
    range_: Annotated[
        str,
        typer.Option("--range", metavar="R", help="The ISO range wanted, such as 90."),
    ] = "",
    json_: JsonOption = False,
) -> None:
    """Tell ISO range and speed for each ratio of soft to hard, or the ratio for a range."""
    from ui.commands.paper_solve import of_box_split, of_files, one_source, split

    one_source(on, soft, hard, mixed)
    split(of_box_split(on) if on else of_files(soft, hard, mixed), range_, json_=json_)


@paper_app.command("filters")
def paper_filters(
    files: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Argument(
            metavar="[NAME=]FILE.csv...",
            help="The curve of each filter, softest first; lux metered without a filter.",
        ),
    ] = None,
    on: OnOption = "",
    against: Annotated[
        str,
        typer.Option(metavar="NAME", help="The filter that factors are told against: the first."),
    ] = "",
    json_: JsonOption = False,
) -> None:
    """Compare filters: range, speed and factor of each, which share a speed point."""
    from ui.commands.paper_solve import filters, named_fits, of_box, one_source

    one_source(on, *files or ())
    fits = of_box(on, one_filter=True)[1] if on else named_fits(files or (), "FILE")
    filters(fits, against, json_=json_)


@paper_app.command("reciprocity")
def paper_reciprocity(
    file: Annotated[
        str,
        typer.Argument(
            metavar="FILE.csv",
            help="Columns lux,dose_s,density: doses given both in bright light and in dim light.",
        ),
    ],
    json_: JsonOption = False,
) -> None:
    """Tell whether long exposures in dim light count in full, and how to make up for it."""
    from ui.commands.paper_curve import reciprocity

    reciprocity(file, json_=json_)
