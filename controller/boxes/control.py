"""Control strips: the same wedge again and again, charted with limits, as in process control. Pure.

Four figures of each strip are compared with the reference, the mean of the first strips: *white*
(the lightest patch: fog), *speed* (a light grey), *contrast* (a dark grey less the light one) and
*black* (the darkest). Which patches these are is settled once, by the reference.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from controller.boxes.model import PaperReading
from controller.errors import BadInput, Refused

REFERENCES = 3  # strips whose mean is the aim, where there are so many (common practice)
LIGHT_OVER_WHITE, DARK_OVER_WHITE = 0.60, 1.40  # which patches are the light and the dark grey
# By how much a figure may be off before it is watched, and before something is done: densities,
# common practice of process control for paper, no source; the printer may set others.
WATCH, ACT = 0.05, 0.10
WHITE_WATCH, WHITE_ACT = 0.02, 0.04
RUN = 7  # so many on one side of the aim are no chance (1 in 64; a common rule of control charts)


class State(Enum):
    """What a figure asks for."""

    GOOD = "good"
    WATCH = "watch"
    ACT = "act"


class Figure(Enum):
    """What is charted."""

    WHITE = "white"
    SPEED = "speed"
    CONTRAST = "contrast"
    BLACK = "black"


@dataclass(frozen=True, slots=True)
class Limits:
    """By how much figures may be off; white has closer ones."""

    watch: float = WATCH
    act: float = ACT
    white_watch: float = WHITE_WATCH
    white_act: float = WHITE_ACT

    def of(self, figure: Figure) -> tuple[float, float]:
        """Give the limits of watching and of acting for one figure."""
        if figure is Figure.WHITE:
            return self.white_watch, self.white_act
        return self.watch, self.act

    def state(self, figure: Figure, off: float) -> State:
        """Judge one figure."""
        watch, act = self.of(figure)
        if abs(off) > act:
            return State.ACT
        return State.WATCH if abs(off) > watch else State.GOOD


@dataclass(frozen=True, slots=True)
class StripAt:
    """One control strip: by how much each figure is off its aim."""

    reading: PaperReading
    off: dict[Figure, float]
    states: dict[Figure, State]

    @property
    def state(self) -> State:
        """The worst of its figures."""
        order = [State.GOOD, State.WATCH, State.ACT]
        return max(self.states.values(), key=order.index)


@dataclass(frozen=True, slots=True)
class Chart:
    """Control strips in their order, the aim of each figure, and what to say of them."""

    strips: tuple[StripAt, ...]
    aims: dict[Figure, float]
    patches: dict[str, str]  # which patch is white, light, dark, black
    references: int
    advice: tuple[str, ...]


def require_limits(limits: Limits) -> None:
    """Refuse limits that are none. Raises BadInput."""
    if not 0 < limits.watch < limits.act:
        right = "two densities, the first the smaller: --watch 0.05 --act 0.10"
        raise BadInput(f"{limits.watch:g} and {limits.act:g} are no limits", "--watch", right)


def chart(readings: Sequence[PaperReading], limits: Limits) -> Chart:
    """Chart control strips of one filter, the oldest first. Raises Refused where none can be."""
    strips = [{p.label: p.density for p in one.points} for one in readings]
    if not strips:
        raise Refused(
            "there is no control strip yet", ("dryside paper sheet PAPER --control, read when dry",)
        )
    common = [label for label in strips[0] if all(label in one for one in strips)]
    count = min(REFERENCES, max(1, len(strips) - 1))
    aim = {label: sum(one[label] for one in strips[:count]) / count for label in common}
    names = _patches(aim)
    aims = _figures(aim, names)
    charted = []
    for reading, densities in zip(readings, strips, strict=True):
        found = _figures(densities, names)
        off = {figure: found[figure] - aims[figure] for figure in Figure}
        states = {figure: limits.state(figure, off[figure]) for figure in Figure}
        charted.append(StripAt(reading, off, states))
    return Chart(tuple(charted), aims, names, count, tuple(_advice(charted, count)))


# --- inside -----------------------------------------------------------------------------------


def _patches(aim: dict[str, float]) -> dict[str, str]:
    if len(aim) < 4:
        raise Refused(
            f"the control strips share {len(aim)} patches, and a chart takes four or more",
            ("strips that are all made alike",),
        )
    white, black = min(aim.values()), max(aim.values())
    if black - white < DARK_OVER_WHITE:
        raise Refused(
            f"the control strip reaches from {white:.2f} to {black:.2f}, which is too little",
            ("a wedge from white to black",),
        )

    def near(density: float) -> str:
        return min(aim, key=lambda label: abs(aim[label] - density))

    light, dark = near(white + LIGHT_OVER_WHITE), near(white + DARK_OVER_WHITE)
    if light == dark:
        raise Refused("the control strip has no greys to tell", ("finer steps",))
    return {
        "white": min(aim, key=aim.__getitem__),
        "light": light,
        "dark": dark,
        "black": max(aim, key=aim.__getitem__),
    }


def _figures(densities: dict[str, float], names: dict[str, str]) -> dict[Figure, float]:
    return {
        Figure.WHITE: densities[names["white"]],
        Figure.SPEED: densities[names["light"]],
        Figure.CONTRAST: densities[names["dark"]] - densities[names["light"]],
        Figure.BLACK: densities[names["black"]],
    }


def _advice(strips: Sequence[StripAt], count: int) -> list[str]:
    """Say what the newest strip asks for, and what drifts, causes likeliest first."""
    newest = strips[-1]
    told = []
    for figure in Figure:
        state, off = newest.states[figure], newest.off[figure]
        if state is not State.GOOD:
            verb = "act" if state is State.ACT else "watch"
            told.append(f"{verb}: {figure.value} is {off:+.2f}: {_CAUSES[figure, off > 0]}")
    if newest.state is State.ACT and (len(strips) < 2 or strips[-2].state is not State.ACT):
        told.append("make a second control strip before anything is changed: one may be a slip")
    later = strips[count:]
    for figure in Figure:
        last = [one.off[figure] for one in later[-RUN:]]
        same = all(off > 0 for off in last) or all(off < 0 for off in last)
        if len(last) == RUN and same:
            told.append(
                f"{figure.value} has lain on one side for {RUN} strips: it drifts, "
                f"{sum(last) / RUN:+.2f} on the average"
            )
    return told


# Causes in the usual order of likelihood: common practice, no source.
_CAUSES = {
    (Figure.WHITE, True): "fog, an old box, or a developer too warm or too long",
    (Figure.WHITE, False): "another probe or another white under it",
    (Figure.SPEED, True): "a developer too warm, too long or too strong, or more light",
    (Figure.SPEED, False): "a developer cold, short, tired or weak, or less light",
    (Figure.CONTRAST, True): "a fresher developer, or a longer time",
    (Figure.CONTRAST, False): "a tired or cold developer, an old box, or fog",
    (Figure.BLACK, True): "a fresher developer, or another dryness of the sheet",
    (Figure.BLACK, False): "a tired developer, or a sheet pulled early",
}
