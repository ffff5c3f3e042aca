"""Prints and negatives in the book: put down, told of, listed. Raises BookFault, BadInput."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

import msgspec
from sqlalchemy import Connection, Row, Select, delete, func, insert, select, update

from controller.book import tables as t
from controller.book import tables_prints as p
from controller.book.book import Book
from controller.book.entries import Page
from controller.book.marks import looks_like_mark
from controller.book.print_entries import (
    InEdition,
    Negative,
    Number,
    Picture,
    PrintEntry,
    RoomThen,
    Signed,
)
from controller.book.prints_made import bare, gather, refresh_words
from controller.book.shelf import name_key
from controller.errors import BadInput, quoted
from controller.events import Fate

BEST = 5
COLDEST_C, HOTTEST_C = -10.0, 60.0
AT_ONCE = 500  # ids in one query: databases bound it
_NUMBER = re.compile(r"#(-?[0-9]{1,10})")  # below 0: what came in from another book is older
RIGHT_PRINT = "the mark of a print that `dryside book find` shows, or its number such as #12"


# --- negatives ------------------------------------------------------------------------------


def keep_negative(book: Book, negative: Negative) -> None:
    """Put a negative down, or what is new of one that is there: empty fields change nothing."""
    key = name_key(negative.name)
    if not key:
        raise BadInput("a negative has no name", "negative add", "a name, such as 24-17/3")
    fields = ("film", "format", "exposed_on", "sleeve", "remark")
    told = {field: getattr(negative, field) for field in fields if getattr(negative, field)}
    with book.changing() as db:
        here = p.negative.c.name_key == key
        if db.execute(select(p.negative.c.id).where(here)).first() is None:
            values = dict.fromkeys(fields, "") | told
            db.execute(
                insert(p.negative).values(
                    name=negative.name.strip(), name_key=key, at=book.at(), **values
                )
            )
        elif told:
            db.execute(update(p.negative).where(here).values(**told))
        _tag(db, key, negative.tags)
        for print_id in db.execute(select(p.print_.c.id).where(p.print_.c.negative_key == key)):
            refresh_words(db, print_id.id)


def untag(book: Book, name: str, tag: str) -> None:
    """Take a tag off a negative."""
    at = p.negative_tag.c
    with book.changing() as db:
        db.execute(
            delete(p.negative_tag).where(at.name_key == name_key(name), at.tag == name_key(tag))
        )


def negative(book: Book, name: str) -> Negative | None:
    """Give a negative by its name, without case and stray spaces."""
    with book.looking() as db:
        return negative_in(db, name)


def negative_in(db: Connection, name: str) -> Negative | None:
    """Give a negative, inside the caller's transaction."""
    query = select(p.negative).where(p.negative.c.name_key == name_key(name))
    return next(iter(_negatives(db, db.execute(query).all())), None)


def negatives(book: Book, *, tag: str = "", limit: int = 100) -> list[Negative]:
    """Give the negatives, the newest first, or those with a tag."""
    query = select(p.negative).order_by(p.negative.c.id.desc()).limit(limit)
    if tag:
        tagged = select(p.negative_tag.c.name_key).where(p.negative_tag.c.tag == name_key(tag))
        query = query.where(p.negative.c.name_key.in_(tagged))
    with book.looking() as db:
        return _negatives(db, db.execute(query).all())


# --- prints ---------------------------------------------------------------------------------


def filled(book: Book) -> None:
    """See to it that every print is filled in from its score."""
    with book.looking() as db:
        if not bare(db):
            return
    with book.changing() as db:
        gather(db)


def print_called(book: Book, key: str) -> PrintEntry:
    """Give a print by its mark (the newest that has it), its number, or its record.

    Raises BadInput where there is none.
    """
    filled(book)
    with book.looking() as db:
        return entry_in(db, key)


def prints_of_record(book: Book, record_id: str) -> list[PrintEntry]:
    """Give the prints that the sheets of a record became, the oldest first."""
    filled(book)
    with book.looking() as db:
        query = entries_query().where(p.print_.c.record_id == record_id)
        return entries_of(db, db.execute(query.order_by(p.print_.c.id)).all())


def all_prints(book: Book) -> list[PrintEntry]:
    """Give every print of the book, the oldest first."""
    filled(book)
    with book.looking() as db:
        return entries_of(db, db.execute(entries_query().order_by(p.print_.c.id)).all())


def good_prints(book: Book, record_ids: Iterable[str]) -> dict[str, int]:
    """Count the sheets of records that came out and were not spoiled since."""
    at, counts = t.sheet.c, dict.fromkeys(record_ids, 0)
    query = select(at.record_id, func.count().label("good")).where(at.fate == Fate.DONE.value)
    ids = list(counts)
    with book.looking() as db:
        for start in range(0, len(ids), AT_ONCE):
            some = query.where(at.record_id.in_(ids[start : start + AT_ONCE]))
            counts |= {row.record_id: row.good for row in db.execute(some.group_by(at.record_id))}
    return counts


def entry_in(db: Connection, key: str) -> PrintEntry:
    """Give a print, inside the caller's transaction."""
    at, query = p.print_.c, entries_query().order_by(p.print_.c.id.desc()).limit(1)
    row = None
    if number := _NUMBER.fullmatch(key):
        row = db.execute(query.where(at.id == int(number[1]))).first()
    elif looks_like_mark(key):
        row = db.execute(query.where(at.mark == key.upper())).first()
    elif key:
        row = db.execute(query.where(at.record_id == key)).first()
        if row is None:
            row = db.execute(query.where(at.record_id.startswith(key, autoescape=True))).first()
    if row is None:
        raise BadInput(_why_none(db, key), "the book", RIGHT_PRINT)
    return entries_of(db, [row])[0]


def _why_none(db: Connection, key: str) -> str:
    """Say why a key is no print: a sheet that came to nothing has its mark all the same."""
    at, fate = t.sheet.c, None
    if looks_like_mark(key):
        query = select(at.fate).where(at.mark == key.upper()).order_by(at.id.desc()).limit(1)
        fate = db.execute(query).scalar()
    if fate is None or fate == Fate.DONE.value:
        return f"there is no print {quoted(key)}"
    return f"{key.upper()} is {fate} and no print"


def tell_of(
    book: Book,
    key: str,
    *,
    rating: int | None = None,
    remark: str | None = None,
    went: str | None = None,
    dry_note: str | None = None,
    temperature_c: float | None = None,
    negative: str | None = None,
) -> PrintEntry:
    """Put down what was found out about a print since; what is None stays as it is."""
    if rating is not None and not 1 <= rating <= BEST:
        raise BadInput(f"a rating of {rating}", "print rate", f"1 (worst) to {BEST} (best)")
    if temperature_c is not None and not COLDEST_C <= temperature_c <= HOTTEST_C:
        right = f"{COLDEST_C:g} to {HOTTEST_C:g} degrees Celsius"
        raise BadInput(f"a temperature of {temperature_c:g}", "print remark", right)
    told: dict[str, Any] = {
        "rating": rating,
        "remark": remark,
        "went": went,
        "dry_note": dry_note,
        "temperature_c": temperature_c,
        "negative": negative,
        "negative_key": None if negative is None else name_key(negative),
    }
    found = print_called(book, key)
    changed = {name: value for name, value in told.items() if value is not None}
    with book.changing() as db:
        if changed:
            here = p.print_.c.id == found.print_id
            db.execute(update(p.print_).where(here).values(**changed))
            refresh_words(db, found.print_id)
        return entry_in(db, f"#{found.print_id}")


def lay_beside(book: Book, key: str, strip: str) -> Page:
    """Lay a strip or a trial piece beside the print that it led to, and give its record.

    Raises BadInput where there is none.
    """
    found = print_called(book, key)
    page = book.record(strip)
    if page is None:
        right = "the mark of a strip that book list shows"
        raise BadInput(f"there is no record {quoted(strip)}", "print attach", right)
    with book.changing() as db:
        of = p.evidence.c
        here = (of.print_id == found.print_id) & (of.record_id == page.record.record_id)
        if db.execute(select(of.print_id).where(here)).first() is None:
            db.execute(
                insert(p.evidence).values(print_id=found.print_id, record_id=page.record.record_id)
            )
    return page


def lay_room(book: Book, record_ids: Iterable[str], room: RoomThen) -> None:
    """Put the room down beside prints, as it stood; where it was put down before it stays."""
    ids = list(record_ids)
    filled(book)
    text = msgspec.json.encode(room).decode()
    with book.changing() as db:
        for record_id in ids:
            here = (p.print_.c.record_id == record_id) & (p.print_.c.room == "")
            db.execute(update(p.print_).where(here).values(room=text))


def room_in(db: Connection, print_id: int) -> RoomThen | None:
    """Give the room as it stood for a print, inside the caller's transaction."""
    told = db.execute(select(p.print_.c.room).where(p.print_.c.id == print_id)).scalar_one()
    return msgspec.json.decode(told, type=RoomThen) if told else None


def add_picture(book: Book, print_id: int, file: str, note: str) -> Picture:
    """Put a picture down that lies in the folder of pictures already."""
    kept = Picture(file, note, book.at())
    with book.changing() as db:
        db.execute(insert(p.picture).values(print_id=print_id, file=file, note=note, at=kept.at))
        refresh_words(db, print_id)
    return kept


def pictures_of(db: Connection, print_id: int) -> list[Picture]:
    """Give a print's pictures, the newest first."""
    query = select(p.picture).where(p.picture.c.print_id == print_id)
    rows = db.execute(query.order_by(p.picture.c.id.desc()))
    return [Picture(row.file, row.note, row.at) for row in rows]


def entries_of(db: Connection, rows: Iterable[Row[Any]]) -> list[PrintEntry]:
    """Turn rows of ``entries_query`` into prints, with their places in editions."""
    rows = list(rows)
    places = _places(db, [row.id for row in rows])
    return [
        PrintEntry(
            row.id,
            row.record_id,
            row.mark,
            row.made_at,
            row.title,
            row.negative,
            row.paper,
            row.batch,
            row.rating,
            row.remark,
            row.went,
            row.dry_note,
            row.temperature_c,
            None if row.fate is None else Fate(row.fate),
            tuple(places.get(row.id, ())),
        )
        for row in rows
    ]


def entries_query() -> Select[Any]:
    """Select prints with the fate of their sheet."""
    of_sheet = (t.sheet.c.record_id == p.print_.c.record_id) & (t.sheet.c.mark == p.print_.c.mark)
    return select(p.print_, t.sheet.c.fate).join(t.sheet, of_sheet)


# --- inside ---------------------------------------------------------------------------------


def _places(db: Connection, ids: list[int]) -> dict[int, list[InEdition]]:
    found: dict[int, list[InEdition]] = {}
    for start in range(0, len(ids), AT_ONCE):
        query = select(
            p.signed, p.edition.c.name, p.edition.c.copies, p.edition.c.artist_proofs
        ).join(p.edition, p.edition.c.id == p.signed.c.edition_id)
        for row in db.execute(query.where(p.signed.c.print_id.in_(ids[start : start + AT_ONCE]))):
            number = Number(Signed(row.kind), row.number)
            written = number.written(row.copies, row.artist_proofs)
            found.setdefault(row.print_id, []).append(InEdition(row.name, written, row.at))
    return found


def _tag(db: Connection, key: str, tags: Iterable[str]) -> None:
    at = p.negative_tag.c
    for tag in {name_key(tag) for tag in tags} - {""}:
        query = select(at.tag).where(at.name_key == key, at.tag == tag)
        if db.execute(query).first() is None:
            db.execute(insert(p.negative_tag).values(name_key=key, tag=tag))


def _negatives(db: Connection, rows: Iterable[Row[Any]]) -> list[Negative]:
    at = p.negative_tag.c
    return [
        Negative(
            row.name,
            row.film,
            row.format,
            row.exposed_on,
            row.sleeve,
            row.remark,
            tuple(
                db.execute(
                    select(at.tag).where(at.name_key == row.name_key).order_by(at.tag)
                ).scalars()
            ),
        )
        for row in rows
    ]
