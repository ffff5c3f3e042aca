"""From a plan to what came of it: the way that every exposing command goes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from controller.desk.asked import Asked, strip_asked
from controller.errors import BadInput, DrysideError
from controller.events import Fate
from controller.fields import size_asked
from controller.plan import Plan
from drivers.places import data_folder, run_folder
from ui import show
from ui.attach import connect, running_record
from ui.carry_out import carry_out
from ui.unit import Outcome, Unit, new_run, open_book, sound_book, unit_for

if TYPE_CHECKING:
    from controller.book.book import Book
    from controller.book.entries import Page
    from sim.sheet import DevelopedSheet


@dataclass(frozen=True)
class Ways:
    """How somebody wants a plan carried out; the same options for every command that exposes."""

    rig: str | None = None
    settings: tuple[str, ...] = ()
    real_time: bool = False
    by_hand: bool = False
    screen: bool | None = None
    pause_at: tuple[float, ...] = ()

    def unit(self) -> Unit:
        """Load the rig that is asked for. Raises BadInput."""
        settings = list(self.settings)
        if self.pause_at:
            times = ", ".join(f"{at:g}" for at in sorted(self.pause_at))
            settings.append(f"simulator.hands.pause_at=[{times}]")
        return unit_for(self.rig, settings)


PLAINLY = Ways()


@dataclass(frozen=True)
class Exposed:
    """What came of a plan."""

    page: Page
    outcome: Outcome

    @property
    def mark(self) -> str:
        """Give the mark of the sheet that counts: the last that was laid."""
        return self.page.sheets[-1].mark if self.page.sheets else ""


def expose(unit: Unit, plan: Plan, spec: str, ways: Ways, *, edition: str = "") -> Exposed:
    """Carry a plan out and read its record; ``edition`` is what its prints are for.

    Raises BadInput where the book has no record of it.
    """
    see_to_book()
    with open_book() as book:
        tell_interrupted(book)
    run = new_run(unit, plan, spec, edition)
    outcome = carry_out(
        unit, run, real_time=ways.real_time, by_hand=ways.by_hand, screen=ways.screen
    )
    with open_book() as book:
        page = book.record(outcome.record_id)
        if page is not None and page.record.kind == "print":
            _keep_room(book, unit, outcome.record_id)
            keep_imagined_tones(book, page, spec, outcome.sheets)
    if page is None:
        raise BadInput("the book has no record of this run", "book", "a book that works")
    return Exposed(page, outcome)


def see_to_book() -> None:
    """Set a damaged book aside, so that exposing goes on; a running engine has seen to it."""
    engine = connect(run_folder(), screen=False)
    if engine is not None:
        engine.close()
        return
    for notice in sound_book():
        show.note(notice)


def _keep_room(book: Book, unit: Unit, record_id: str) -> None:
    """Put the room down beside a print; what is wrong with its file is for the room to say."""
    from ui.room_then import keep_room

    try:
        keep_room(book, unit.rig, [record_id])
    except DrysideError as error:
        show.note(f"the room is not put down beside the print: {error}")


def keep_imagined_tones(
    book: Book, page: Page, spec: str, sheets: Sequence[DevelopedSheet]
) -> None:
    """Keep what the simulator's paper became; of real paper the printer tells it when it is dry."""
    from controller.book.tones import IMAGINED, keep_tones
    from controller.score.file import score_of
    from ui.read_sheet import on_regions

    good = {one.mark for one in page.sheets if one.fate is Fate.DONE}
    for sheet in sheets:
        if sheet.mark in good:
            read = on_regions(score_of(spec, sheet.mark), sheet)
            tones = {name: one.density for name, one in read.items()}
            keep_tones(book, sheet.mark, tones, IMAGINED)


def tell_interrupted(book: Book) -> None:
    """Tell of sheets that were cut off, and how they get their rest."""
    at_work = running_record(run_folder())
    for found in book.interrupted():
        if found.record.record_id == at_work:
            continue
        show.note(
            f"{found.tell()}; `dryside book rest {found.mark or found.record.record_id[:8]}` "
            "gives the rest"
        )


def use_strip(page: Page) -> None:
    """Count a strip off the stock, and remind of what is left; only for who counts them."""
    from controller.strips.cutting import reminder

    with open_book() as book:
        if page.sheets and book.strips_left() > 0:
            show.note(reminder(book.use_strip(page.record.record_id)))


def leave_picture(
    draw: Callable[[Path], None], picture: str | None, mark: str, record_id: str, *, tell: bool
) -> None:
    """Draw a picture where it was asked for, else in the data folder.

    One that fails must not cost what was learnt from a used sheet: it is a note.
    """
    name = f"{mark or 'sheet'}-{record_id[:8]}.png"
    target = Path(picture) if picture else data_folder() / "pictures" / name
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        draw(target)
    except (DrysideError, OSError) as error:
        show.note(f"there is no picture: {error}")
        return
    if tell:
        print(f"picture: {target}")


def seconds_asked(texts: Sequence[str], option: str) -> tuple[float, ...]:
    """Read times such as ``12.5``. Raises BadInput."""
    from controller.stops import parse_time

    return tuple(parse_time(text, option) for text in texts)


def piece_of(unit: Unit, size: str) -> tuple[float, float]:
    """Give the size of a small piece: as asked, else a strip as they are cut here."""
    if size:
        return size_asked(size, "--size")
    strip = strip_asked(Asked(), unit.rig)
    return strip.width_mm, strip.height_mm
