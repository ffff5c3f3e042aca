"""What the page of batches asks of the book, in the book's thread; each says what became of it."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from controller.book import wet
from controller.numbered import numbered
from controller.trays.batch import FIX_AGAIN_S, due_step
from controller.trays.happened import StepWet
from controller.trays.residual import Residual, Seen
from controller.trays.way import Way

if TYPE_CHECKING:
    from controller.book.book import Book


def _now() -> datetime:
    return datetime.now(UTC)


def begun(
    marks: list[str], answer: str, ways: Mapping[str, Way], book: Book, *, anyway: bool
) -> str:
    """Begin a batch, or add to one."""
    if answer.startswith("add "):
        batch = wet.add(book, int(answer.removeprefix("add ")), marks, anyway=anyway)
    else:
        batch = wet.begin(book, ways[answer], marks, _now(), anyway=anyway)
    return f"batch {batch.number} has {numbered(len(batch.sheets), 'print')}"


def did(
    number: int, name: str, took_s: float | None, celsius: float, book: Book, *, anyway: bool
) -> str:
    """Write a step."""
    batch = wet.batch(book, number)
    step = due_step(batch, name)
    _, warnings = wet.went_through(
        book, batch, step, _now(), took_s=took_s, celsius=celsius, anyway=anyway
    )
    return "; ".join((f"batch {number}: {step.name} is written down", *warnings))


def taken_back(number: int, book: Book) -> str:
    """Take back what was written last."""
    batch, step = wet.take_back(book, number)
    due = f"; next {batch.next.name}" if batch.next else ""
    return f"batch {number}: {step.name} is taken back{due}"


def tested(number: int, test: Residual, seen: str, book: Book) -> str:
    """Write what a test showed."""
    return wet.tested(book, wet.batch(book, number), test, Seen(seen), _now()).says


def fixed(marks: list[str], book: Book) -> str:
    """Write that prints were fixed again."""
    wet.fixed(book, marks, StepWet("fixer", FIX_AGAIN_S, FIX_AGAIN_S, _now()))
    return f"{' '.join(marks)} fixed again: rinse, clearing and wash count anew"


def out(number: int, mark: str, book: Book) -> str:
    """Take a print out."""
    wet.take_out(book, number, mark, _now())
    return f"{mark} is out of batch {number}"


def merged(into: int, other: int, book: Book) -> str:
    """Write a step."""
    """Begin a batch, or add to one."""
    wet.merge(book, into, other, _now())
    return f"batch {other} goes on in batch {into}"
