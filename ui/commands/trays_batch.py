"""``dryside trays batch``: prints cleared, toned and washed together, and what each got."""

from __future__ import annotations

import time
from collections.abc import Sequence
from datetime import UTC, datetime
from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from controller.book import wet
from controller.errors import BadInput
from controller.stops import parse_time
from controller.trays import batch as pure
from controller.trays.happened import REMEDY, StepWet
from controller.trays.residual import Residual, Seen, steps_of
from controller.trays.way import SHIPPED, known_ways, read_way, shipped, way_named
from controller.written import text_of
from drivers.places import config_folder
from ui import show
from ui.unit import open_book

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.trays.batch import Batch

LONGEST_S = 7 * 86_400.0
E_ = TypeVar("E_", bound=Enum)


def ways(*, json_: bool) -> None:
    """List the ways: the shipped ones, and one's own."""
    known, of_house = known_ways(config_folder()), shipped()
    if json_:
        show.as_json([way.model_dump(mode="json") for way in known.values()])
        return
    for way in known.values():
        total_s = sum(step.time_s for step in way.step)
        own = "" if way == of_house.get(way.name) else "(your own) "
        show.cut(f"{way.name:15} {pure.spoken(total_s):>8}  {own}{way.about}")


def example(name: str) -> None:
    """Print a shipped way as it stands in its file."""
    way_named(name, shipped())
    for file in sorted(SHIPPED.glob("*.toml")):
        text = file.read_text("utf-8")
        if read_way(text, file.name).name == name:
            print(text, end="")


def check(file: str) -> None:
    """Check a file with a way, and show its steps."""
    way = read_way(text_of(Path(file).expanduser(), file, "a file with a way"), file)
    print(f"{way.name} is well: {way.about}")
    for step in way.step:
        print(f"  {step.name}: {pure.spoken(step.time_s)} ({step.source})")


def new(marks: Sequence[str], way: str, *, anyway: bool, json_: bool) -> None:
    """Begin a batch."""
    found = way_named(way, known_ways(config_folder()))
    with open_book() as book:
        batch = wet.begin(book, found, pure.marks_asked(marks), _now(), anyway=anyway)
        _told(batch, json_=json_)


def add(number: int, marks: Sequence[str], *, anyway: bool, json_: bool) -> None:
    """Add prints to a batch."""
    with open_book() as book:
        _told(wet.add(book, number, pure.marks_asked(marks), anyway=anyway), json_=json_)


def out(number: int, mark: str, *, json_: bool) -> None:
    """Take a print out of a batch."""
    with open_book() as book:
        _told(wet.take_out(book, number, pure.marks_asked([mark])[0], _now()), json_=json_)


def merge(into: int, other: int, *, json_: bool) -> None:
    """Let two batches go on as one."""
    with open_book() as book:
        _told(wet.merge(book, into, other, _now()), json_=json_)


def list_batches(*, json_: bool) -> None:
    """List the batches."""
    with open_book() as book:
        found = wet.batches(book)
    if json_:
        show.as_json([_json(batch) for batch in found])
        return
    if not found:
        print("there is no batch; dryside trays batch new K7 K8 begins one")
    for batch in found:
        due = f"next {batch.next.name}" if batch.next else "through"
        marks = " ".join(sheet.mark for sheet in batch.sheets)
        show.cut(f"{batch.number:4}  {show.when(batch.begun_at)}  {batch.way.name}  {due}  {marks}")


def show_card(number: int, celsius: float, *, json_: bool) -> None:
    """Show a batch as a card for the sink."""
    with open_book() as book:
        batch = wet.batch(book, number)
    if json_:
        show.as_json(_json(batch))
        return
    show.lines(pure.card(batch, celsius))


def did(number: int, step: str, took: str, celsius: float, *, anyway: bool, json_: bool) -> None:
    """Write that a batch has been through a step."""
    took_s = _time(took) if took else None
    with open_book() as book:
        batch = wet.batch(book, number)
        _write(book, batch, step, took_s, celsius, anyway=anyway, json_=json_)


def undo(number: int, *, json_: bool) -> None:
    """Take back what was written last of a batch."""
    with open_book() as book:
        batch, step = wet.take_back(book, number)
    if not json_:
        took = f", {pure.spoken(step.actual_s)}" if step.actual_s else ""
        print(f"taken back: {step.name}{took}, of {show.when(step.at)}")
    _told(batch, json_=json_)


def time_step(number: int, name: str, celsius: float, faster: float, *, anyway: bool) -> None:
    """Time a step of a batch, call its end, and write it down unless it ran faster."""
    with open_book() as book:
        batch = wet.batch(book, number)
        step = pure.due_step(batch, name)
        pure.may_do(batch, step, anyway=anyway)
        began = time.monotonic()
        try:
            for at_s, text in pure.calls(step, celsius, had_s=batch.given_s(step)):
                time.sleep(max(began + at_s / faster - time.monotonic(), 0.0))
                print(f"{pure.spoken(at_s):>10}  {text}", flush=True)
        except KeyboardInterrupt:
            took_s = (time.monotonic() - began) * faster
            show.note(
                f"ended after {pure.spoken(took_s)}; nothing is written down: "
                f"dryside trays batch did {number} --time TIME does that"
            )
            raise
        if faster != 1.0:
            show.note("tried out faster than time goes: nothing is written down")
            return
        took_s = time.monotonic() - began
        _write(book, batch, step.name, took_s, celsius, anyway=anyway, json_=False)


def fix(marks: Sequence[str], took: str, planned: str, celsius: float, *, json_: bool) -> None:
    """Write that prints were fixed."""
    step = StepWet("fixer", _time(planned, "--planned"), _time(took), _now(), temperature_c=celsius)
    with open_book() as book:
        before = {batch.number: batch for batch in wet.batches(book)}
        found = wet.fixed(book, pure.marks_asked(marks), step)
        after = wet.batches(book)
    if json_:
        show.as_json(found)
        return
    for each in found:
        print(f"{each.mark}: fixed {pure.spoken(step.actual_s)} of {pure.spoken(step.planned_s)}")
        for text in each.warnings:
            print(f"  {text}")
    _told_of_unknown([each.mark for each in found if not each.record_id])
    for batch in after:
        if batch.next != before[batch.number].next and batch.next:
            print(f"batch {batch.number} goes back to its {batch.next.name}: fixer came into it")


def test(number: int, test_name: str, seen: str, *, json_: bool) -> None:
    """Lead through a test, or write down its outcome."""
    test_of = _one_of(Residual, test_name, "test")
    with open_book() as book:
        batch = wet.batch(book, number)
        if not seen:
            steps = steps_of(test_of)
            if json_:
                show.as_json({"batch": number, "test": test_of.value, "steps": steps})
                return
            for count, text in enumerate(steps, start=1):
                print(f"{count}. {text}")
            print(
                f"then: dryside trays batch test {number} {test_of.value} --seen none|faint|clear"
            )
            return
        outcome = wet.tested(book, batch, test_of, _one_of(Seen, seen, "--seen"), _now())
    if json_:
        show.as_json({"batch": number, "test": test_of.value, "seen": seen, "outcome": outcome})
        return
    print(outcome.says)


def sheet(mark: str, *, json_: bool) -> None:
    """Show all that a print got in the trays."""
    (mark,) = pure.marks_asked([mark])
    with open_book() as book:
        found = wet.sheets_wet(book, mark)
    if json_:
        show.as_json(found)
        return
    if not found:
        print(f"the book has nothing of {mark} in the trays")
    for each in found:
        print(f"{each.mark}, {each.process}:")
        for step in each.steps:
            degrees = f", {step.temperature_c:g} C" if step.temperature_c is not None else ""
            took = f" {pure.spoken(step.actual_s)}" if step.actual_s else ""
            note = f" ({step.note})" if step.note else ""
            print(f"  {show.when(step.at)}  {step.name}{took}{degrees}{note}")
        for text in each.warnings:
            print(f"  {text}")


# -- shared --------------------------------------------------------------------------------------


def _write(
    book: Book,
    batch: Batch,
    name: str,
    took_s: float | None,
    celsius: float,
    *,
    anyway: bool,
    json_: bool,
) -> None:
    step = pure.due_step(batch, name)
    batch, warnings = wet.went_through(
        book, batch, step, _now(), took_s=took_s, celsius=celsius, anyway=anyway
    )
    _told(batch, warnings, json_=json_)


def _told(batch: Batch, warnings: Sequence[str] = (), *, json_: bool) -> None:
    if json_:
        show.as_json({**_json(batch), "warnings": list(warnings)})
        return
    due = batch.next
    marks = " ".join(sheet.mark for sheet in batch.sheets) or "no prints"
    then = f"next {due.name}, {pure.spoken(due.time_s)}" if due else "it is through"
    print(f"batch {batch.number}, {batch.way.name}: {marks}; {then}")
    for text in warnings:
        print(text)
    if batch.under_fixed:
        print(f"fix again first: {' '.join(batch.under_fixed)} ({REMEDY})")
    if not batch.done:
        _told_of_unknown([sheet.mark for sheet in batch.sheets if not sheet.record_id])


def _told_of_unknown(marks: Sequence[str]) -> None:
    """Say which marks the book knows of no sheet: one may be misread in the dark."""
    if marks:
        show.note(f"the book has no sheet {', '.join(marks)}; kept by the mark alone")


def _json(batch: Batch) -> dict[str, Any]:
    return {
        "batch": batch.number,
        "way": batch.way.name,
        "begun_at": batch.begun_at.isoformat(),
        "prints": list(batch.sheets),
        "done": list(batch.done),
        "next": batch.next.name if batch.next else None,
        "under_fixed": batch.under_fixed,
    }


def _time(text: str, where: str = "--time") -> float:
    seconds = parse_time(text, where)
    if not 0 < seconds <= LONGEST_S:
        raise BadInput(f"{text} is no time in a bath", where, "more than 0, up to a week")
    return seconds


def _one_of(kind: type[E_], text: str, where: str) -> E_:
    try:
        return kind(text)
    except ValueError:
        right = ", ".join(str(each.value) for each in kind)
        raise BadInput(f'there is no "{text}"', where, f"one of {right}") from None


def _now() -> datetime:
    return datetime.now(UTC)
