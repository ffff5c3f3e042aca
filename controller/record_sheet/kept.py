"""What the book keeps of the prints of a record, beside the record itself."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from controller.book import tables_prints as p
from controller.book.book import Book
from controller.book.print_entries import Negative, PrintEntry
from controller.book.prints import entries_of, entries_query, filled, negative_in, pictures_of
from controller.book.whole_wet import WetStep, wet_steps
from controller.stops import format_time


@dataclass(frozen=True)
class Kept:
    """Its prints by mark, their negative, and the newest picture's file.

    ``trays`` tells what a print really got in the trays, a line for each step.
    """

    prints: dict[str, PrintEntry] = field(default_factory=dict)
    negative: Negative | None = None
    pictures: dict[str, Path] = field(default_factory=dict)
    trays: dict[str, tuple[str, ...]] = field(default_factory=dict)


def own_picture(mark: str, record_id: str) -> str:
    """Name the file in which the simulator leaves its picture of a sheet."""
    return f"{mark or 'sheet'}-{record_id[:8]}.png"


def kept_of(book: Book, record_id: str, folder: Path) -> Kept:
    """Read what is kept of a record's prints; ``folder`` is that of pictures. Raises BookFault."""
    filled(book)
    with book.looking() as db:
        rows = db.execute(entries_query().where(p.print_.c.record_id == record_id)).all()
        prints = {one.mark: one for one in entries_of(db, rows)}
        named = next((one.negative for one in prints.values() if one.negative), "")
        pictures = {}
        for mark, entry in prints.items():
            # the simulator leaves a picture of its own, which counts where none was attached
            names = [one.file for one in pictures_of(db, entry.print_id)]
            for name in (*names, own_picture(mark, record_id)):
                if (folder / name).is_file():
                    pictures[mark] = folder / name
                    break
        trays = {
            mark: tuple(_line(step) for step in wet_steps(db, entry))
            for mark, entry in prints.items()
        }
        return Kept(prints, negative_in(db, named) if named else None, pictures, trays)


def _line(step: WetStep) -> str:
    parts = [step.bath, format_time(step.time_s) if step.time_s else ""]
    if step.temperature_c is not None:
        parts.append(f"{step.temperature_c:.1f} \u00b0C")
    return ", ".join(filter(None, (*parts, step.note)))
