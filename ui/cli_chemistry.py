"""The command line of the chemistry."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from ui.options import JsonOption

chemistry_app = typer.Typer(help="Chemistry: mixing it, and how fresh it is.", no_args_is_help=True)
products_app = typer.Typer(help="What you mix, with its figures.", no_args_is_help=True)
chemistry_app.add_typer(products_app, name="products")

ColonOption = Annotated[
    str,
    typer.Option(metavar="plus|in", help="What a colon means: 1:9 as 1+9, or as one part in 9."),
]
BaseOption = Annotated[
    str, typer.Option(metavar="fibre|resin-coated", help="What the paper is coated on.")
]
AtOption = Annotated[
    str, typer.Option(metavar="TIME", help="When, if not now: 3h or 2d (ago), 2026-05-01 19:30.")
]


BathArgument = Annotated[str, typer.Argument(help="The bath of which tray.")]


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
    from controller.chemistry.asked import AskedCard
    from ui.commands.chemistry import show_card

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


# --- products -------------------------------------------------------------------------------


@products_app.command("list")
def products_list(json_: JsonOption = False) -> None:
    """List the products: yours, and the starting points."""
    from ui.commands.chemistry_products import list_products

    list_products(json_=json_)


@products_app.command("show")
def products_show(
    name: Annotated[str, typer.Argument(help="Its name, or how it begins.")],
    json_: JsonOption = False,
) -> None:
    """Show one product with its figures and their source."""
    from ui.commands.chemistry_products import show_product

    show_product(name, json_=json_)


@products_app.command("example")
def products_example(
    to: Annotated[
        str, typer.Option(metavar="FILE", help="Write it there; never over a file.")
    ] = "",
) -> None:
    """Print the starting points as a file, to be changed into your own."""
    from ui.commands.chemistry_products import example

    example(to)


@products_app.command("check")
def products_check(
    file: Annotated[
        str, typer.Argument(metavar="FILE", help="Else chemistry.toml among the settings.")
    ] = "",
) -> None:
    """Read a file of products, and say what is wrong with it."""
    from ui.commands.chemistry_products import check

    check(file)


# --- baths ----------------------------------------------------------------------------------


@chemistry_app.command("made")
def chemistry_made(
    product: Annotated[str, typer.Argument(help="Of which product.")],
    volume: Annotated[str, typer.Option(help="How much: 1000 (ml), 1.5l.")],
    tray: Annotated[str, typer.Option(help="For which tray; else by the product's kind.")] = "",
    place: Annotated[
        str, typer.Option("--in", metavar="tray|full|half", help="Or in a bottle, full or half.")
    ] = "tray",
    set_of_two: Annotated[
        bool, typer.Option("--set-of-two", help="Two fixing baths of this volume each.")
    ] = False,
    replace: Annotated[
        bool, typer.Option("--replace", help="The former bath was poured out.")
    ] = False,
    dilution: Annotated[str, typer.Option(help="If not the product's own, such as 1+14.")] = "",
    at: AtOption = "",
    json_: JsonOption = False,
) -> None:
    """Put down that a bath was mixed."""
    from ui.commands.chemistry_baths import made

    two = set_of_two
    made(product, volume, tray, place, at, dilution, set_of_two=two, replace=replace, json_=json_)


@chemistry_app.command("used")
def chemistry_used(
    tray: Annotated[list[str], typer.Argument(help="Through which trays; several may be named.")],
    sheets: Annotated[int, typer.Option(min=1, max=1000, help="How many sheets.")] = 1,
    size: Annotated[
        str, typer.Option(help="203x254 (mm); else that of the mark's sheet, or 8x10in.")
    ] = "",
    base: BaseOption = "fibre",
    mark: Annotated[str, typer.Option(help="The mark of the sheet.")] = "",
    at: AtOption = "",
    json_: JsonOption = False,
) -> None:
    """Count sheets that went through trays by hand."""
    from ui.commands.chemistry_baths import used

    used(tray, sheets, size, base, mark, at, json_=json_)


@chemistry_app.command("check")
def chemistry_check(json_: JsonOption = False) -> None:
    """Say where every bath stands, and what is to be done."""
    from ui.commands.chemistry_baths import check

    check(json_=json_)


@chemistry_app.command("history")
def chemistry_history(
    limit: Annotated[int, typer.Option(min=1, max=10_000, help="How many, the newest first.")] = 20,
    json_: JsonOption = False,
) -> None:
    """List every bath there was, with what went through it."""
    from ui.commands.chemistry_baths import past

    past(limit, json_=json_)


@chemistry_app.command("move")
def chemistry_move(
    tray: BathArgument,
    place: Annotated[str, typer.Argument(metavar="tray|full|half", help="Where it is now.")],
    at: AtOption = "",
    json_: JsonOption = False,
) -> None:
    """Put down that a bath was poured into a bottle, or back into its tray."""
    from ui.commands.chemistry_baths import move

    move(tray, place, at, json_=json_)


@chemistry_app.command("rotate")
def chemistry_rotate(
    product: Annotated[str, typer.Argument(help="Of what the fresh one is; else the same.")] = "",
    volume: Annotated[str, typer.Option(help="How much; else as much as before.")] = "",
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Against the advice of chemistry check.")
    ] = False,
    at: AtOption = "",
    json_: JsonOption = False,
) -> None:
    """Two fixing baths: the second becomes the first, a fresh one the second."""
    from ui.commands.chemistry_baths import rotate

    rotate(product, volume, at, anyway=anyway, json_=json_)


@chemistry_app.command("discard")
def chemistry_discard(
    tray: BathArgument,
    at: AtOption = "",
    json_: JsonOption = False,
) -> None:
    """Put down that a bath was poured out or handed in."""
    from ui.commands.chemistry_baths import discard

    discard(tray, at, json_=json_)


@chemistry_app.command("cleaned")
def chemistry_cleaned(
    tray: Annotated[str, typer.Argument(help="Which tray.")],
    at: AtOption = "",
) -> None:
    """Put down that a tray was cleaned."""
    from ui.commands.chemistry_baths import cleaned

    cleaned(tray, at)


@chemistry_app.command("tonight")
def chemistry_tonight(
    sheets: Annotated[int, typer.Option(min=1, max=10_000, help="How many sheets.")],
    size: Annotated[str, typer.Option(help="8x10in, or 203x254 (mm).")] = "8x10in",
    base: BaseOption = "fibre",
    hours: Annotated[float, typer.Option(min=0, max=1000, help="How long it takes.")] = 4.0,
    process: Annotated[
        str, typer.Option(help="What they go through; else what the trays count, or by the base.")
    ] = "",
    json_: JsonOption = False,
) -> None:
    """Say for each bath whether it is enough for an edition, and what to mix if not."""
    from ui.commands.chemistry_baths import tonight

    tonight(sheets, size, base, hours, process, json_=json_)
