"""Editions in the book: begun, signed over the years, looked at. Raises BadInput, BookFault.

The rules are the trade's (a published guide to edition marks): a copy's number is between one
and how many there are, none is given twice, and how many there are is fixed once the first was
signed. Numbers need not follow the order of printing.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Row, insert, select, update

from controller.book import tables_prints as p
from controller.book.book import Book
from controller.book.print_entries import (
    MOST_COPIES,
    Edition,
    Number,
    PrintEntry,
    Signed,
    SignedPrint,
    number_asked,
    of_how_many,
)
from controller.book.prints import entries_of, entries_query, entry_in, filled
from controller.book.prints_made import pulled_for
from controller.book.shelf import name_key
from controller.errors import BadInput, quoted
from controller.events import Fate


def begin_edition(
    book: Book,
    name: str,
    copies: int,
    *,
    artist_proofs: int = 0,
    negative: str = "",
    remark: str = "",
) -> Edition:
    """Begin an edition, or change one of which nothing was signed yet."""
    key = name_key(name)
    if not key:
        raise BadInput("an edition has no name", "edition new", "a name, such as the print's title")
    for what, count, least in (("copies", copies, 1), ("artist's proofs", artist_proofs, 0)):
        if not least <= count <= MOST_COPIES:
            right = f"{least} to {MOST_COPIES}"
            raise BadInput(f"an edition with {count} {what}", "edition new", right)
    values: dict[str, Any] = {"copies": copies, "artist_proofs": artist_proofs}
    told = {"negative": negative, "remark": remark}
    with book.changing() as db:
        row = db.execute(select(p.edition).where(p.edition.c.name_key == key)).first()
        if row is None:
            db.execute(
                insert(p.edition).values(
                    name=name.strip(), name_key=key, at=book.at(), **values, **told
                )
            )
        else:
            changed = (row.copies, row.artist_proofs) != (copies, artist_proofs)
            if changed and _signed(db, row):
                right = f"{of_how_many(row.copies, row.artist_proofs)}, as it was"
                raise BadInput(
                    f"{row.name}: it is fixed, since one was signed", "edition new", right
                )
            values |= {field: text for field, text in told.items() if text}
            db.execute(update(p.edition).where(p.edition.c.id == row.id).values(**values))
        return _edition(db, name)


def sign(book: Book, name: str, key: str, number: str = "") -> SignedPrint:
    """Put down that a print was signed, by itself with the lowest number that is free."""
    filled(book)
    with book.changing() as db:
        edition = _edition(db, name)
        entry = entry_in(db, key)
        where = "edition sign"
        if entry.fate is Fate.SPOILED:
            raise BadInput(f"{entry.mark} is spoiled", where, "a good print")
        for place in entry.editions:
            right = "another print: a number is never given anew"
            raise BadInput(f"{entry.mark} is {place.written} of {place.edition}", where, right)
        if not number:
            if not edition.left:
                right = "AP, PP or HC, or another edition"
                raise BadInput(f"of {edition.copies} none is left", where, right)
            asked = Number(Signed.COPY, edition.left[0])
        else:
            asked = number_asked(number, edition.copies, edition.artist_proofs)
        written = asked.written(edition.copies, edition.artist_proofs)
        for one in edition.signed:
            if (one.kind, one.number) == (asked.kind, asked.number):
                raise BadInput(f"{written} is {one.mark} already", where, _free(edition, asked))
        ids = select(p.edition.c.id).where(p.edition.c.name_key == name_key(name))
        db.execute(
            insert(p.signed).values(
                edition_id=db.execute(ids).scalar_one(),
                kind=asked.kind.value,
                number=asked.number,
                print_id=entry.print_id,
                at=book.at(),
            )
        )
        signed = _edition(db, name).signed
        return next(one for one in signed if one.print_id == entry.print_id)


def pull(book: Book, name: str, record_id: str) -> None:
    """Put down that a record was printed for an edition. Raises BadInput."""
    with book.changing() as db:
        _edition(db, name)
        pulled_for(db, name, record_id)


def prints_for(book: Book, name: str) -> list[PrintEntry]:
    """Give the good prints of an edition, pulled for it or signed, the oldest first."""
    filled(book)
    with book.looking() as db:
        _edition(db, name)
        of = select(p.edition.c.id).where(p.edition.c.name_key == name_key(name)).scalar_subquery()
        pulled = select(p.pulled.c.record_id).where(p.pulled.c.edition_id == of)
        signed = select(p.signed.c.print_id).where(p.signed.c.edition_id == of)
        query = entries_query().where(p.print_.c.record_id.in_(pulled) | p.print_.c.id.in_(signed))
        rows = db.execute(query.order_by(p.print_.c.id)).all()
        return [one for one in entries_of(db, rows) if one.fate is not Fate.SPOILED]


def edition(book: Book, name: str) -> Edition:
    """Give an edition by its name. Raises BadInput."""
    with book.looking() as db:
        return _edition(db, name)


def editions(book: Book) -> list[Edition]:
    """Give all editions, the newest first."""
    with book.looking() as db:
        query = select(p.edition.c.name).order_by(p.edition.c.id.desc())
        return [_edition(db, name) for name in db.execute(query).scalars().all()]


def _edition(db: Connection, name: str) -> Edition:
    row = db.execute(select(p.edition).where(p.edition.c.name_key == name_key(name))).first()
    if row is None:
        names = db.execute(select(p.edition.c.name).limit(5)).scalars().all()
        right = f"one of {', '.join(names)}" if names else "edition new first"
        raise BadInput(f"there is no edition {quoted(name)}", "the book", right)
    return Edition(
        row.name,
        row.negative,
        row.copies,
        row.artist_proofs,
        row.remark,
        row.at,
        tuple(_signed(db, row)),
    )


def _signed(db: Connection, edition: Row[Any]) -> list[SignedPrint]:
    query = select(p.signed, p.print_.c.mark, p.print_.c.record_id, p.print_.c.went).join(
        p.print_, p.print_.c.id == p.signed.c.print_id
    )
    rows = db.execute(query.where(p.signed.c.edition_id == edition.id)).all()
    found = []
    for row in rows:
        kind = Signed(row.kind)
        written = Number(kind, row.number).written(edition.copies, edition.artist_proofs)
        found.append(
            SignedPrint(
                written,
                kind,
                row.number,
                row.mark,
                row.record_id,
                row.print_id,
                row.went,
                row.at,
            )
        )
    order = list(Signed)
    return sorted(found, key=lambda one: (order.index(one.kind), one.number))


def _free(edition: Edition, asked: Number) -> str:
    """Say which number of the same kind is free, for whoever gave one that is not."""
    if asked.kind is Signed.GOOD_TO_PULL:
        return "another number: there is only one BAT"
    taken = {one.number for one in edition.signed if one.kind is asked.kind}
    most = {Signed.COPY: edition.copies, Signed.ARTIST: edition.artist_proofs}.get(asked.kind)
    free = next(n for n in range(1, len(taken) + 2) if n not in taken)
    if most is not None and free > most:
        return "another kind of number: all of these are given"
    number = Number(asked.kind, free)
    return f"one that is free, such as {number.written(edition.copies, edition.artist_proofs)}"
