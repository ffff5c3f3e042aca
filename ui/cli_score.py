"""The command line of scores and of dry-down. Light to load, like the rest of it."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from ui.options import (
    ApertureOption,
    ByHandOption,
    JsonOption,
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

score_app = typer.Typer(
    help="Scores: all that makes one print. A score is a file, or a name in the folder of scores.",
    no_args_is_help=True,
)
drydown_app = typer.Typer(help="How much a paper darkens as it dries.", no_args_is_help=True)

Name = Annotated[str, typer.Argument(metavar="SCORE", help="A file, or the name of a score.")]
SheetsOption = Annotated[str, typer.Option(help="How many prints in a row.")]
ToOption = Annotated[str, typer.Option("--to", metavar="SCORE", help="Keep it under this name.")]
Texts = Optional[list[str]]  # noqa: UP045  (Typer reads it at run time)


@score_app.command("new")
def new(
    name: Name,
    base: Annotated[str, typer.Option(help="Base exposure: 8, 8.5s, 1m30.")] = "10",
    passes: Annotated[
        Texts,
        typer.Option("--pass", metavar="LABEL:FILTER:DOSE", help="Such as hard:5:-1/3 or a:00:8s."),
    ] = None,
    title: Annotated[str, typer.Option(help="What the print is called.")] = "",
    negative: Annotated[str, typer.Option(help="Which negative.")] = "",
    paper: Annotated[str, typer.Option(help="The paper, as you call it.")] = "",
    batch: Annotated[str, typer.Option(help="Its box or batch.")] = "",
    size: SizeOption = "",
    aperture: ApertureOption = "",
    demo: Annotated[bool, typer.Option("--demo", help="The demonstration score.")] = False,
    json_: JsonOption = False,
) -> None:
    """Begin a score."""
    from ui.commands.score import new as command

    fields = {
        "title": title,
        "negative": negative,
        "paper": paper,
        "batch": batch,
        "aperture": aperture,
    }
    command(name, base=base, passes=passes or (), fields=fields, size=size, demo=demo, json_=json_)


@score_app.command("show")
def show(
    name: Annotated[
        str, typer.Argument(metavar="SCORE", help="A file or a name; without one: all names.")
    ] = "",
    json_: JsonOption = False,
) -> None:
    """Show a score: every exposure in seconds and stops, and what follows the base."""
    from ui.commands.score import show_score

    show_score(name, json_=json_)


@score_app.command("edit")
def edit(
    name: Name,
    settings: Annotated[
        Texts,
        typer.Option(
            "--set", metavar="FIELD=VALUE", help="Such as base_s=12 or passes.hard.dose=-1/3."
        ),
    ] = None,
    passes: Annotated[
        Texts, typer.Option("--pass", metavar="LABEL:FILTER:DOSE", help="Add or change a pass.")
    ] = None,
    burns: Annotated[
        Texts, typer.Option("--burn", metavar="REGION=AMOUNT@PASS", help="Such as sky=+1@soft.")
    ] = None,
    dodges: Annotated[
        Texts, typer.Option("--dodge", metavar="REGION=AMOUNT@PASS", help="Such as door=1/3@hard.")
    ] = None,
    drops: Annotated[
        Texts, typer.Option("--drop", metavar="WHAT", help="Such as burn:sky or pass:hard.")
    ] = None,
    regions: Annotated[
        Texts,
        typer.Option(
            "--region", metavar="NAME=COLUMNS:ROWS", help="Cells of the sketch: sky=1-16:1-4."
        ),
    ] = None,
    sketch_of: Annotated[
        str, typer.Option(metavar="SCORE", help="Take the sketch of regions from another score.")
    ] = "",
    json_: JsonOption = False,
) -> None:
    """Change a score; without an option it is opened in your editor."""
    from ui.commands.score import edit as command

    command(
        name,
        settings=settings or (),
        passes=passes or (),
        burns=burns or (),
        dodges=dodges or (),
        drops=drops or (),
        regions=regions or (),
        sketch_of=sketch_of,
        json_=json_,
    )


@score_app.command("run")
def run(
    name: Name,
    sheets: SheetsOption = "1",
    alternate: Annotated[
        bool,
        typer.Option("--alternate", help="Every second sheet backwards: fewer filter changes."),
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
    """Make a print from a score, or several in a row."""
    from ui.commands.score_run import run as command

    command(
        name,
        ways_of(
            rig, settings, real_time=real_time, by_hand=by_hand, screen=screen, pause_at=pause_at
        ),
        sheets=sheets,
        alternate=alternate,
        picture=picture,
        json_=json_,
        show_plan=show_plan,
    )


@score_app.command("trial")
def trial(
    name: Name,
    region: Annotated[str, typer.Argument(help="The region that the piece is laid on.")],
    size: SizeOption = "",
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
    """Expose a trial piece: all passes, and the burns and dodges that touch its region."""
    from ui.commands.score_run import trial as command

    command(
        name,
        region,
        ways_of(
            rig, settings, real_time=real_time, by_hand=by_hand, screen=screen, pause_at=pause_at
        ),
        size=size,
        picture=picture,
        json_=json_,
        show_plan=show_plan,
    )


@score_app.command("strip")
def strip(
    name: Name,
    kind: Annotated[str, typer.Argument(help="What it is to settle: burn or dodge.")],
    region: Annotated[str, typer.Argument(help="Which region.")],
    within: Annotated[str, typer.Option("--in", help="In which pass; else the last.")] = "",
    step: PatchStepOption = "1/3",
    patches: PatchesOption = "5",
    mode: Annotated[str, typer.Option(help="same-spot, card or window.")] = "same-spot",
    size: SizeOption = "",
    show_plan: PlanOption = False,
    rig: RigOption = None,
    settings: SetOption = None,
    picture: PictureOption = None,
    json_: JsonOption = False,
    real_time: RealTimeOption = False,
    by_hand: ByHandOption = False,
    screen: ScreenOption = None,
) -> None:
    """Make a burn strip or a dodge strip over all that the region else gets."""
    from ui.commands.score_run import strip as command

    command(
        name,
        kind,
        region,
        within,
        ways_of(rig, settings, real_time=real_time, by_hand=by_hand, screen=screen),
        step=step,
        patches=patches,
        mode=mode,
        size=size,
        picture=picture,
        json_=json_,
        show_plan=show_plan,
    )


@score_app.command("add")
def add(
    dose: Annotated[str, typer.Argument(help="How much: 2s.")],
    filter_: Annotated[str, typer.Option("--filter", help="Else that of the last pass.")] = "",
    region: Annotated[str, typer.Option(help="One region; else the whole sheet.")] = "",
    mark: Annotated[str, typer.Option(help="Which print; else the newest.")] = "",
    note: Annotated[str, typer.Option(help="Why.")] = "",
    show_plan: PlanOption = False,
    rig: RigOption = None,
    settings: SetOption = None,
    json_: JsonOption = False,
    real_time: RealTimeOption = False,
    by_hand: ByHandOption = False,
) -> None:
    """Give the sheet that still lies there a deliberate extra."""
    from ui.commands.score_run import add as command

    ways = ways_of(rig, settings, real_time=real_time, by_hand=by_hand)
    command(dose, filter_, region, mark, note, ways, json_=json_, show_plan=show_plan)


@score_app.command("again")
def again(
    key: Annotated[str, typer.Argument(metavar="MARK", help="The mark of a print in the book.")],
    to: ToOption = "",
    sheets: SheetsOption = "1",
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
    extras: Annotated[
        bool, typer.Option("--extras/--no-extras", help="With what was added to that sheet.")
    ] = True,
    show_plan: PlanOption = False,
    rig: RigOption = None,
    settings: SetOption = None,
    picture: PictureOption = None,
    json_: JsonOption = False,
    real_time: RealTimeOption = False,
    by_hand: ByHandOption = False,
    screen: ScreenOption = None,
) -> None:
    """Make a print of the book again, as it was or converted."""
    from ui.commands.score_convert import wanted_of
    from ui.commands.score_run import again as command

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
    command(
        key,
        ways_of(rig, settings, real_time=real_time, by_hand=by_hand, screen=screen),
        wanted,
        to=to,
        sheets=sheets,
        picture=picture,
        json_=json_,
        show_plan=show_plan,
        extras=extras,
    )


@score_app.command("convert")
def convert(
    name: Name,
    to: ToOption = "",
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
    json_: JsonOption = False,
) -> None:
    """Convert a score to another size, aperture, filter, lamp or paper, line by line."""
    from ui.commands.score_convert import convert_score, wanted_of

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
    convert_score(name, wanted, densities=density or (), to=to, json_=json_)


@score_app.command("map")
def wall_map(
    name: Name,
    to: Annotated[str, typer.Option("--to", metavar="PDF", help="Where to leave it.")] = "",
    upright: Annotated[
        bool, typer.Option("--upright", help="As the picture is seen, not as it lies.")
    ] = False,
) -> None:
    """Write the wall map: one page, black on white, turned as the image lies on the easel."""
    from ui.commands.score import write_map

    write_map(name, to, upright=upright)


@score_app.command("schema")
def schema() -> None:
    """Print the JSON Schema of a score."""
    from ui.commands.score import print_schema

    print_schema()


@drydown_app.command("test")
def drydown_test(
    name: Name,
    percents: Annotated[
        str, typer.Option("--percent", help="What the pieces get less; else 4,6,8,10,12,14.")
    ] = "",
    place: Annotated[str, typer.Option(help="Region that the pieces are laid on.")] = "",
    size: SizeOption = "",
    show_plan: PlanOption = False,
    rig: RigOption = None,
    settings: SetOption = None,
    picture: PictureOption = None,
    json_: JsonOption = False,
    real_time: RealTimeOption = False,
    by_hand: ByHandOption = False,
    screen: ScreenOption = None,
) -> None:
    """Expose pieces with less and less, to be dried and laid beside one that is kept wet."""
    from ui.commands.drydown import test

    ways = ways_of(rig, settings, real_time=real_time, by_hand=by_hand, screen=screen)
    test(name, percents, place, size, ways, picture=picture, json_=json_, show_plan=show_plan)


@drydown_app.command("set")
def drydown_set(
    percent: Annotated[str, typer.Argument(help="What looked like the wet piece: 8.")],
    paper: Annotated[str, typer.Option(help="Which paper.")] = "",
    batch: Annotated[str, typer.Option(help="Which batch of it.")] = "",
    record: Annotated[str, typer.Option(help="Mark of a piece of the test.")] = "",
    json_: JsonOption = False,
) -> None:
    """Let the paper remember what a print on it is to get less."""
    from ui.commands.drydown import remember

    remember(percent, paper, batch, record, json_=json_)
