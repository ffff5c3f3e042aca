"""The command line of the trays."""

from __future__ import annotations

from typing import Annotated

import typer

from ui.options import JsonOption, RigOption, SetOption

trays_app = typer.Typer(
    help="The clock of the trays: what prints go through, and when each is moved.",
    no_args_is_help=True,
)
process_app = typer.Typer(help="Ways through the trays.", no_args_is_help=True)
trays_app.add_typer(process_app, name="process")
FactorOption = Annotated[
    float | None,
    typer.Option(help="Develop by the first image, times this; else as the process says."),
]


CelsiusOption = Annotated[float, typer.Option(help="How warm developer and fixer are.")]


@trays_app.command("run")
def trays_run(
    prints: Annotated[int, typer.Option(min=1, max=500, help="How many.")] = 3,
    process: Annotated[str, typer.Option(help="What they go through.")] = "fibre",
    celsius: CelsiusOption = 20.0,
    every: Annotated[float, typer.Option(min=1, help="Seconds from light to light.")] = 90.0,
    late: Annotated[float, typer.Option(min=0, max=1, help="Part of moves that is late.")] = 0.0,
    seed: Annotated[int, typer.Option(min=0, help="Which moves are late.")] = 1,
    factor: FactorOption = None,
    image: Annotated[
        float | None, typer.Option(min=6, max=600, help="Tap at the first image, after so long.")
    ] = None,
    rig: RigOption = None,
    settings: SetOption = None,
    json_: JsonOption = False,
) -> None:
    """Let imagined prints go through, in counted time, and tell what would be said."""
    from ui.commands.trays import run_day

    run_day(
        prints,
        process,
        celsius,
        every_s=every,
        late=late,
        seed=seed,
        factor=factor,
        image_s=image,
        rig=rig,
        settings=settings or [],
        json_=json_,
    )


@trays_app.command("show")
def trays_show(json_: JsonOption = False) -> None:
    """Show the sheets that are in the running unit's trays."""
    from ui.commands.trays import show_trays

    show_trays(json_=json_)


@trays_app.command("choose")
def trays_choose(
    process: Annotated[str, typer.Argument(help="A process, or none.")],
    celsius: Annotated[
        float | None, typer.Option(help="How warm developer and fixer are; else as before.")
    ] = None,
    factor: Annotated[
        float | None,
        typer.Option(help="Develop by the first image, times this; else as before."),
    ] = None,
    by_clock: Annotated[
        bool, typer.Option("--by-clock", help="No factor any more, but what the process has.")
    ] = False,
) -> None:
    """Choose what prints go through in the running unit."""
    from ui.commands.trays import choose

    choose(process, celsius, factor, by_clock=by_clock)


@process_app.command("list")
def process_list(
    rig: RigOption = None, settings: SetOption = None, json_: JsonOption = False
) -> None:
    """List the processes: the shipped ones, and those of the rig file."""
    from ui.commands.trays import list_processes

    list_processes(rig, settings or [], json_=json_)


@process_app.command("show")
def process_show(
    name: Annotated[str, typer.Argument(help="One that process list shows.")],
    celsius: CelsiusOption = 20.0,
    rig: RigOption = None,
    settings: SetOption = None,
    json_: JsonOption = False,
) -> None:
    """Show one process, and its times at a temperature."""
    from ui.commands.trays import show_process

    show_process(name, celsius, rig, settings or [], json_=json_)


@process_app.command("example")
def process_example(
    name: Annotated[str, typer.Argument(help="The process to begin with.")] = "fibre",
) -> None:
    """Print a process as tables for a rig file, to be changed by the maker's data sheet."""
    from ui.commands.trays import example

    example(name)
