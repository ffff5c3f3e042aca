"""A batch: prints that gathered in the holding bath and go on together, another day if need be.

What has been done is the only state: the next step is the first of the way that has not been.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from difflib import get_close_matches

import msgspec

from controller.errors import BadInput, Refused
from controller.trays.happened import REMEDY, StepWet
from controller.trays.way import STANDARD_C, Step, Way, Work, same_way

FIX_AGAIN_S = 120.0  # how long an under-fixed print is fixed again (common practice, no source)
LONGEST_MARK = 12
BEFORE_TONER = {Work.CLEAR, Work.WASH}  # fixer that they leave stains there


class Sheet(msgspec.Struct, frozen=True):
    """A print of a batch. ``under_fixed``: what was last heard of its fixing was not enough."""

    mark: str
    record_id: str = ""
    under_fixed: bool = False


class Batch(msgspec.Struct, frozen=True):
    """A batch as it stands. ``done`` has what the batch went through, in order."""

    number: int
    way: Way
    sheets: tuple[Sheet, ...]
    begun_at: datetime
    done: tuple[StepWet, ...] = ()

    @property
    def next(self) -> Step | None:
        """Give the next step; None when it has been through."""
        names = {step.name for step in self.done}
        return next((step for step in self.way.step if step.name not in names), None)

    @property
    def last(self) -> StepWet | None:
        """Give the step of the way that was done last."""
        names = {step.name for step in self.way.step}
        return next((each for each in reversed(self.done) if each.name in names), None)

    def given_s(self, step: Step) -> float:
        """Give how long it was in a step, all times together."""
        return sum(each.actual_s for each in self.done if each.name == step.name)

    @property
    def owed(self) -> list[Step]:
        """Give clearing and washing that was done, and for less than its least time."""
        names = {each.name for each in self.done}
        return [
            step
            for step in self.way.step
            if step.work in BEFORE_TONER
            and step.name in names
            and self.given_s(step) < self.least_s(step)
        ]

    def owed_before(self, step: Step) -> list[Step]:
        """Give what is owed of the steps that come before one."""
        order = [each.name for each in self.way.step]
        return [e for e in self.owed if order.index(e.name) < order.index(step.name)]

    def least_s(self, step: Step) -> float:
        """Give the least that a step wants, as warm as it was when it was in there."""
        was_c = {each.name: each.temperature_c for each in self.done}
        return step.at(step.least_s, was_c.get(step.name) or STANDARD_C)

    def rest_s(self, step: Step, celsius: float = STANDARD_C) -> float:
        """Give what a step still lacks of its usual time; 0 where it had that."""
        return max(step.at(step.time_s, celsius) - self.given_s(step), 0.0)

    @property
    def may_get_rest(self) -> list[Step]:
        """Give the steps that may have more: what is owed, and the one that was done last."""
        last = self.last.name if self.last else ""
        owed = self.owed
        return [*owed, *(e for e in self.way.step if e.name == last and e not in owed)]

    @property
    def under_fixed(self) -> list[str]:
        """Give the marks of prints that need to be fixed again."""
        return [sheet.mark for sheet in self.sheets if sheet.under_fixed]


def marks_asked(texts: Sequence[str]) -> list[str]:
    """Read pencil marks as they are typed. Raises BadInput."""
    for text in texts:
        if not (text.isalnum() and text.isascii() and len(text) <= LONGEST_MARK):
            raise BadInput(f'"{text[:20]}" is no mark', "marks", "letters and digits, such as K7")
    return [text.upper() for text in texts]


def due_step(batch: Batch, name: str = "") -> Step:
    """Give the step of that name, else the next. Raises BadInput where none is left."""
    if name:
        return step_named(batch.way, name)
    if batch.next is None:
        raise BadInput(f"batch {batch.number} is through", "step", "a batch that has a step left")
    return batch.next


def step_named(way: Way, name: str) -> Step:
    """Find a step. Raises BadInput."""
    found = {step.name.casefold(): step for step in way.step}
    key = name.strip().casefold()
    if key not in found:
        near = get_close_matches(key, found, 1)
        right = near[0] if near else f"one of {', '.join(found)}"
        raise BadInput(f'"{name}" is no step of {way.name}', "step", right)
    return found[key]


class Owed(Refused):
    """A step before had less than its least time; whoever goes on all the same says so."""


def may_do(batch: Batch, step: Step, *, anyway: bool = False) -> None:
    """Raise Refused if the batch should not go into a step now.

    Steps keep their order: toner and bleach stain where fixer remains. Nothing is toned while a
    print is under-fixed, nor while clearing or washing owes some of its least time; into any other
    step it may then go ``anyway``. The step that was done last may be gone on with, and so may
    what is owed.
    """
    if not batch.sheets:
        raise Refused(f"batch {batch.number} has no prints left", ("another batch",))
    due, last = batch.next, batch.last
    owed = [each.name for each in batch.owed]
    if (last is None or last.name != step.name) and step.name not in owed:
        if step.name in {each.name for each in batch.done}:
            raise Refused(f"{step.name} is done already", (due.name if due else "another batch",))
        if due is not None and due.name != step.name:
            raise Refused(f"{due.name} comes before {step.name}", (f"{due.name} first",))
    if step.work is Work.TONE and owed:
        raise Refused(
            f"{' and '.join(owed)} had less than the least time: fixer left there stains in toner",
            (f"dryside trays batch did {batch.number} '{owed[0]}' --time TIME, for the rest",),
        )
    if step.name not in owed and (short := batch.owed_before(step)) and not anyway:
        least = short[0]
        had, wants = spoken(batch.given_s(least)), spoken(batch.least_s(least))
        raise Owed(
            f"{least.name} had {had} of at least {wants} before {step.name}",
            (f"dryside trays batch did {batch.number} '{least.name}', for the rest", "--anyway"),
        )
    marks = batch.under_fixed
    if step.work is Work.TONE and marks:
        raise Refused(
            f"{' and '.join(marks)} {'is' if len(marks) == 1 else 'are'} under-fixed: {REMEDY}",
            (
                f"dryside trays batch fix {' '.join(marks)}",
                f"dryside trays batch out {batch.number} MARK",
            ),
        )


def do(
    batch: Batch,
    step: Step,
    at: datetime,
    *,
    actual_s: float,
    celsius: float = STANDARD_C,
    anyway: bool = False,
) -> tuple[StepWet, list[str]]:
    """Take a step as done; gives it with what is to be warned of.

    Of a step that was done it is the rest: all its times together are judged.

    Raises Refused (see ``may_do``), BadInput for a temperature that is none.
    """
    may_do(batch, step, anyway=anyway)
    planned_s, least_s = step.at(step.time_s, celsius), step.at(step.least_s, celsius)
    before_s = batch.given_s(step)
    whole_s = before_s + actual_s
    warnings = []
    if whole_s < least_s:
        remedy = "give it the rest" if step.work is not Work.TONE else "look whether it is even"
        warnings.append(f"{step.name} was shorter than {spoken(least_s)}: {remedy}")
    if step.most_s is not None and whole_s > step.most_s:
        warnings.append(f"{step.name} was longer than {spoken(step.most_s)}: look at the prints")
    if short := [each.name for each in batch.owed_before(step)]:
        warnings.append(f"{' and '.join(short)} before it had less than the least time")
    note = "; ".join(warnings)
    planned_s = max(planned_s - before_s, 0.0)
    bath = f"{step.name} {step.dilution}" if step.dilution else ""
    return StepWet(step.name, planned_s, actual_s, at, bath, 0.0, celsius, note), warnings


def merged(into: Batch, other: Batch) -> tuple[Sheet, ...]:
    """Give the sheets of two batches as one. Raises Refused where they are not equally far."""
    if into.number == other.number:
        raise Refused("a batch cannot be merged with itself", ("two batches",))
    if not same_way(into.way, other.way):
        raise Refused(
            f"batch {into.number} goes through {into.way.name}, batch {other.number} through "
            f"{other.way.name}",
            ("batches of one way",),
        )
    if [step.name for step in into.done] != [step.name for step in other.done]:
        least = min(into, other, key=lambda batch: len(batch.done))
        due = least.next.name if least.next else "the end"
        raise Refused("they are not equally far", (f"batch {least.number} through {due} first",))
    marks = {sheet.mark for sheet in into.sheets}
    return (*into.sheets, *(sheet for sheet in other.sheets if sheet.mark not in marks))


def spoken(seconds: float) -> str:
    """Say a time: 45 s, 5 min, 2 min 30."""
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    minutes, rest = divmod(whole, 60)
    return f"{minutes} min {rest:02d}" if rest else f"{minutes} min"


def card(batch: Batch, celsius: float = STANDARD_C) -> list[str]:
    """Write the card for the sink: prints, steps with their times, what to beware of."""
    lines = [f"Batch {batch.number}: {batch.way.name}, {batch.way.about}"]
    lines.append(f"Prints ({len(batch.sheets)}): {' '.join(s.mark for s in batch.sheets)}")
    done = {step.name: step for step in batch.done}
    for number, step in enumerate(batch.way.step, start=1):
        if step.name in done:
            was = done[step.name]
            had = f"  x {number}. {step.name}: {spoken(was.actual_s)}"
            owed = f", OF AT LEAST {spoken(batch.least_s(step))}" if step in batch.owed else ""
            lines.append(had + owed)
            continue
        text = f"  _ {number}. {step.name}{' ' + step.dilution if step.dilution else ''}: "
        text += spoken(step.at(step.time_s, celsius))
        if step.changes > 1:
            text += f" in {step.changes} changes of water"
        bounds = f"at least {spoken(step.at(step.least_s, celsius))}" if step.least_s else ""
        if step.most_s is not None:
            bounds += f"{', ' if bounds else ''}at most {spoken(step.most_s)}"
        lines.append(f"{text} ({bounds})" if bounds else text)
        if step.agitation:
            lines.append(f"       {step.agitation}")
    if batch.under_fixed:
        lines.append(f"FIX AGAIN FIRST: {' '.join(batch.under_fixed)} ({REMEDY})")
    lines += [f"- {text}" for text in batch.way.caution]
    lines.append(f"Times at {celsius:g} C; the makers' data sheets go before them.")
    return lines


def calls(
    step: Step, celsius: float = STANDARD_C, *, had_s: float = 0.0
) -> list[tuple[float, str]]:
    """Give what is called in a step, and when, in seconds from its start; the last is its end.

    ``had_s``: it had so much before, and this is the rest.
    """
    if had_s:
        rest_s = max(step.at(step.time_s, celsius) - had_s, 0.0)
        end = f"{step.name} done, lift and drain"
        return [(0.0, f"{step.name}, the rest, {spoken(rest_s)}"), (rest_s, end)]
    whole_s = step.at(step.time_s, celsius)
    out = [(0.0, f"{step.name}, {spoken(whole_s)}")]
    fill_s = whole_s / step.changes
    for fill in range(2, step.changes + 1):
        out.append(((fill - 1) * fill_s, f"change the water, {fill} of {step.changes}"))
    for left_s, text in ((60.0, "one minute left"), (10.0, "ten")):
        if whole_s >= 2 * left_s:
            out.append((whole_s - left_s, text))
    out.append((whole_s, f"{step.name} done, lift and drain"))
    return sorted(out, key=lambda call: call[0])
