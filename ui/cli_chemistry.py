"""The command line of the chemistry."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from ui.options import JsonOption

chemistry_app = typer.Typer(help="Chemistry: mixing it, and how fresh it is.", no_args_is_help=True)

ColonOption = Annotated[
    str,
    typer.Option(metavar="plus|in", help="What a colon means: 1:9 as 1+9, or as one part in 9."),
]


@chemistry_app.command("card")
def chemistry_card(
    product: Annotated[
        str, typer.Argument(metavar="PRODUCT", help="A product of yours; else give --dilution.")
    ] = "",
    dilution: Annotated[
        str, typer.Option(help="1+9, 1 in 10, 1+1+8 (A, B and water), or stock.")
    ] = "",
    volume: Annotated[str, typer.Option(help="How much: 1000 (ml), 1.5l, 32floz, 1gal.")] = "",
    tray: Annotated[str, typer.Option(help="Or for a tray: 30x40 (cm), 12x16in.")] = "",
    depth: Annotated[str, typer.Option(help="How deep in the tray, in cm.")] = "2",
    vessel: Annotated[str, typer.Option(help="The largest vessel to mix in, such as 600.")] = "",
    left: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option(help="What is left in the bottle; once for each of A and B."),
    ] = None,
    kind: Annotated[
        str, typer.Option(help="Whose cautions: developer, stop, fixer, selenium, bleach...")
    ] = "",
    colon: ColonOption = "",
    pdf: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--pdf", metavar="FILE", help="Leave it as a large card to pin up."),
    ] = None,
    json_: JsonOption = False,
) -> None:
    """Say how much of each to pour, and what to beware of."""
    from ui.commands.chemistry import AskedCard, show_card

    asked = AskedCard(product, dilution, volume, tray, depth, vessel, tuple(left or ()), kind)
    show_card(asked, colon, pdf, json_=json_)


@chemistry_app.command("percent")
def chemistry_percent(
    from_: Annotated[str, typer.Option("--from", help="Percent of what you have.")],
    volume: Annotated[str, typer.Option(help="How much is to be made.")] = "1000",
    to: Annotated[str, typer.Option(help="Percent of what you want.")] = "",
    take: Annotated[str, typer.Option(help="Or: how much of it is taken; how strong is it?")] = "",
    kind: Annotated[str, typer.Option(help="Whose cautions: stop, bleach...")] = "",
    json_: JsonOption = False,
) -> None:
    """Make a weaker percent solution of a stronger one."""
    from ui.commands.chemistry import percent

    percent(from_, volume, to, take, kind, json_=json_)
