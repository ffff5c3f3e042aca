"""From sheets to prints: put down bare under the lamp, filled from the score afterwards.

Every function runs inside its caller's transaction.
"""

from __future__ import annotations

import math
import re
from datetime import datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Row, insert, select, update

from controller.book import tables as t
from controller.book import tables_prints as p
from controller.book.marks import looks_like_mark
from controller.book.shelf import name_key
from controller.events import Fate

if TYPE_CHECKING:
    from controller.score.model import Score

PRINT = "print"  # the kind of a record whose sheets are prints
BURN, DODGE = "burn", "dodge"
_PICKED = re.compile(r"([A-Z][0-9])\b")


def became_prints(db: Connection, record_id: str, at: datetime) -> None:
    """Put down the finished sheets of a record as prints, where it is one of prints.

    Only SQL: this runs between the lamp going out and the next sheet.
    """
    kind = db.execute(select(t.record.c.kind).where(t.record.c.record_id == record_id)).scalar()
    if kind != PRINT:
        return
    known = select(p.print_.c.mark).where(p.print_.c.record_id == record_id)
    done = select(t.sheet.c.mark, t.record.c.title).join(
        t.record, t.record.c.record_id == t.sheet.c.record_id
    )
    done = done.where(
        t.sheet.c.record_id == record_id,
        t.sheet.c.fate == Fate.DONE.value,
        t.sheet.c.mark.not_in(known),
    ).order_by(t.sheet.c.id)
    rows = [
        {
            **dict.fromkeys(
                (*("negative", "negative_key", "paper", "paper_key", "batch", "remark"), "went"),
                "",
            ),
            "record_id": record_id,
            "mark": row.mark,
            "made_at": at,
            "gathered": False,
            "title": row.title,
            "dry_note": "",
            "room": "",
            "words": "",
        }
        for row in db.execute(done)
    ]
    if rows:
        db.execute(insert(p.print_), rows)


def pulled_for(db: Connection, edition: str, record_id: str) -> bool:
    """Put down that a record's prints are for an edition; False where there is no such edition.

    Only SQL: this is written when a run begins, so that a power cut takes nothing of it away.
    """
    ids = select(p.edition.c.id).where(p.edition.c.name_key == name_key(edition))
    edition_id = db.execute(ids).scalar()
    if edition_id is None:
        return False
    here = (p.pulled.c.edition_id == edition_id) & (p.pulled.c.record_id == record_id)
    if db.execute(select(p.pulled.c.record_id).where(here)).first() is None:
        db.execute(insert(p.pulled).values(edition_id=edition_id, record_id=record_id))
    return True


def remarked(db: Connection, record_id: str, text: str) -> None:
    """Let the prints of a record be found by a remark that was made about it since."""
    at = p.print_.c
    db.execute(
        update(p.print_)
        .where(at.record_id == record_id)
        .values(words=at.words + f" {name_key(text)}")
    )


def bare(db: Connection) -> bool:
    """Is there a print that was not filled in yet?"""
    query = select(p.print_.c.id).where(p.print_.c.gathered.is_(False)).limit(1)
    return db.execute(query).scalar() is not None


def gather(db: Connection) -> None:
    """Fill in the prints that were put down bare, from the score of their record.

    A score that cannot be read leaves its print with the title alone: it is there all the same.
    """
    query = select(p.print_, t.run.c.spec).join(
        t.run, (t.run.c.record_id == p.print_.c.record_id) & (t.run.c.number == 1)
    )
    for row in db.execute(query.where(p.print_.c.gathered.is_(False))).all():
        score = score_in(row.spec)
        values: dict[str, Any] = {"gathered": True}
        if score is not None:
            values |= {
                "title": score.title or row.title,
                "negative": score.negative,
                "negative_key": name_key(score.negative),
                "paper": score.paper.name,
                "paper_key": name_key(score.paper.name),
                "batch": score.paper.batch,
            }
            _keep_handwork(db, row.id, score)
            _keep_evidence(db, row, score)
        db.execute(update(p.print_).where(p.print_.c.id == row.id).values(**values))
        refresh_words(db, row.id)


def refresh_words(db: Connection, print_id: int) -> None:
    """Write down anew by what words a print is found."""
    row = db.execute(select(p.print_).where(p.print_.c.id == print_id)).one()
    negative = select(p.negative).where(p.negative.c.name_key == row.negative_key)
    of = db.execute(negative).first() if row.negative_key else None
    remarks = select(t.remark.c.text).where(t.remark.c.record_id == row.record_id)
    pictures = select(p.picture.c.note).where(p.picture.c.print_id == print_id)
    told = [row.title, row.negative, row.paper, row.batch, row.remark, row.went, row.dry_note]
    told += [of.film, of.format, of.sleeve, of.remark] if of else []
    told += [row.mark, *db.execute(remarks).scalars(), *db.execute(pictures).scalars()]
    words = name_key(" ".join(text for text in told if text))
    db.execute(update(p.print_).where(p.print_.c.id == print_id).values(words=words))


def score_in(spec: str) -> Score | None:
    """Give the score that is in a record's spec; None where it is none that can be read."""
    import json

    from controller.errors import DrysideError
    from controller.score.file import from_tables
    from controller.score.older import from_printing

    try:
        tables = json.loads(spec)
        return from_tables(from_printing(tables) if "dose_s" in tables else tables, "the book")
    except (DrysideError, ValueError, TypeError, AttributeError, KeyError):
        return None


def handwork_stops(score: Score) -> list[tuple[str, str, float]]:
    """Give what each region is burned and dodged by, as kind, region and stops.

    The stops are log2 of the light with the handwork over the light without: burns of a region
    over the same pass add their light and not their stops, so two of +1 are +1.58. A burn of
    seconds counts over the exposure it is over; one over all passes over their sum.
    """
    from controller.score.amount import Unit

    doses = {one.label: one.dose.from_base_s(score.base_s) for one in score.passes}
    parts: dict[tuple[str, str, str], float] = {}
    for burn in score.burns:
        value = float(burn.amount.value)
        over_s = doses.get(burn.over, sum(doses.values()))
        part = 2**value - 1 if burn.amount.unit is Unit.STOPS else value / over_s
        for region in burn.regions:
            key = (BURN, name_key(region), burn.over)
            parts[key] = parts.get(key, 0.0) + part
    for dodge in score.dodges:
        value = float(dodge.amount.value)
        stops = dodge.amount.unit is Unit.STOPS
        part = 1 - 2**-value if stops else value / doses[dodge.within]
        for region in dodge.regions:
            key = (DODGE, name_key(region), dodge.within)
            parts[key] = parts.get(key, 0.0) + part
    return [
        (kind, region, math.log2(1 + part) if kind == BURN else -math.log2(1 - part))
        for (kind, region, _), part in parts.items()
        if kind == BURN or part < 1
    ]


def _keep_handwork(db: Connection, print_id: int, score: Score) -> None:
    rows = [
        {"print_id": print_id, "kind": kind, "region": region, "stops": value}
        for kind, region, value in handwork_stops(score)
    ]
    if rows:
        db.execute(insert(p.handwork), rows)


def _keep_evidence(db: Connection, row: Row[Any], score: Score) -> None:
    """Lay the strips beside a print whose marks the score says it came from."""
    print_sheet = select(t.sheet.c.id).where(
        t.sheet.c.record_id == row.record_id, t.sheet.c.mark == row.mark
    )
    before = db.execute(print_sheet).scalar_one()
    found: dict[str, None] = {}
    for line in score.came_from:
        for mark in filter(looks_like_mark, _PICKED.findall(line)):
            query = select(t.sheet.c.record_id).where(t.sheet.c.mark == mark, t.sheet.c.id < before)
            of = db.execute(query.order_by(t.sheet.c.id.desc()).limit(1)).scalar()
            if of is not None and of != row.record_id:
                found[of] = None
    rows = [{"print_id": row.id, "record_id": record_id} for record_id in found]
    if rows:
        db.execute(insert(p.evidence), rows)
