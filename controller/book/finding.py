"""Finding prints: by words, negative, paper, date, tag, rating, and by what the hands did."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from sqlalchemy import select

from controller.book import tables_prints as p
from controller.book.book import Book
from controller.book.print_entries import PrintEntry
from controller.book.prints import entries_of, entries_query, filled
from controller.book.prints_made import BURN, DODGE
from controller.book.shelf import name_key

SAME_STOPS = 1e-6  # "over 1" means more than one stop, not one stop and a rounding


@dataclass(frozen=True, kw_only=True)
class Looked:
    """What is looked for; what is empty does not narrow. All of it must fit.

    ``words``: each must be somewhere in what was written of the print. ``burn`` and ``dodge``
    name a region, with part of its name enough; ``over_stops`` and ``under_stops`` bound how much
    it got. ``since`` and ``until`` are days of the wall clock, both within.
    """

    words: str = ""
    negative: str = ""
    paper: str = ""
    batch: str = ""
    tag: str = ""
    since: date | None = None
    until: date | None = None
    at_least: int | None = None  # rating
    burn: str = ""
    dodge: str = ""
    over_stops: float | None = None
    under_stops: float | None = None


def find(book: Book, looked: Looked, limit: int = 50) -> list[PrintEntry]:
    """Give the prints that fit, the newest first."""
    filled(book)
    at = p.print_.c
    query = entries_query().order_by(at.id.desc()).limit(limit)
    for word in name_key(looked.words).split():
        query = query.where(at.words.contains(word, autoescape=True))
    if looked.negative:
        query = query.where(at.negative_key == name_key(looked.negative))
    if looked.paper:
        query = query.where(at.paper_key.contains(name_key(looked.paper), autoescape=True))
    if looked.batch:
        query = query.where(at.batch == looked.batch.strip())
    if looked.tag:
        tagged = select(p.negative_tag.c.name_key).where(
            p.negative_tag.c.tag == name_key(looked.tag)
        )
        query = query.where(at.negative_key.in_(tagged))
    if looked.since is not None:
        query = query.where(at.made_at >= _midnight(looked.since))
    if looked.until is not None:
        query = query.where(at.made_at < _midnight(looked.until + timedelta(days=1)))
    if looked.at_least is not None:
        query = query.where(at.rating >= looked.at_least)
    for kind, region in ((BURN, looked.burn), (DODGE, looked.dodge)):
        if not region:
            continue
        of = p.handwork.c
        given = select(of.print_id).where(
            of.kind == kind, of.region.contains(name_key(region), autoescape=True)
        )
        if looked.over_stops is not None:
            given = given.where(of.stops > looked.over_stops + SAME_STOPS)
        if looked.under_stops is not None:
            given = given.where(of.stops < looked.under_stops - SAME_STOPS)
        query = query.where(at.id.in_(given))
    with book.looking() as db:
        return entries_of(db, db.execute(query).all())


def _midnight(day: date) -> datetime:
    """Give the beginning of a day where the unit stands."""
    return datetime.combine(day, time()).astimezone()
