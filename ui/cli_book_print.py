"""The command line of negatives and prints in the book. Light to load, like the rest of it."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from ui.options import JsonOption, LimitOption, RemarkOption

negative_app = typer.Typer(help="Negatives: film, format, sleeve, tags.", no_args_is_help=True)
print_app = typer.Typer(help="Prints: what was found out about them since.", no_args_is_help=True)

Text = Optional[str]  # noqa: UP045  (Typer reads it at run time)
Texts = Optional[list[str]]  # noqa: UP045
Figure = Optional[float]  # noqa: UP045
PrintArgument = Annotated[
    str, typer.Argument(metavar="PRINT", help="Its mark (the newest that has it), or #number.")
]
NameArgument = Annotated[str, typer.Argument(metavar="NEGATIVE", help="Its name: 24-17/3.")]
TagsOption = Annotated[Texts, typer.Option("--tag", help="A word to find it by; may be repeated.")]


@negative_app.command("add")
def negative_add(
    name: NameArgument,
    film: Annotated[str, typer.Option(help="Which film.")] = "",
    format_: Annotated[str, typer.Option("--format", help="Such as 35 mm, 6x6 or 4x5 in.")] = "",
    exposed: Annotated[str, typer.Option(help="When it was exposed, as you write it.")] = "",
    sleeve: Annotated[str, typer.Option(help="Where it lies.")] = "",
    remark: RemarkOption = "",
    tags: TagsOption = None,
    untag: Annotated[Texts, typer.Option("--untag", help="Take a tag off.")] = None,
    json_: JsonOption = False,
) -> None:
    """Put a negative down, or what is new of one that is there."""
    from ui.commands.book_prints import add_negative

    told = {
        "film": film,
        "format": format_,
        "exposed_on": exposed,
        "sleeve": sleeve,
        "remark": remark,
    }
    add_negative(name, told, tags or (), untag or (), json_=json_)


@negative_app.command("list")
def negative_list(
    tag: Annotated[str, typer.Option(help="Only those with this tag.")] = "",
    limit: LimitOption = 100,
    json_: JsonOption = False,
) -> None:
    """List the negatives, the newest first."""
    from ui.commands.book_prints import list_negatives

    list_negatives(tag, limit, json_=json_)


@negative_app.command("show")
def negative_show(name: NameArgument, json_: JsonOption = False) -> None:
    """Show a negative, and the prints of it."""
    from ui.commands.book_prints import show_negative

    show_negative(name, json_=json_)


@print_app.command("show")
def print_show(key: PrintArgument, json_: JsonOption = False) -> None:
    """Show all of one print: score, light, trays, strips, what was told of it since."""
    from ui.commands.book_prints import show_print

    show_print(key, json_=json_)


@print_app.command("rate")
def print_rate(
    key: PrintArgument,
    rating: Annotated[int, typer.Argument(help="1 (worst) to 5 (best).")],
    json_: JsonOption = False,
) -> None:
    """Say how good a print is."""
    from ui.commands.book_prints import tell

    tell(key, {"rating": rating}, json_=json_)


@print_app.command("remark")
def print_remark(
    key: PrintArgument,
    text: Annotated[str, typer.Argument(help="What there is to say; it replaces the last.")] = "",
    dry: Annotated[Text, typer.Option(help="What it looked like dry.")] = None,
    celsius: Annotated[
        Figure, typer.Option("--celsius", help="How warm the developer was.")
    ] = None,
    negative: Annotated[Text, typer.Option(help="Of which negative it is.")] = None,
    json_: JsonOption = False,
) -> None:
    """Write something beside a print."""
    from ui.commands.book_prints import tell

    told = {
        "remark": text or None,
        "dry_note": dry,
        "temperature_c": celsius,
        "negative": negative,
    }
    tell(key, told, json_=json_)


@print_app.command("went")
def print_went(
    key: PrintArgument,
    where: Annotated[str, typer.Argument(help="Where it is now.")],
    json_: JsonOption = False,
) -> None:
    """Say where a print went."""
    from ui.commands.book_prints import tell

    tell(key, {"went": where}, json_=json_)


@print_app.command("tones")
def print_tones(
    key: PrintArgument,
    densities: Annotated[
        list[str], typer.Argument(metavar="REGION=DENSITY", help="Such as sky=0.35.")
    ],
    json_: JsonOption = False,
) -> None:
    """Put down densities that were read off the dry print, region by region."""
    from ui.commands.book_prints import tell_tones

    tell_tones(key, densities, json_=json_)


@print_app.command("attach")
def print_attach(
    key: PrintArgument,
    picture: Annotated[
        str, typer.Option(metavar="FILE", help="A picture of it; a copy is kept with the book.")
    ] = "",
    note: Annotated[str, typer.Option(help="What the picture shows.")] = "",
    strip: Annotated[
        Texts,
        typer.Option(
            "--strip",
            metavar="MARK[=FILE]",
            help="A strip that led to it; with a scan of it, patch A at the left.",
        ),
    ] = None,
    json_: JsonOption = False,
) -> None:
    """Lay a picture, or the strips that led to it, beside a print."""
    from ui.commands.book_prints import attach

    attach(key, picture, note, strip or (), json_=json_)


def find(
    words: Annotated[
        Texts, typer.Argument(help="Words that were written: title, paper, remark, film, place.")
    ] = None,
    negative: Annotated[str, typer.Option(help="Of this negative.")] = "",
    paper: Annotated[str, typer.Option(help="On this paper; a part of its name is enough.")] = "",
    batch: Annotated[str, typer.Option(help="From this batch.")] = "",
    tag: Annotated[str, typer.Option(help="Of negatives with this tag.")] = "",
    since: Annotated[str, typer.Option(metavar="DAY", help="Made on this day or later.")] = "",
    until: Annotated[str, typer.Option(metavar="DAY", help="Made on this day or before.")] = "",
    rated: Annotated[
        Optional[int],  # noqa: UP045
        typer.Option(help="Rated so, or better."),
    ] = None,
    burn: Annotated[str, typer.Option(metavar="REGION", help="With a burn there.")] = "",
    dodge: Annotated[str, typer.Option(metavar="REGION", help="With a dodge there.")] = "",
    over: Annotated[str, typer.Option(metavar="STOPS", help="By more than this.")] = "",
    under: Annotated[str, typer.Option(metavar="STOPS", help="By less than this.")] = "",
    limit: LimitOption = 50,
    json_: JsonOption = False,
) -> None:
    """Find prints: by words, negative, paper, day, tag, or handwork (--burn sky --over 1)."""
    from ui.commands.book_prints import find as command

    command(
        words or (),
        {"negative": negative, "paper": paper, "batch": batch, "tag": tag}
        | {"burn": burn, "dodge": dodge},
        days=(since, until),
        rated=rated,
        stops=(over, under),
        limit=limit,
        json_=json_,
    )
