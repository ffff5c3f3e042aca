"""Prints written into a book as a unit would have written them, for the tests of what goes out."""

from __future__ import annotations

from collections.abc import Iterable

from controller.book.book import Book
from controller.enlarger.lamp import Calibration, LampLimits
from controller.events import (
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
from controller.exposing.around import BARE
from controller.keeper import Cause
from controller.plan import Expose
from controller.score.file import to_json
from controller.score.model import Score
from controller.score.plan import plan_score
from controller.strips.strip import Strip, plan_strip

LAMP = {"cold_lag_s": 0.1, "warm_gain_s2": 0.02}


def keep_print(
    book: Book, score: Score, record_id: str, mark: str, *, fate: Fate = Fate.DONE, remark: str = ""
) -> None:
    """Write a print of one sheet."""
    plan = plan_score(score, Calibration(), LampLimits(), BARE)
    book.write(
        RunBegun(record_id, "print", plan.title, to_json(score), plan.to_json(), LAMP, "rig")
    )
    size = (score.paper.width_mm, score.paper.height_mm)
    _keep(book, record_id, mark, size, plan.exposures(), fate, remark)


def keep_strip(book: Book, strip: Strip, record_id: str, mark: str) -> None:
    """Write a test strip."""
    plan = plan_strip(strip, Calibration(), LampLimits(), BARE)
    book.write(
        RunBegun(
            record_id, "strip", plan.title, strip.model_dump_json(), plan.to_json(), LAMP, "rig"
        )
    )
    _keep(book, record_id, mark, (strip.width_mm, strip.height_mm), plan.exposures(), Fate.DONE, "")


def _keep(
    book: Book,
    record_id: str,
    mark: str,
    size: tuple[float, float],
    exposures: Iterable[tuple[int, Expose]],
    fate: Fate,
    remark: str,
) -> None:
    book.write(SheetBegun(record_id, mark, *size))
    for number, (_, one) in enumerate(exposures, start=1):
        pulse = int(mark[1:]) * 1000 + number
        book.write(
            Intended(
                record_id, number, mark, one.label, one.dose_s, 1, pulse, False, filter=one.filter
            )
        )
        on_ns = pulse * 10**6
        made = PulseMade(
            pulse, on_ns, on_ns + int(one.dose_s * 1e9), int(one.dose_s * 1e9), Cause.DEADLINE
        )
        book.write(Made(record_id, number, (made,), one.dose_s, True))
    if remark:
        book.write(Remark(record_id, remark))
    book.write(SheetEnded(record_id, mark, fate))
    book.write(RunEnded(record_id, fate, "" if fate is Fate.DONE else "a sentence"))
