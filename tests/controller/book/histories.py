"""Runs as the runner can make them, and what is to be known of them: a model without SQL."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from itertools import count
from random import Random
from typing import Any

from controller.book.book import Book
from controller.events import (
    Event,
    Fate,
    Intended,
    Made,
    PulseMade,
    Remark,
    RunBegun,
    RunEnded,
    SheetBegun,
    SheetEnded,
)
from controller.keeper import Cause

LETTERS = "ABCDEFGHIJKL"
LAMP = {"cold_lag_s": 0.1, "warm_gain_s2": 0.02}


def now() -> datetime:
    return datetime(2024, 3, 1, 20, 15, tzinfo=UTC)


def begun(record_id: str, *, continues: bool = False) -> RunBegun:
    title = "the rest of a strip" if continues else "a strip"
    return RunBegun(record_id, "strip", title, "{}", "{}", LAMP, "rig.toml", continues)


class Hand:
    """Makes the events of one run, at random, one after the other."""

    def __init__(self, rng: Random, record_id: str, marks: Iterator[str]) -> None:
        self.rng = rng
        self.record_id = record_id
        self.marks = marks
        self.number = 0
        self.pulse = 0

    def run(self) -> Iterator[Event]:
        yield begun(self.record_id)
        while True:
            mark = next(self.marks)
            if self.rng.random() < 0.05:  # abandoned before the sheet was laid
                yield from self._end(mark, Fate.ABANDONED)
                return
            yield SheetBegun(self.record_id, mark, 50.0, 254.0)
            doses = [self.rng.randint(4, 400) for _ in range(self.rng.randint(1, 6))]
            left = {LETTERS[i]: tenths for i, tenths in enumerate(doses)}
            fate = yield from self._expose(mark, left)
            if fate is not Fate.SPOILED:
                yield from self._end(mark, fate)
                return
            yield SheetEnded(self.record_id, mark, fate)

    def rest(self, mark: str, left: dict[str, int]) -> Iterator[Event]:
        """Go on with an interrupted run, on the sheet that lies there."""
        yield begun(self.record_id, continues=True)
        fate = yield from self._expose(mark, left)
        yield from self._end(mark, fate)

    def _end(self, mark: str, fate: Fate) -> Iterator[Event]:
        yield SheetEnded(self.record_id, mark, fate)
        yield RunEnded(self.record_id, fate, "" if fate is Fate.DONE else "a sentence")

    def _expose(self, mark: str, left: dict[str, int]) -> Iterator[Any]:
        """Expose every label, with pauses, refusals and mishaps; doses are whole tenths."""
        for label, tenths in left.items():
            given = 0
            while given < tenths:
                self.number += 1
                yield Intended(
                    self.record_id,
                    self.number,
                    mark,
                    label,
                    (tenths - given) / 10,
                    1,
                    self.pulse + 1,
                    given > 0,
                )
                mishap = self.rng.random()
                if mishap < 0.02:  # abandoned in the lead-in: the exposure stays open
                    return Fate.ABANDONED
                if mishap < 0.2:
                    got = self.rng.randint(0, tenths - given - 1)
                else:
                    got = tenths - given
                yield self._made(got, full=given + got == tenths)
                given += got
                if self.rng.random() < 0.1:
                    yield Remark(self.record_id, "unsure: the card moved late", label)
                if given < tenths and self.rng.random() < 0.2:
                    return self.rng.choice([Fate.SPOILED, Fate.ABANDONED])
        return Fate.DONE

    def _made(self, tenths: int, *, full: bool) -> Made:
        if not tenths:
            return Made(self.record_id, self.number, (), 0.0, False)
        self.pulse += 1
        on_ns = 10**12 + self.pulse * 10**11
        asked_ns = tenths * 10**8 + 10**8
        cause = Cause.DEADLINE if full else Cause.CUT
        pulse = PulseMade(self.pulse, on_ns, on_ns + asked_ns + 1234, asked_ns, cause)
        return Made(self.record_id, self.number, (pulse,), tenths / 10, full)


def history(rng: Random, record_id: str, marks: Iterator[str] | None = None) -> list[Event]:
    return list(Hand(rng, record_id, marks or (f"K{n}" for n in count(1))).run())


# --- the model ------------------------------------------------------------------------------


def expected(events: list[Event]) -> dict[str, Any]:
    """Fold the events of one record into what the book must hold of them."""
    state: dict[str, Any] = {"fate": None, "reason": "", "sheets": {}, "lit": {}, "remarks": []}
    sheets, lit = state["sheets"], state["lit"]
    for event in events:
        match event:
            case RunBegun():
                state |= {"fate": None, "reason": ""}
            case SheetBegun(mark=mark):
                sheets[mark] = None
            case Intended():
                lit[event.number] = (event.mark, event.label, event.dose_s, None, None, ())
            case Made():
                edges = tuple((p.pulse_id, p.on_ns, p.off_ns, p.asked_ns) for p in event.pulses)
                made = (event.delivered_dose_s, event.full, edges)
                lit[event.number] = (*lit[event.number][:3], *made)
            case SheetEnded(mark=mark, fate=fate):
                if mark in sheets:
                    sheets[mark] = fate
            case RunEnded(fate=fate, reason=reason):
                state |= {"fate": fate, "reason": reason}
            case Remark():
                state["remarks"].append((event.label, event.text))
    return state


def held(book: Book, record_id: str) -> dict[str, Any]:
    """Give what the book holds of a record, in the model's form."""
    page = book.record(record_id)
    assert page is not None
    return {
        "fate": page.record.fate,
        "reason": page.record.reason,
        "sheets": {sheet.mark: sheet.fate for sheet in page.sheets},
        "lit": {
            e.number: (
                e.mark,
                e.label,
                e.dose_s,
                e.delivered_dose_s,
                e.full,
                tuple((p.pulse_id, p.on_ns, p.off_ns, p.asked_ns) for p in e.pulses),
            )
            for e in page.exposures
        },
        "remarks": [(remark.label, remark.text) for remark in page.remarks],
    }


def expected_sentence(events: list[Event]) -> str | None:
    """Say by itself what an interrupted run must tell; None where it was not interrupted."""
    state = expected(events)
    if state["fate"] is not None:
        return None
    open_marks = [mark for mark, fate in state["sheets"].items() if fate is None]
    if not open_marks:
        return "a strip: no sheet was under the enlarger"
    mark = open_marks[-1]
    done, partial = [], ""
    sums: dict[str, tuple[float, float]] = {}
    for number in sorted(state["lit"]):
        on_mark, label, dose_s, delivered_s, full, _ = state["lit"][number]
        if on_mark != mark:
            continue
        wanted_s, before_s = sums.get(label, (dose_s, 0.0))
        partial = ""
        if full:
            done.append(label)
        elif delivered_s is None:
            partial = f"{label} between {before_s:.1f} and {wanted_s:.1f} s"
        else:
            partial = f"{label} {before_s + delivered_s:.1f} of {wanted_s:.1f} s"
        sums[label] = (wanted_s, before_s + (delivered_s or 0.0))
    said = []
    if len(done) == 1:
        said.append(f"patch {done[0]} done")
    elif len(done) == 2:
        said.append(f"patches {done[0]} and {done[1]} done")
    elif done:
        said.append(f"patches {done[0]} to {done[-1]} done")
    if partial:
        said.append(partial)
    return f"{mark}: {', '.join(said) or 'nothing exposed yet'}".replace(".0 ", " ")


def told(book: Book, record_id: str) -> str | None:
    cut_off = {one.record.record_id: one for one in book.interrupted()}
    return cut_off[record_id].tell() if record_id in cut_off else None
