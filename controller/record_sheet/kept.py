"""What the book keeps of the prints of a record, beside the record itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from sqlalchemy import Connection, select

from controller.book import reading
from controller.book import tables_prints as p
from controller.book.book import Book
from controller.book.editions import edition
from controller.book.entries import Page
from controller.book.print_entries import Edition, Negative, PrintEntry
from controller.book.prints import entries_of, entries_query, filled, negative_in, pictures_of
from controller.book.tones import Tone, tones_in
from controller.book.whole_wet import BathThen, WetStep, baths_then, wet_steps
from controller.chemistry.words import span
from controller.numbered import numbered
from controller.stops import format_time


@dataclass(frozen=True)
class Kept:
    """Its prints by mark, their negative, and what lies beside each print, by mark.

    ``trays`` tells what a print really got in the trays, a line for each step, and ``baths``
    what they were then. ``beside`` are the strips it was found with, ``tones`` the densities that
    were read off it, ``editions`` those that it is signed in, and ``strip_pictures`` the files of
    pictures of strips, by record.
    """

    prints: dict[str, PrintEntry] = field(default_factory=dict)
    negative: Negative | None = None
    pictures: dict[str, Path] = field(default_factory=dict)
    trays: dict[str, tuple[str, ...]] = field(default_factory=dict)
    baths: dict[str, tuple[str, ...]] = field(default_factory=dict)
    beside: dict[str, tuple[Page, ...]] = field(default_factory=dict)
    tones: dict[str, tuple[Tone, ...]] = field(default_factory=dict)
    editions: dict[str, Edition] = field(default_factory=dict)
    strip_pictures: dict[str, Path] = field(default_factory=dict)


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
        beside = {}
        strip_pictures = {}
        for mark, entry in prints.items():
            # the simulator leaves a picture of its own, which counts where none was attached
            names = [one.file for one in pictures_of(db, entry.print_id)]
            own = _first_there(folder, (*names, own_picture(mark, record_id)))
            if own is not None:
                pictures[mark] = own
            beside[mark] = _evidence(db, entry.print_id)
            for page in beside[mark]:
                of = page.record
                found = _first_there(folder, [own_picture(m, of.record_id) for m in of.marks])
                if found is not None:
                    strip_pictures[of.record_id] = found
        kept = Kept(
            prints,
            negative_in(db, named) if named else None,
            pictures,
            {mark: step_lines(wet_steps(db, entry)) for mark, entry in prints.items()},
            {mark: bath_lines(baths_then(db, entry)) for mark, entry in prints.items()},
            beside,
            {mark: tones_in(db, entry.print_id) for mark, entry in prints.items()},
            strip_pictures=strip_pictures,
        )
    for mark, entry in prints.items():
        for place in entry.editions[:1]:
            kept.editions[mark] = edition(book, place.edition)
    return kept


def step_lines(steps: Sequence[WetStep]) -> tuple[str, ...]:
    """Tell steps in the trays, their times at the right; one temperature of all is told once."""
    warm = {step.temperature_c for step in steps}
    same = len(steps) > 1 and len(warm) == 1
    lines = []
    for step in steps:
        at = "" if same or step.temperature_c is None else f"{step.temperature_c:.1f} \u00b0C"
        time = format_time(step.time_s) if step.time_s else ""
        told = ", ".join(filter(None, (step.bath, at, step.note)))
        lines.append(f"{told}\t{time}" if time else told)
    temperature = next(iter(warm), None)
    if same and temperature is not None:
        lines.append(f"all at {temperature:.1f} \u00b0C")
    return tuple(lines)


def bath_lines(baths: Sequence[BathThen]) -> tuple[str, ...]:
    """Tell the baths as they were then: how old, and what had gone through before."""
    return tuple(
        f"{' '.join(filter(None, (one.product, one.dilution)))}\t{span(one.age_h)}, "
        f"{numbered(one.sheets_before, 'sheet')}"
        for one in baths
    )


# --- inside -----------------------------------------------------------------------------------


def _first_there(folder: Path, names: Sequence[str]) -> Path | None:
    return next((folder / name for name in names if (folder / name).is_file()), None)


def _evidence(db: Connection, print_id: int) -> tuple[Page, ...]:
    query = select(p.evidence.c.record_id).where(p.evidence.c.print_id == print_id)
    return tuple(reading.page(db, each) for each in db.execute(query).scalars())
