"""Options that many commands share, and how they become the ways of a run."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Optional

import typer

if TYPE_CHECKING:
    from ui.exposing import Ways

RigOption = Annotated[
    Optional[str],  # noqa: UP045  (Typer reads it at run time)
    typer.Option(
        "--rig", metavar="FILE", help="Rig file, or an imagined rig: tungsten, halogen, led."
    ),
]
SetOption = Annotated[
    Optional[list[str]],  # noqa: UP045
    typer.Option(
        "--set",
        metavar="KEY=VALUE",
        help="Override one setting of the rig for this run, such as lamp.cold_lag_s=0.",
    ),
]
PaceOption = Annotated[
    Optional[int],  # noqa: UP045
    typer.Option(
        "--pace",
        metavar="TIMES",
        help="On an imagined rig: its time runs so many times as fast (1 to 30); you do not.",
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print the result as JSON.")]
PictureOption = Annotated[
    Optional[str],  # noqa: UP045
    typer.Option("--picture", metavar="PNG", help="Where to leave the picture."),
]
RealTimeOption = Annotated[
    bool,
    typer.Option("--real-time", help="On an imagined rig: through the real keeper, in real time."),
]
ByHandOption = Annotated[
    bool,
    typer.Option("--by-hand", help="On an imagined rig: you are the printer; space is the pedal."),
]
ScreenOption = Annotated[
    Optional[bool],  # noqa: UP045
    typer.Option("--screen/--no-screen", help="The red screen while it runs."),
]
PlanOption = Annotated[bool, typer.Option("--plan", help="Only show what would be done.")]
PauseOption = Annotated[
    Optional[list[str]],  # noqa: UP045
    typer.Option(
        "--pause-at",
        metavar="T",
        help="On an imagined rig: the printer pauses after so many seconds of light.",
    ),
]
ApertureOption = Annotated[str, typer.Option(help="Working aperture as engraved, such as 8.")]
PatchStepOption = Annotated[str, typer.Option(help="From patch to patch: 1/3 (stops), 2s or 25%.")]
PatchesOption = Annotated[str, typer.Option(help="How many patches.")]
FilterOption = Annotated[str, typer.Option("--filter", help="Filter in the light.")]
LimitOption = Annotated[int, typer.Option(min=1, help="How many, the newest first.")]
RemarkOption = Annotated[str, typer.Option(help="What else there is to say.")]


def ways_of(
    rig: str | None,
    settings: list[str] | None,
    *,
    real_time: bool = False,
    by_hand: bool = False,
    screen: bool | None = None,
    pause_at: list[str] | None = None,
) -> Ways:
    """Put the options of a run together. Raises BadInput."""
    from ui.exposing import Ways, seconds_asked

    pauses = seconds_asked(pause_at or (), "--pause-at")
    return Ways(rig, tuple(settings or ()), real_time, by_hand, screen, pauses)
