"""``dryside paper``: boxes of paper, their calibration sheets, and what was read of them."""

from __future__ import annotations

from typing import Annotated, Optional

import typer

from ui.cli_paper import paper_app
from ui.options import (
    ByHandOption,
    FilterOption,
    JsonOption,
    PatchesOption,
    PictureOption,
    PlanOption,
    RealTimeOption,
    RigOption,
    ScreenOption,
    SetOption,
    ways_of,
)
from ui.options_convert import Densities

__all__ = ["paper_app"]  # the one app of this word, with these commands in it

PaperArgument = Annotated[
    str, typer.Argument(help="The paper, such as pearl; of several boxes one: pearl/1234.")
]
DeveloperOption = Annotated[str, typer.Option(help="The developer; else the box's own.")]
TimeOption = Annotated[str, typer.Option(help="Time in the developer, such as 2m.")]


MarkArgument = Annotated[str, typer.Argument(help="The sheet's mark, such as K7.")]
ScoreArgument = Annotated[str, typer.Argument(help="The score: its name or its file.")]


@paper_app.command("new")
def paper_new(
    name: Annotated[str, typer.Argument(help="What you call it, as in your scores.")],
    maker: Annotated[str, typer.Option(help="Its maker, as printed on the box.")] = "",
    type_: Annotated[str, typer.Option("--type", help="Its type or grade, as printed.")] = "",
    surface: Annotated[str, typer.Option(help="Such as glossy or matt.")] = "",
    base: Annotated[str, typer.Option(help="fibre or resin-coated.")] = "",
    box: Annotated[str, typer.Option(help="Number of the box, or of the emulsion.")] = "",
    opened: Annotated[str, typer.Option(help="The day it was opened: 2026-11-26.")] = "",
    developer: Annotated[str, typer.Option(help="The developer it goes in.")] = "",
    time: TimeOption = "",
    json_: JsonOption = False,
) -> None:
    """Write a box of paper down."""
    from controller.boxes.asked import AskedBox
    from ui.commands.paper_batch import new

    new(
        AskedBox(name, maker, type_, surface, base, box, opened, developer, time),
        json_=json_,
    )


@paper_app.command("list")
def paper_list(json_: JsonOption = False) -> None:
    """List the boxes of paper, the newest first."""
    from ui.commands.paper_batch import list_batches

    list_batches(json_=json_)


@paper_app.command("show")
def paper_show(paper: PaperArgument, json_: JsonOption = False) -> None:
    """Show a box of paper, and what was read of it."""
    from ui.commands.paper_batch import show_batch

    show_batch(paper, json_=json_)


@paper_app.command("sheet")
def paper_sheet(
    paper: PaperArgument,
    filter_: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option("--filter", help="A filter; several times for a set, one sheet each."),
    ] = None,
    split: Annotated[
        str, typer.Option(metavar="SOFT,HARD", help="The three sheets of a split: 21, 21 and 15.")
    ] = "",
    base: Annotated[
        str, typer.Option(help="Dose of patch A, or of the one exposure through a tablet.")
    ] = "1.2",
    hard_base: Annotated[str, typer.Option(help="With --split: patch A of the hard wedge.")] = "",
    step: Annotated[str, typer.Option(help="From patch to patch.")] = "2/5",
    patches: PatchesOption = "21",
    mode: Annotated[str, typer.Option(help="The tool in the hand: card or window.")] = "card",
    tablet: Annotated[
        str,
        typer.Option(
            help="By contact with a tablet: 21, 31, 41 (nominal), its densities, or a file of them."
        ),
    ] = "",
    lux: Annotated[
        str, typer.Option(help="Light at the easel without filter, if metered: speeds need it.")
    ] = "",
    aperture: Annotated[str, typer.Option(help="Aperture as engraved.")] = "",
    size: Annotated[str, typer.Option(help="The piece, such as 203x25.")] = "",
    developer: DeveloperOption = "",
    time: TimeOption = "",
    keep: Annotated[
        bool, typer.Option("--keep", help="On the simulator: keep what its paper became.")
    ] = False,
    control: Annotated[
        bool, typer.Option("--control", help="A control strip: it only watches the process.")
    ] = False,
    rig: RigOption = None,
    settings: SetOption = None,
    picture: PictureOption = None,
    json_: JsonOption = False,
    show_plan: PlanOption = False,
    real_time: RealTimeOption = False,
    by_hand: ByHandOption = False,
    screen: ScreenOption = None,
) -> None:
    """Make a calibration sheet: patches of known exposure, the negative out."""
    from controller.boxes.asked import AskedSheet
    from ui.commands.paper_sheet import make

    asked = AskedSheet(
        filters=tuple(filter_ or ()),
        split=split,
        base=base,
        hard=hard_base,
        step=step,
        patches=patches,
        mode=mode,
        tablet=tablet,
        lux=lux,
        aperture=aperture,
        size=size,
        developer=developer,
        time=time,
    )
    make(
        paper,
        asked,
        ways_of(rig, settings, real_time=real_time, by_hand=by_hand, screen=screen),
        keep=keep,
        control=control,
        picture=picture,
        json_=json_,
        show_plan=show_plan,
    )


ControlOption = Annotated[
    bool, typer.Option("--control", help="A control strip: it only watches the process.")
]
NoteOption = Annotated[str, typer.Option(help="A remark that is kept with it.")]


@paper_app.command("read")
def paper_read(
    mark: MarkArgument,
    densities: Annotated[
        list[str] | None,
        typer.Option(
            help="Densities from patch A on, a dash for none; or a file of them. "
            "Several times: the mean of each patch counts."
        ),
    ] = None,
    meter: Annotated[
        str, typer.Option(metavar="SENSOR", help="Read with this densitometer of the rig.")
    ] = "",
    by_eye: Annotated[
        str,
        typer.Option(
            metavar="GREY,BLACK",
            help="The first patch that can be told from white, the first that cannot from black.",
        ),
    ] = "",
    grey: Annotated[
        str, typer.Option(metavar="PATCH=DENSITY", help="By eye: matches this reference grey.")
    ] = "",
    white: Annotated[str, typer.Option(help="By eye: density of the paper's white.")] = "0.06",
    black: Annotated[str, typer.Option(help="By eye: density of its black.")] = "2.05",
    control: ControlOption = False,
    note: NoteOption = "",
    rig: RigOption = None,
    settings: SetOption = None,
    json_: JsonOption = False,
) -> None:
    """Say what a dry calibration sheet became: from a densitometer, or by eye."""
    from ui.commands.paper_read import AskedReading, read

    asked = AskedReading(densities or (), meter, by_eye, grey, white, black)
    read(mark, asked, rig, settings or [], control=control, note=note, json_=json_)


@paper_app.command("scan")
def paper_scan(
    mark: MarkArgument,
    file: Annotated[str, typer.Argument(help="Scan of the dry sheet beside the tablet.")],
    tablet: Annotated[
        str,
        typer.Option(
            help="The reflection tablet's densities from its white end, or a file of them."
        ),
    ],
    below: Annotated[
        bool, typer.Option("--below", help="The tablet lies below the strip, or right of it.")
    ] = False,
    control: ControlOption = False,
    note: NoteOption = "",
    json_: JsonOption = False,
) -> None:
    """Read a calibration sheet from a scan, beside a reflection step tablet."""
    from ui.commands.paper_read import scan

    scan(mark, file, tablet, below=below, control=control, note=note, json_=json_)


@paper_app.command("convert")
def paper_convert(
    score: ScoreArgument,
    onto: Annotated[str, typer.Option("--onto", help="The new box of paper.")],
    from_: Annotated[str, typer.Option("--from", help="The old one; else the score's own.")] = "",
    density: Densities = None,
    filter_: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option("--filter", metavar="OLD=NEW", help="Which filter stands for which: 2=3."),
    ] = None,
    to: Annotated[str, typer.Option(metavar="NAME", help="Keep it as this score.")] = "",
    json_: JsonOption = False,
) -> None:
    """Convert a score to another paper or a new box, so that regions keep their densities."""
    from ui.commands.paper_convert import convert

    convert(score, from_, onto, density or (), filter_ or (), to=to, json_=json_)


@paper_app.command("plot")
def paper_plot(
    paper: PaperArgument,
    picture: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--picture", metavar="FILE", help="Also as .png, .svg or .pdf."),
    ] = None,
    json_: JsonOption = False,
) -> None:
    """Draw a paper's curves, filter by filter; in a picture also its range by soft and hard."""
    from ui.commands.paper_plot import plot

    plot(paper, picture=picture, json_=json_)


@paper_app.command("control")
def paper_control(
    paper: PaperArgument,
    filter_: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--filter", help="Of which filter; else the newest control strip's."),
    ] = None,
    watch: Annotated[float, typer.Option(help="Density by which a figure may be off.")] = 0.05,
    act: Annotated[float, typer.Option(help="Density from which something must be done.")] = 0.10,
    picture: Annotated[
        Optional[str],  # noqa: UP045
        typer.Option("--picture", metavar="FILE", help="The chart as .png, .svg or .pdf."),
    ] = None,
    json_: JsonOption = False,
) -> None:
    """Chart the control strips of a paper, and tell what drifted between two calibrations."""
    from controller.boxes.control import Limits
    from ui.commands.paper_control import control

    control(paper, filter_, Limits(watch, act), picture=picture, json_=json_)


@paper_app.command("match")
def paper_match(
    paper: PaperArgument,
    other: Annotated[str, typer.Argument(help="The other box of paper.")],
    json_: JsonOption = False,
) -> None:
    """Compare two boxes: which filter stands for which, and how much more light it wants."""
    from ui.commands.paper_control import match

    match(paper, other, json_=json_)


@paper_app.command("strip")
def paper_strip(
    paper: PaperArgument,
    filter_: FilterOption = "none",
    base: Annotated[str, typer.Option(help="Exposure of patch A.")] = "8",
    step: Annotated[str, typer.Option(help="From patch to patch.")] = "1/3",
    patches: PatchesOption = "5",
    lux: Annotated[str, typer.Option(help="Light at the place, negative in, no filter.")] = "",
    known: Annotated[
        str, typer.Option(metavar="PATCH=D", help="Or the density that a patch had: C=0.30.")
    ] = "",
    picture: PictureOption = None,
    json_: JsonOption = False,
) -> None:
    """Tell which tones a strip will have on this paper, before it is made."""
    from ui.commands.paper_preview import strip

    strip(paper, filter_, base, step, patches, lux=lux, known=known, picture=picture, json_=json_)


@paper_app.command("preview")
def paper_preview(
    score: ScoreArgument,
    lux: Annotated[
        Optional[list[str]],  # noqa: UP045
        typer.Option(metavar="REGION=LUX", help="Easel light of a region, no filter: sky=0.02."),
    ] = None,
    on: Annotated[str, typer.Option("--on", help="The paper; else the score's own.")] = "",
    json_: JsonOption = False,
) -> None:
    """Tell which tones the regions of a score will have on this paper."""
    from ui.commands.paper_preview import preview

    preview(score, on, lux or (), json_=json_)
