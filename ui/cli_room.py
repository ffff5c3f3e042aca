"""The command line of the room: its lights, the tests that prove it, and what follows."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from ui.options import (
    ByHandOption,
    JsonOption,
    PictureOption,
    PlanOption,
    RealTimeOption,
    RigOption,
    ScreenOption,
    SetOption,
    ways_of,
)

room_app = typer.Typer(
    help="The room: every light that paper can see, and how long paper may see it.",
    no_args_is_help=True,
)
light_app = typer.Typer(help="The lights of the room.", no_args_is_help=True)
room_app.add_typer(light_app, name="light")

AtOption = Annotated[str, typer.Option("--at", help="Where the paper lies: easel or trays.")]
LightName = Annotated[str, typer.Argument(metavar="NAME", help="What you call the light.")]


@room_app.command("show")
def show(
    at: AtOption = "easel",
    picture: PictureOption = None,
    rig: RigOption = None,
    settings: SetOption = None,
    json_: JsonOption = False,
) -> None:
    """Show every light, and what tests have shown of it."""
    from ui.commands.room import show_room

    show_room(at, ways_of(rig, settings), json_=json_, picture=picture)


@light_app.command("add")
def add(
    name: LightName,
    kind: Annotated[
        str,
        typer.Option(help="safelight, screen, indicator, door, enlarger-leak or other."),
    ] = "",
    place: Annotated[str, typer.Option(help="Where it is, in words.")] = "",
    easel_m: Annotated[
        Optional[float],  # noqa: UP045
        typer.Option(help="Metres from it to the easel."),
    ] = None,
    trays_m: Annotated[
        Optional[float],  # noqa: UP045
        typer.Option(help="Metres from it to the trays."),
    ] = None,
    filter_: Annotated[str, typer.Option("--filter", help="Its filter or colour.")] = "",
    bulb: Annotated[str, typer.Option(help="What is in it, such as 15 W.")] = "",
    relay: Annotated[str, typer.Option(help="Its name in the rig, if a relay switches it.")] = "",
    size_m: Annotated[
        Optional[float],  # noqa: UP045
        typer.Option(help="Width of what shines, in metres."),
    ] = None,
    levels: Annotated[
        str, typer.Option(help="Brightness of a screen in percent, such as 25,45,70,100.")
    ] = "",
    safe_time: Annotated[
        str, typer.Option("--safe-time", help="A safe time that is known: 8m.")
    ] = "",
    at: AtOption = "easel",
    rig: RigOption = None,
    settings: SetOption = None,
) -> None:
    """Add a light, or change what is written of one."""
    from ui.commands.room import add_light, levels_asked

    fields = {
        "kind": kind,
        "place": place,
        "easel_m": easel_m,
        "trays_m": trays_m,
        "filter": filter_,
        "bulb": bulb,
        "relay": relay,
        "size_m": size_m,
        "levels": levels_asked(levels) if levels else None,
    }
    add_light(name, fields, safe_time, at, ways_of(rig, settings))


@light_app.command("drop")
def drop(name: LightName, rig: RigOption = None, settings: SetOption = None) -> None:
    """Take a light out, and the results in which it burned."""
    from ui.commands.room import drop_light

    drop_light(name, ways_of(rig, settings))


@light_app.command("changed")
def changed(
    name: LightName,
    what: Annotated[str, typer.Argument(help="bulb, filter or place.")],
    rig: RigOption = None,
    settings: SetOption = None,
) -> None:
    """Note that something of it was changed: tests from before grow old."""
    from ui.commands.room import changed_light

    changed_light(name, what, ways_of(rig, settings))


@room_app.command("test")
def prove(
    kind: Annotated[
        str,
        typer.Argument(
            help="flash (finds the light grey), fog, which (light), coin or cycle; or of "
            "`room wrong`: leak, blades, dark, evenness, alignment, tray, agitation, fix, rinse."
        ),
    ],
    at: AtOption = "easel",
    lights: Annotated[str, typer.Option(help="Which lights, with commas; else all.")] = "",
    flash: Annotated[
        str, typer.Option(help="Exposure that gives a light grey, such as 1.1s.")
    ] = "",
    filter_: Annotated[str, typer.Option("--filter", help="Filter for the flash.")] = "",
    steps: Annotated[str, typer.Option(help="Times of a fog test; else 1m,2m,4m,8m.")] = "",
    time: Annotated[
        str, typer.Option(help="The one time of the other tests; leak: that of one print.")
    ] = "",
    paper: Annotated[str, typer.Option(help="Which paper is proved with it.")] = "",
    keep: Annotated[
        bool, typer.Option("--keep", help="On the simulator: read it by density, and keep that.")
    ] = False,
    anyway: Annotated[
        bool, typer.Option("--anyway", help="Though a likelier cause comes first.")
    ] = False,
    picture: PictureOption = None,
    show_plan: PlanOption = False,
    rig: RigOption = None,
    settings: SetOption = None,
    json_: JsonOption = False,
    real_time: RealTimeOption = False,
    by_hand: ByHandOption = False,
    screen: ScreenOption = None,
) -> None:
    """Make a sheet that proves the room; the unit switches the lights and keeps the time."""
    from controller.room.trials import KINDS
    from ui.commands.room_sheets import make

    ways = ways_of(rig, settings, real_time=real_time, by_hand=by_hand, screen=screen)
    if kind in KINDS:
        from ui.commands.room_trials import make as make_trial

        make_trial(
            kind,
            ways,
            lights=lights,
            time=time,
            flash=flash,
            filter_=filter_,
            paper=paper,
            keep=keep,
            anyway=anyway,
            json_=json_,
            show_plan=show_plan,
            picture=picture,
        )
        return
    make(
        kind,
        ways,
        at=at,
        lights=lights,
        steps=steps,
        time=time,
        flash=flash,
        filter_=filter_,
        paper=paper,
        keep=keep,
        json_=json_,
        show_plan=show_plan,
        picture=picture,
    )


@room_app.command("read")
def read(
    mark: Annotated[str, typer.Argument(help="Mark of the sheet; else the newest.")] = "",
    before: Annotated[
        str, typer.Option(help="First step before the flash that can be told: 3, or none.")
    ] = "none",
    after: Annotated[
        str, typer.Option(help="First step after the flash that can be told: 2, or none.")
    ] = "none",
    changed: Annotated[
        str, typer.Option(help="Columns that differ, with commas; or yes or no.")
    ] = "none",
    patch: Annotated[
        str, typer.Option(help="Of a flash strip: the first patch that is a light grey.")
    ] = "",
    densities: Annotated[
        str, typer.Option(help="Densities of the patches from the left, with commas.")
    ] = "",
    scan: Annotated[
        str, typer.Option(metavar="FILE", help="A scan of the sheet: PNG, JPEG or TIFF.")
    ] = "",
    just_seen: Annotated[
        float, typer.Option(help="With a scan: the least difference that counts as seen.")
    ] = 0.02,
    upside_down: Annotated[
        bool, typer.Option("--upside-down", help="The scan is turned round by half.")
    ] = False,
    iso_range: Annotated[
        Optional[float],  # noqa: UP045
        typer.Option(help="Of the paper, such as 100: an evenness sheet is told in stops."),
    ] = None,
    rig: RigOption = None,
    settings: SetOption = None,
    json_: JsonOption = False,
) -> None:
    """Say what a sheet showed; the room keeps it."""
    from ui.commands.room_trials import read_if_trial

    ways = ways_of(rig, settings)
    if read_if_trial(
        mark,
        ways,
        changed=changed,
        densities=densities,
        scan=scan,
        just_seen=just_seen,
        iso_range=iso_range,
        json_=json_,
    ):
        return
    if scan:
        from ui.commands.room_scan import read_scan

        read_scan(mark, scan, ways, just_seen=just_seen, turned=upside_down, json_=json_)
        return
    from ui.commands.room_sheets import read as command

    command(
        mark,
        ways,
        before=before,
        after=after,
        changed=changed,
        densities=densities,
        patch=patch,
        json_=json_,
    )


@room_app.command("advise")
def advise(
    at: AtOption = "easel",
    wanted: Annotated[str, typer.Option(help="How long paper has to be out.")] = "4m",
    picture: PictureOption = None,
    rig: RigOption = None,
    settings: SetOption = None,
    json_: JsonOption = False,
) -> None:
    """Say which light to put out, move or dim, and what that buys."""
    from ui.commands.room import tell_advice

    tell_advice(at, wanted, ways_of(rig, settings), json_=json_, picture=picture)


@room_app.command("predict")
def predict(
    names: Annotated[list[str], typer.Argument(metavar="NAME...", help="Lights that burn.")],
    at: AtOption = "easel",
    rig: RigOption = None,
    settings: SetOption = None,
    json_: JsonOption = False,
) -> None:
    """Say how long paper is safe under some lights."""
    from ui.commands.room import tell_prediction

    tell_prediction(names, at, ways_of(rig, settings), json_=json_)


@room_app.command("group")
def group(
    name: Annotated[str, typer.Argument(metavar="GROUP", help="composing, easel or trays.")],
    lights: Annotated[
        list[str], typer.Argument(metavar="LIGHT...", help="Which burn then; none for no light.")
    ] = [],  # noqa: B006  (Typer copies it)
    rig: RigOption = None,
    settings: SetOption = None,
) -> None:
    """Say which lights burn while no paper is out, while it is on the easel, or at the trays."""
    from ui.commands.room import set_group

    set_group(name, lights, ways_of(rig, settings))


@room_app.command("budget")
def budget(json_: JsonOption = False) -> None:
    """Show what each sheet that is out has used of its safe time."""
    from ui.commands.paper import tell_budget

    tell_budget(json_=json_)


@room_app.command("paper")
def paper(
    what: Annotated[
        str,
        typer.Argument(
            help="in-the-stop-bath, back-in-the-box, out-of-the-box, cutting-strips, box-shut, "
            "new-box-of-paper, room-light or viewing-light."
        ),
    ],
    mark: Annotated[str, typer.Argument(help="Mark of the sheet, if there are several.")] = "",
) -> None:
    """Tell the running unit where paper is, as a foot can; or ask it for white light."""
    from ui.commands.paper import say_of_paper

    say_of_paper(what, mark)


@room_app.command("wrong")
def wrong(
    symptom: Annotated[
        list[str], typer.Argument(help="Such as: pale line; without one, all that are known.")
    ] = [],  # noqa: B006  (Typer copies it)
    rig: RigOption = None,
    settings: SetOption = None,
    json_: JsonOption = False,
) -> None:
    """What is wrong with my print? Causes, the likeliest first, and what settles each."""
    from ui.commands.room import tell_wrong

    tell_wrong(" ".join(symptom), ways_of(rig, settings), json_=json_)
