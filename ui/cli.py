"""The command line. Light to load: whatever a command needs is imported when it runs."""

from __future__ import annotations

import os
import sys
from typing import Annotated, Optional

import typer

from ui.cli_backup import backup_app
from ui.cli_book import book_app
from ui.cli_book_out import book_out_app
from ui.cli_chemistry import chemistry_app
from ui.cli_notes import notes_app
from ui.cli_paper_batch import paper_app
from ui.cli_rig import rig_app
from ui.cli_room import room_app
from ui.cli_score import drydown_app, score_app
from ui.cli_sensors import counters_app, lag_sensor, rig_sensors
from ui.cli_trays import trays_app
from ui.cli_trays_batch import batch_app
from ui.cli_unit import unit_app
from ui.options import (
    ApertureOption,
    ByHandOption,
    FilterOption,
    JsonOption,
    PaceOption,
    PatchesOption,
    PatchStepOption,
    PauseOption,
    PictureOption,
    PlanOption,
    RealTimeOption,
    RigOption,
    ScreenOption,
    SetOption,
    ways_of,
)
from ui.words import only_asked

app = typer.Typer(
    name="dryside",
    help="Runs a black-and-white darkroom: lamp, safelights and test strips, by foot and by ear.",
    no_args_is_help=False,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
)
lag_app = typer.Typer(
    help="The lamp's lag: by a printed test that needs no instrument, or by a sensor.",
    no_args_is_help=True,
)
measure_app = typer.Typer(help="Measurements of the unit itself.", no_args_is_help=True)
app.add_typer(score_app, name="score")
app.add_typer(drydown_app, name="drydown")
app.add_typer(room_app, name="room")
app.add_typer(lag_app, name="lag")
app.add_typer(rig_app, name="rig")
rig_app.add_typer(counters_app, name="counters")
rig_app.command("sensors")(rig_sensors)
lag_app.command("sensor")(lag_sensor)
app.add_typer(trays_app, name="trays")
trays_app.add_typer(batch_app, name="batch")
app.add_typer(chemistry_app, name="chemistry")
app.add_typer(paper_app, name="paper")
app.add_typer(book_app, name="book")
book_app.add_typer(notes_app, name="notes")
book_app.add_typer(book_out_app)
app.add_typer(unit_app, name="unit")
app.add_typer(backup_app, name="backup")
app.add_typer(measure_app, name="measure")


@app.callback(invoke_without_command=True)
def start(context: typer.Context) -> None:
    """Run the unit. Without a command: the red terminal; the demonstration strip in a pipe."""
    if context.invoked_subcommand is None:
        from ui.commands.terminal import start_without_words

        start_without_words()


@app.command()
def strip(
    base: Annotated[str, typer.Option(help="Exposure of patch A: 8, 8.5s, 1m30.")] = "8",
    step: PatchStepOption = "1/3",
    patches: Annotated[str, typer.Option(help="How many patches, from the shortest up.")] = "5",
    mode: Annotated[
        str,
        typer.Option(help="The tool in the hand: card, window, or same-spot (the paper moves)."),
    ] = "card",
    side: Annotated[
        str, typer.Option(help="Where patch A lies: left, right, top or bottom.")
    ] = "left",
    advance: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option(help="Go on by itself so long after each prompt, such as 6s."),
    ] = None,
    place: Annotated[str, typer.Option(help="Where on the picture the strip lies.")] = "",
    filter_: FilterOption = "",
    aperture: ApertureOption = "",
    size: Annotated[str, typer.Option(help="The piece of paper in mm, such as 203x25.")] = "",
    safelights: Annotated[
        str, typer.Option(help="Through the strip: as-they-are or off.")
    ] = "as-they-are",
    over: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option(
            metavar="FILTER=TIME", help="What the whole piece gets first, such as 00=8.2s."
        ),
    ] = None,
    contact: Annotated[
        bool,
        typer.Option("--contact", help="For a contact sheet: the least that is full black."),
    ] = False,
    show_plan: PlanOption = False,
    rig: RigOption = None,
    settings: SetOption = None,
    picture: PictureOption = None,
    json_: JsonOption = False,
    real_time: RealTimeOption = False,
    by_hand: ByHandOption = False,
    screen: ScreenOption = None,
    pause_at: PauseOption = None,
) -> None:
    """Make a test strip."""
    from controller.desk.asked import Asked
    from ui.commands import strip as command

    asked = Asked(
        base=base,
        step=step,
        patches=patches,
        mode=mode,
        side=side,
        advance=advance,
        place=place,
        filter=filter_,
        aperture=aperture,
        size=size,
        safelights=safelights,
        over=tuple(over or ()),
        contact=contact,
    )
    ways = ways_of(
        rig, settings, real_time=real_time, by_hand=by_hand, screen=screen, pause_at=pause_at
    )
    command.make(asked, ways, picture=picture, json_=json_, show_plan=show_plan)


@app.command()
def cross(
    soft: Annotated[
        str, typer.Option(metavar="FILTER=TIME", help="Soft filter, and its shortest exposure.")
    ] = "00=8s",
    hard: Annotated[
        str, typer.Option(metavar="FILTER=TIME", help="Hard filter, and its shortest exposure.")
    ] = "5=4s",
    columns: Annotated[str, typer.Option(help="How many soft exposures, across.")] = "5",
    rows: Annotated[str, typer.Option(help="How many hard exposures, down.")] = "4",
    step: Annotated[str, typer.Option(help="From column to column: 1/3, 2s, 25%.")] = "1/3",
    hard_step: Annotated[str, typer.Option(help="From row to row; else the same.")] = "",
    aperture: ApertureOption = "",
    size: Annotated[str, typer.Option(help="The sheet in mm, or 8x10in.")] = "",
    place: Annotated[str, typer.Option(help="Where on the picture a small piece lies.")] = "",
    show_plan: PlanOption = False,
    rig: RigOption = None,
    settings: SetOption = None,
    picture: PictureOption = None,
    json_: JsonOption = False,
    real_time: RealTimeOption = False,
    by_hand: ByHandOption = False,
    screen: ScreenOption = None,
    pause_at: PauseOption = None,
) -> None:
    """Make a cross: soft exposures across and hard ones down, on one sheet."""
    from controller.desk.asked import AskedCross
    from ui.commands.cross import make

    asked = AskedCross(soft, hard, columns, rows, step, hard_step, aperture, size, place)
    ways = ways_of(
        rig, settings, real_time=real_time, by_hand=by_hand, screen=screen, pause_at=pause_at
    )
    make(asked, ways, picture=picture, json_=json_, show_plan=show_plan)


@app.command()
def pick(
    choice: Annotated[
        list[str],
        typer.Argument(help="A patch (C), a cell (B3), or between neighbours (C-D, C and D)."),
    ],
    judged: Annotated[str, typer.Option(help="How the strip was looked at: wet or dry.")] = "wet",
    record: Annotated[
        str, typer.Option(help="Of which strip: its mark or record; else the newest.")
    ] = "",
    into: Annotated[
        str, typer.Option(metavar="SCORE", help="Write it into this score; a new one is begun.")
    ] = "",
    replace: Annotated[
        bool, typer.Option("--replace", help="Passes of the score that the strip has not may go.")
    ] = False,
    json_: JsonOption = False,
) -> None:
    """Pick a patch or a cell; the exposure to print with is kept."""
    from ui.commands.pick import pick as command

    command(" ".join(choice), judged, record, into=into, replace=replace, json_=json_)


@app.command()
def unsure(
    patch: Annotated[str, typer.Argument(help="The patch whose card moved late, such as C.")],
    record: Annotated[str, typer.Option(help="Of which strip; else the newest.")] = "",
) -> None:
    """Mark a patch as unsure (the card moved late), so that picking it warns."""
    from ui.commands.pick import unsure as command

    command(patch, record)


@app.command()
def cut(
    strips: Annotated[str, typer.Option(help="How many strips from the sheet.")] = "10",
    sheet: Annotated[str, typer.Option(help="The sheet in mm.")] = "203x254",
    count: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option(help="Only say how many strips there are now."),
    ] = None,
    count_in: Annotated[
        bool, typer.Option("--count-in", help="They are cut: count them in.")
    ] = False,
) -> None:
    """Show how to cut a sheet into small strips, and count them in when they are cut."""
    from ui.commands.pick import cut as command

    command(strips, sheet, count, count_in=count_in)


@app.command()
def focus(
    limit: Annotated[str, typer.Option(help="Longest time the focus light may burn.")] = "2m",
    aperture: Annotated[str, typer.Option(help="Working aperture to go back to.")] = "",
    warm_up: Annotated[
        bool, typer.Option("--warm-up", help="Warm the lamp up instead, with the lens capped.")
    ] = False,
    rig: RigOption = None,
    settings: SetOption = None,
    real_time: RealTimeOption = False,
    by_hand: ByHandOption = False,
) -> None:
    """Light the lamp to focus, put it off by itself, and ask for the working aperture."""
    from ui.commands.focus import focus as command

    command(
        limit,
        aperture,
        warm_up=warm_up,
        rig=rig,
        settings=settings or [],
        real_time=real_time,
        by_hand=by_hand,
    )


@lag_app.command("strip")
def lag_strip(
    from_ms: Annotated[str, typer.Option("--from", help="Lag assumed for patch A, in ms.")] = "0",
    to_ms: Annotated[str, typer.Option("--to", help="Lag assumed for the last, in ms.")] = "180",
    patches: PatchesOption = "7",
    pulses: Annotated[str, typer.Option(help="Short pulses in each pulsed half.")] = "12",
    gap: Annotated[
        str, typer.Option(help="Time off between short pulses: a long one first, then 1s.")
    ] = "4s",
    rig: RigOption = None,
    settings: SetOption = None,
    picture: PictureOption = None,
    json_: JsonOption = False,
    real_time: RealTimeOption = False,
    by_hand: ByHandOption = False,
) -> None:
    """Make a lag strip: long pulses beside many short ones, under assumed lags."""
    from ui.commands.lag import lag_strip as command

    command(
        from_ms,
        to_ms,
        patches,
        pulses,
        gap,
        rig=rig,
        settings=settings or [],
        picture=picture,
        json_=json_,
        real_time=real_time,
        by_hand=by_hand,
    )


@lag_app.command("set")
def lag_set(
    lighter: Annotated[
        str, typer.Option(help="Last patch whose pulsed half is visibly lighter.")
    ] = "",
    darker: Annotated[
        str, typer.Option(help="First patch whose pulsed half is visibly darker.")
    ] = "",
    record: Annotated[str, typer.Option(help="Of which lag strip; else the newest.")] = "",
    cold_lag_s: Annotated[
        Optional[float],  # noqa: UP045
        typer.Option(help="Or set the numbers directly: the lag of a cold lamp, in seconds."),
    ] = None,
    warm_gain_s2: Annotated[float, typer.Option(help="The warm gain, in seconds squared.")] = 0.0,
    rig: RigOption = None,
    json_: JsonOption = False,
) -> None:
    """Read a lag strip: say where the pulsed half turns from lighter to darker."""
    from ui.commands.lag import lag_set as command

    command(lighter, darker, record, cold_lag_s, warm_gain_s2, rig=rig, json_=json_)


@app.command()
def safe(rig: RigOption = None, settings: SetOption = None) -> None:
    """Bring every output to its safe state, whoever held it."""
    from ui.commands.rig import safe as command

    command(rig, settings or [])


@app.command()
def abandon() -> None:
    """Abandon what the unit is at: lamp off, and the sheet marked so."""
    from ui.commands.unit import abandon as command

    command()


@app.command()
def terminal(rig: RigOption = None, settings: SetOption = None, pace: PaceOption = None) -> None:
    """Open the red terminal (what `dryside` alone does)."""
    from ui.commands.terminal import open_terminal

    quicker = [] if pace is None else [f"pace={pace}"]
    open_terminal(rig, [*(settings or []), *quicker])


@measure_app.command("timing")
def measure_timing(
    pulses: Annotated[int, typer.Option(min=10, help="Pulses of each kind.")] = 1000,
    on_ms: Annotated[float, typer.Option(min=1, help="Length of a pulse in ms.")] = 20.0,
    load: Annotated[bool, typer.Option("--load/--no-load", help="Beside a busy screen.")] = True,
    json_: JsonOption = False,
) -> None:
    """Measure how exactly the keeper times, beside simpler ways, in one run."""
    from ui.commands.measure import timing

    timing(pulses, on_ms, load=load, json_=json_)


@measure_app.command("terminal")
def measure_terminal(
    pairs: Annotated[int, typer.Option(min=1, help="Pairs of starts.")] = 7,
    idle_s: Annotated[float, typer.Option(min=0.5, help="Seconds of doing nothing.")] = 10.0,
    json_: JsonOption = False,
) -> None:
    """Measure how soon the terminal is there, beside an empty program, and its cost when idle."""
    from ui.commands.measure import terminal

    terminal(pairs, idle_s, json_=json_)


@measure_app.command("book")
def measure_book(
    prints: Annotated[int, typer.Option(min=100, help="Prints in the book.")] = 100_000,
    json_: JsonOption = False,
) -> None:
    """Measure how fast a large book is, beside plain SQL; your own is not touched."""
    from ui.commands.measure import book

    book(prints, json_=json_)


@measure_app.command("foot")
def measure_foot(
    presses: Annotated[int, typer.Option(min=1, help="Pauses, each with a go.")] = 25,
    json_: JsonOption = False,
) -> None:
    """Measure how soon a press is heard, and puts the lamp off, through engine and keeper."""
    from ui.commands.measure import foot

    foot(presses, json_=json_)


def main() -> None:
    """Run the command line; every fault is one sentence and exit code 2."""
    from controller.book.faults import BookFault
    from controller.errors import DrysideError
    from controller.ports import PortFault

    # newer versions of Typer carry a Click of their own: take the class from where it is used
    usage_error: type[Exception] = next(
        c for c in typer.BadParameter.__mro__ if c.__name__ == "ClickException"
    )
    try:
        code = only_asked(app, sys.argv[1:])(standalone_mode=False)
    except typer.Exit as done:
        sys.exit(done.exit_code)
    except (typer.Abort, KeyboardInterrupt):
        sys.exit(130)
    except usage_error as error:
        told = getattr(error, "format_message", None)
        said = told() if told else str(error)
        print(f"{said.rstrip('.')}; `dryside --help` tells what there is.", file=sys.stderr)
        sys.exit(2)
    except (DrysideError, PortFault, BookFault) as error:
        print(error, file=sys.stderr)
        sys.exit(2)
    except BrokenPipeError:
        # whoever read our output has gone; Python would complain once more at its end
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(1)
    sys.exit(code if isinstance(code, int) else 0)


if __name__ == "__main__":
    main()
