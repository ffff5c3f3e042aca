"""Which unit this is: its rig, its book, and what came of a plan.

Light to load: rig and book are imported when they are asked for.
"""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from controller.exposing.told import Run
from drivers.places import book_path, config_folder, run_folder

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.book.entries import Judged
    from controller.plan import Plan
    from controller.rig.model import Rig
    from sim.sheet import DevelopedSheet

DEFAULT_IMAGINED = "tungsten"


@dataclass(frozen=True)
class Unit:
    """A rig, and how it was asked for."""

    rig: Rig
    asked: str  # a path, or the name of an imagined rig
    settings: tuple[str, ...] = ()

    @property
    def imagined(self) -> bool:
        """Is the lamp an imagined one?"""
        return self.rig.imagined


@dataclass
class Outcome:
    """What came of a plan; ``sheets`` only from an imagined room."""

    record_id: str
    sheets: list[DevelopedSheet] = field(default_factory=list)


def configured() -> str | None:
    """Give the path of the configured rig file, if there is one."""
    path = config_folder() / "rig.toml"
    return str(path) if path.exists() else None


def unit_for(rig: str | None, settings: Sequence[str]) -> Unit:
    """Load the rig that was asked for, else the configured one, else an imagined one."""
    from controller.rig.file import load_rig

    asked = rig or configured() or DEFAULT_IMAGINED
    return Unit(load_rig(asked, settings), asked, tuple(settings))


def judged_under(choice: str, judged: Judged) -> str:
    """Say which fixed light a patch was judged under; empty where the rig tells none."""
    from controller.errors import DrysideError

    try:
        return unit_for(None, ()).rig.judged_under(choice, judged)
    except DrysideError:
        return ""  # a rig file that is broken costs no judgement


def open_book() -> Book:
    """Open the book, which an engine may be writing: damage is for it to find, and to set aside."""
    from controller.book.book import Book
    from drivers.journal import settle

    book = Book.open(book_path(), now=lambda: datetime.now(UTC), check=False)
    settle(run_folder(), book)  # what a killed engine left, the keeper's journal may know
    return book


def sound_book() -> list[str]:
    """Look the book through where no engine does; gives what is to be said of it.

    A damaged one is kept under another name, and a new one begun. Raises BookFault.
    """
    from controller.book.book import Book

    with Book.open(book_path(), now=lambda: datetime.now(UTC)) as book:
        return list(book.notices)


def new_run(unit: Unit, plan: Plan, spec: str, edition: str = "") -> Run:
    """Make a run of a plan, with a record of its own; ``edition`` is what its prints are for."""
    return Run(uuid.uuid4().hex, plan, spec, unit.rig.name, edition=edition)
