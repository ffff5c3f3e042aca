"""A deliberate extra on a sheet that has had its score: more light for all of it, or a region."""

from __future__ import annotations

import shlex
from fractions import Fraction

import msgspec

from controller.book.entries import Page, RunKind
from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import BadInput
from controller.exposing.around import Around, require_dose
from controller.exposing.set_up import Needs, ask_for
from controller.plan import SAME_S, Action, Expose, Go, Plan, Sheet
from controller.ports import NO_FILTER, Hands, Shade
from controller.score.amount import stops
from controller.score.doses import Kind, exposures, filter_of, region_names
from controller.score.model import Score
from controller.stops import format_time


class Extra(msgspec.Struct, frozen=True):
    """What is added: seconds of dose, through which filter (none: that of the last pass).

    Version 1. The book keeps it as JSON with the run that gave it.
    """

    dose_s: float
    filter: str = ""
    region: str = ""
    note: str = ""
    version: int = 1

    def to_json(self) -> str:
        """Write it for the book."""
        return msgspec.json.encode(self).decode()

    @staticmethod
    def from_json(text: str) -> Extra | None:
        """Read it out of the book; None for what is no extra of this version."""
        try:
            read = msgspec.json.decode(text, type=Extra)
        except msgspec.MsgspecError:
            return None
        return read if read.version == 1 else None

    @property
    def name(self) -> str:
        """Say what it is, and where."""
        return f"extra on {self.region}" if self.region else "extra"


def plan_extra(
    score: Score,
    extra: Extra,
    number: int,
    lamp: Calibration,
    limits: LampLimits,
    around: Around,
    *,
    place: str = "",
) -> Plan:
    """Make the plan of an extra; ``number`` keeps its label apart from others of the sheet.

    Of a trial piece, which lies on one ``place``, no other can get any. Raises BadInput for such
    a region, and for one that the score does not have, and Refused.
    """
    require_dose("extra", extra.dose_s, lamp, limits)
    known = region_names(score) if score.sketch else ()
    if extra.region and extra.region not in known:
        right = " or ".join(known) or "no region: the score has no sketch"
        raise BadInput(f"the score has no region {extra.region!r}", "--region", right)
    if place and extra.region not in ("", place):
        right = f"{place}, or no region: the whole piece"
        raise BadInput(f"this is a trial piece on {place} only", "--region", right)
    last = score.passes[-1]
    name = extra.filter or filter_of(last)
    aperture = last.aperture or score.setup.aperture
    # a colour head is set as for the last pass, unless a filter is named
    head = (last.yellow, last.magenta) if name == filter_of(last) else (0.0, 0.0)
    actions: list[Action] = [*ask_for(Needs(name, aperture, *head))]
    what = extra.name
    job: Hands = Shade("card", "", held=False)
    if extra.region:
        job = Shade("card", extra.region, score.area((extra.region,)))
    actions.append(Go(f"{what}, {format_time(extra.dose_s)}", job, around.lead_in_s))
    actions += around.darken()
    label = f"{what} ({number + 1})"
    actions.append(Expose(label, extra.dose_s, ticks=bool(extra.region), filter=name))
    return Plan("print", f"{what}, {format_time(extra.dose_s)}", tuple(actions), around.after())


def place_of(made: Plan) -> str:
    """Give the place that the paper of a plan lies on; nothing where it is a whole sheet."""
    return next((action.place for action in made.actions if isinstance(action, Sheet)), "")


def as_edit(extra: Extra, score: Score) -> str:
    """Give the command that puts an extra into a score's file; NAME is that of the score."""
    last = score.passes[-1]
    through = extra.filter or filter_of(last)
    is_bare = through == NO_FILTER
    if not extra.region:
        value = f"extra:{'' if is_bare else through}:{extra.dose_s:g}s"
        return f"dryside score edit NAME --pass {shlex.quote(value)}"
    had = {one.over for one in score.burns if one.regions == (extra.region,)}
    value = f"{extra.region}={extra.dose_s:g}s"
    if through == filter_of(last) and last.label not in had:
        value += f"@{last.label}"
    elif not is_bare:
        value += f":{through}"
    return f"dryside score edit NAME --burn {shlex.quote(value)}"


class Added(msgspec.Struct, frozen=True):
    """An extra that a sheet was given, and how much of it fell, in seconds of dose."""

    extra: Extra
    expose: Expose
    given_s: float


def added_to(page: Page, mark: str) -> list[Added]:
    """Give the extras of one sheet of a record, in order; one that gave no light is none."""
    added = []
    for run in page.runs:
        extra = Extra.from_json(run.spec)
        if run.kind is not RunKind.EXTRA or run.mark != mark or extra is None:
            continue
        own = [entry for entry in page.exposures if entry.run == run.number]
        for _, expose in Plan.from_json(run.plan).exposures():
            entries = [entry for entry in own if entry.label == expose.label]
            given_s = sum(entry.bounds_s[0] for entry in entries)
            if any(entry.full for entry in entries):
                given_s = expose.dose_s
            if given_s > SAME_S:
                added.append(Added(extra, expose, given_s))
    return added


# What a foot can ask for: stops more of the last pass, in the words in which they are spoken.
EXTRAS = {
    "a sixth": Fraction(1, 6),
    "a third": Fraction(1, 3),
    "half a stop": Fraction(1, 2),
    "a stop": Fraction(1),
}


def extra_of(score: Score, choice: str) -> Extra:
    """Give the extra of a spoken choice: so many stops more of the last pass. Raises BadInput."""
    if choice not in EXTRAS:
        raise BadInput(f"{choice!r} is no extra", "add", " or ".join(EXTRAS))
    last = [one for one in exposures(score) if one.kind is Kind.PASS][-1]
    added_s = stops(EXTRAS[choice]).over_s(last.dose_s)
    return Extra(added_s, last.filter, note=f"{choice} more of {last.label}")
