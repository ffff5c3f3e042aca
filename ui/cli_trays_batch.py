"""The command line of batches: prints that are cleared, toned and washed together."""

from __future__ import annotations

from typing import Annotated

import typer

from ui.options import JsonOption

batch_app = typer.Typer(
    help="Batches of prints from the holding bath: cleared, toned and washed together.",
    no_args_is_help=True,
)

Number = Annotated[int, typer.Argument(metavar="BATCH", min=1, help="Its number.")]
Marks = Annotated[list[str], typer.Argument(metavar="MARKS", help="Pencil marks: K7 K8.")]
TimeOption = Annotated[str, typer.Option(help="How long, draining included: 5m, 90s.")]
CelsiusOption = Annotated[float, typer.Option(help="How warm the bath was.")]
AnywayOption = Annotated[
    bool, typer.Option("--anyway", help="Though a step before it was too short.")
]
TonedOption = Annotated[
    bool, typer.Option("--anyway", help="Though a sheet is a strip's, and would be toned.")
]
Mark = Annotated[str, typer.Argument(metavar="MARK", help="The print.")]


@batch_app.command("ways")
def batch_ways(json_: JsonOption = False) -> None:
    """List the ways: the shipped ones, and yours in the folder ways beside the rig file."""
    from ui.commands.trays_batch import ways

    ways(json_=json_)


@batch_app.command("example")
def batch_example(
    way: Annotated[str, typer.Argument(metavar="WAY", help="The way to begin with.")] = "selenium",
) -> None:
    """Print a way as a file, to be changed by the makers' data sheets."""
    from ui.commands.trays_batch import example

    example(way)


@batch_app.command("check")
def batch_check(
    file: Annotated[str, typer.Argument(help="A file with a way of your own.")],
) -> None:
    """Check a way of your own, and show it."""
    from ui.commands.trays_batch import check

    check(file)


@batch_app.command("new")
def batch_new(
    marks: Marks,
    way: Annotated[
        str, typer.Option(help="One that batch ways lists, or a file.")
    ] = "clear-and-wash",
    anyway: TonedOption = False,
    json_: JsonOption = False,
) -> None:
    """Begin a batch of the prints that wait in the holding bath."""
    from ui.commands.trays_batch import new

    new(marks, way, anyway=anyway, json_=json_)


@batch_app.command("add")
def batch_add(
    number: Number, marks: Marks, anyway: TonedOption = False, json_: JsonOption = False
) -> None:
    """Add prints to a batch that has not begun."""
    from ui.commands.trays_batch import add

    add(number, marks, anyway=anyway, json_=json_)


@batch_app.command("out")
def batch_out(
    number: Number,
    mark: Mark,
    json_: JsonOption = False,
) -> None:
    """Take a print out of a batch."""
    from ui.commands.trays_batch import out

    out(number, mark, json_=json_)


@batch_app.command("merge")
def batch_merge(
    into: Number,
    other: Annotated[int, typer.Argument(metavar="OTHER", min=1, help="It goes on in the first.")],
    json_: JsonOption = False,
) -> None:
    """Let two batches that are equally far go on as one."""
    from ui.commands.trays_batch import merge

    merge(into, other, json_=json_)


@batch_app.command("list")
def batch_list(json_: JsonOption = False) -> None:
    """List the batches, the newest first, and what is next for each."""
    from ui.commands.trays_batch import list_batches

    list_batches(json_=json_)


@batch_app.command("card")
def batch_card(number: Number, celsius: CelsiusOption = 20.0, json_: JsonOption = False) -> None:
    """Show a batch as a card for the sink: prints, steps, times, cautions."""
    from ui.commands.trays_batch import show_card

    show_card(number, celsius, json_=json_)


@batch_app.command("did")
def batch_did(
    number: Number,
    step: Annotated[str, typer.Argument(metavar="STEP", help="Which; else the next.")] = "",
    time: TimeOption = "",
    celsius: CelsiusOption = 20.0,
    anyway: AnywayOption = False,
    json_: JsonOption = False,
) -> None:
    """Write that a batch has been through a step; its usual time if you give none, or the rest."""
    from ui.commands.trays_batch import did

    did(number, step, time, celsius, anyway=anyway, json_=json_)


@batch_app.command("undo")
def batch_undo(number: Number, json_: JsonOption = False) -> None:
    """Take back what was written last of a batch: a step, or a test."""
    from ui.commands.trays_batch import undo

    undo(number, json_=json_)


@batch_app.command("time")
def batch_time(
    number: Number,
    step: Annotated[
        str, typer.Argument(metavar="STEP", help="Which: one that lacks a rest; else the next.")
    ] = "",
    celsius: CelsiusOption = 20.0,
    anyway: AnywayOption = False,
    faster: Annotated[
        float, typer.Option(min=1, max=100_000, help="Try it out, so many times faster; not kept.")
    ] = 1.0,
) -> None:
    """Time the next step, or the rest of one, call its end, and write it down."""
    from ui.commands.trays_batch import time_step

    time_step(number, step, celsius, faster, anyway=anyway)


@batch_app.command("fix")
def batch_fix(
    marks: Marks,
    time: TimeOption = "2m",
    planned: Annotated[str, typer.Option(help="How long it should have been.")] = "2m",
    celsius: CelsiusOption = 20.0,
    json_: JsonOption = False,
) -> None:
    """Write that prints were fixed (again), in or out of a batch."""
    from ui.commands.trays_batch import fix

    fix(marks, time, planned, celsius, json_=json_)


@batch_app.command("test")
def batch_test(
    number: Number,
    test: Annotated[str, typer.Argument(metavar="silver|hypo", help="What may have stayed.")],
    seen: Annotated[
        str, typer.Option(metavar="none|faint|clear", help="The stain, once you have looked.")
    ] = "",
    json_: JsonOption = False,
) -> None:
    """Lead through a test for silver or fixer that stayed, and say what its outcome asks for."""
    from ui.commands.trays_batch import test as command

    command(number, test, seen, json_=json_)


@batch_app.command("sheet")
def batch_sheet(
    mark: Mark,
    json_: JsonOption = False,
) -> None:
    """Show all that a print got in the trays."""
    from ui.commands.trays_batch import sheet

    sheet(mark, json_=json_)
