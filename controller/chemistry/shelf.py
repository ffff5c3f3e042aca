"""The baths that stand in the darkroom: mixing, counting, rotating, pouring out.

Each function is one transaction of the book's, and raises BadInput or BookFault.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from fractions import Fraction
from typing import TYPE_CHECKING

from controller.book import chemistry as kept
from controller.book.shelf import name_key
from controller.chemistry.bath import EIGHT_BY_TEN_M2, Base, Bath, Entry, Place, Role, What
from controller.chemistry.dilution import dilution_of
from controller.chemistry.freshness import State, Status, status
from controller.chemistry.product import Product
from controller.chemistry.rotation import Move, Rotation, advise
from controller.chemistry.words import last_warning, tray_words
from controller.errors import BadInput, Refused, quoted

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from controller.book.book import Book


FIRST, SECOND = "first fixer", "second fixer"


class Occupied(BadInput):
    """A bath stands in this tray already; whoever knows that it is gone says so."""

    def __init__(self, before: Status) -> None:
        super().__init__(
            f"a bath of {quoted(before.bath.product)} stands in {quoted(before.tray)} already",
            "chemistry made",
            "--replace where it was poured out, or another name with --tray",
        )
        self.before = before


@dataclass(frozen=True, slots=True)
class Counted:
    """A sheet that was counted: where its bath stands now, and what to say (often nothing)."""

    status: Status | None  # None: no bath is kept for this tray
    say: str


def standing(book: Book, now: datetime) -> list[Status]:
    """Give where every bath stands that was not poured out, in the order of their mixing."""
    with book.looking() as db:
        return _standing(db, now)


def history(book: Book, now: datetime, limit: int) -> list[Status]:
    """Give every bath there was, the newest first; one that is gone as it was at its end."""
    with book.looking() as db:
        found = kept.baths(db, discarded=True, limit=limit)
    return [status(bath, entries, now) for bath, entries in found[::-1]]


def _standing(db: Connection, now: datetime) -> list[Status]:
    return [status(bath, entries, now) for bath, entries in kept.baths(db)]


def find(found: list[Status], tray: str, where: str) -> Status:
    """Find the bath of a tray. Raises BadInput."""
    key = name_key(tray)
    for each in found:
        if name_key(each.tray) == key:
            return each
    names = ", ".join(quoted(each.tray) for each in found)
    raise BadInput(
        f"no bath is kept for {quoted(tray)}",
        where,
        f"one of {names}" if names else "a bath that was put down with: dryside chemistry made",
    )


def bath_of_tray(found: Sequence[Status], tray: str) -> Status | None:
    """Find the bath through which a step of a process is counted.

    A step is called in fewer words than a tray may be: "stop" is the stop bath's.
    """
    key = name_key(tray)
    whole = (each for each in found if name_key(each.tray) == key)
    begun = (each for each in found if name_key(each.tray).startswith(f"{key} "))
    return next(whole, None) or next(begun, None)


def made(book: Book, *baths: Bath, over: bool = False) -> list[Status]:
    """Put down baths that were mixed, all or none; gives those that they replace.

    Raises BadInput where a tray's bath was not poured out, unless it is poured out ``over`` this.
    """
    gone: list[Status] = []
    with book.changing() as db:
        for bath in baths:
            key = name_key(bath.tray)
            found = _standing(db, bath.made_at)
            before = next((each for each in found if name_key(each.tray) == key), None)
            if before and not over:
                raise Occupied(before)
            if before:
                entry = Entry(What.DISCARDED, bath.made_at, tray=before.tray)
                kept.add_entry(db, before.bath.bath_id, entry)
                gone.append(before)
            kept.add_bath(db, bath)
    return gone


def set_of_two(
    product: Product, volume_ml: float, at: datetime, *, dilution: str = ""
) -> tuple[Bath, Bath]:
    """Make two fixing baths of a product. Raises BadInput."""
    first, second = (
        bath_of(product, volume_ml, at, tray=tray, role=role, dilution=dilution)
        for tray, role in ((FIRST, Role.FIRST), (SECOND, Role.SECOND))
    )
    return first, second


def bath_of(
    product: Product,
    volume_ml: float,
    at: datetime,
    *,
    tray: str = "",
    place: Place = Place.TRAY,
    role: Role = Role.ALONE,
    dilution: str = "",
) -> Bath:
    """Make a bath of a product; its figures are those of the product as it stands now.

    Mixed weaker than the product's own ``dilution`` it takes less paper, in proportion; mixed
    stronger it is not trusted with more (common practice, no source). Raises BadInput.
    """
    parts = dilution_of(dilution or product.dilution, "dilution")
    own = dilution_of(product.dilution, "dilution")
    weaker = min(Fraction(1), parts.concentrate_share / own.concentrate_share)
    return Bath(
        0,
        " ".join((tray or product.kind.words).split()),
        product.name,
        product.kind,
        dilution or product.dilution,
        volume_ml,
        product.figures.thinner(float(weaker)),
        place,
        at,
        role,
        0,
        at if role is not Role.ALONE else None,
    )


def count_sheet(
    book: Book,
    *,
    tray: str,
    area_m2: float,
    base: Base,
    mark: str,
    at: datetime,
    sheets: int = 1,
) -> Counted:
    """Count a sheet (or several) that went through a tray, and say what that calls for.

    ``area_m2`` is that of one sheet.

    Said once when a bath passes four fifths, and with each sheet when it is used up. A tray for
    which no bath is kept is no fault: nothing is said.
    """
    with book.changing() as db:
        pairs = [(status(bath, entries, at), entries) for bath, entries in kept.baths(db)]
        before = bath_of_tray([each for each, _ in pairs], tray)
        if before is None:
            return Counted(None, "")
        entries = next(entries for each, entries in pairs if each is before)
        fresh = (Entry(What.SHEET, at, area_m2, base, mark, tray=before.tray),) * sheets
        for entry in fresh:
            kept.add_entry(db, before.bath.bath_id, entry)
        after = status(before.bath, (*entries, *fresh), at)
    if after.state is State.OVER or (after.state is State.LOW and before.state is State.FRESH):
        return Counted(after, last_warning(after))
    return Counted(after, "")


def count_through(
    book: Book, trays: Iterable[str], *, mark: str, base: Base, at: datetime, area_m2: float = 0.0
) -> list[str]:
    """Count one sheet through the trays of a process, and give what is to be said.

    Without an area the sheet's own is taken, as the book has it by its mark; a sheet whose size
    nobody told counts as 8x10 in, which is said.
    """
    area = area_m2 or sheet_area_m2(book, mark)
    said = [] if area else [f"the size of {mark} is not known: counted as 8 by 10"]
    for tray in trays:
        counted = count_sheet(
            book, tray=tray, area_m2=area or EIGHT_BY_TEN_M2, base=base, mark=mark, at=at
        )
        said.append(counted.say)
    return [each for each in said if each]


def sheet_area_m2(book: Book, mark: str) -> float:
    """Give the area of the newest sheet with a mark; 0 where there is none, or no size."""
    page = book.record(mark) if mark else None
    for sheet in reversed(page.sheets if page else ()):
        if sheet.mark == mark and sheet.width_mm and sheet.height_mm:
            return sheet.width_mm * sheet.height_mm / 1e6
    return 0.0


def moved(book: Book, tray: str, place: Place, at: datetime) -> Status:
    """Put down that a bath was poured into a bottle, or back into its tray."""
    with book.changing() as db:
        found = find(_standing(db, at), tray, "chemistry move")
        kept.add_entry(db, found.bath.bath_id, Entry(What.MOVED, at, place=place, tray=found.tray))
        return find(_standing(db, at), tray, "chemistry move")


def discarded(book: Book, tray: str, at: datetime) -> Status:
    """Put down that a bath was poured out, or handed in."""
    with book.changing() as db:
        found = find(_standing(db, at), tray, "chemistry discard")
        kept.add_entry(db, found.bath.bath_id, Entry(What.DISCARDED, at, tray=found.tray))
        return found


def poured_out(book: Book, names: Collection[str], at: datetime) -> list[str]:
    """Put down as gone every bath of these trays or kinds (such as "fixer"); gives their trays."""
    keys = {name_key(name) for name in names}
    with book.changing() as db:
        gone = [
            each
            for each in _standing(db, at)
            if each.place is Place.TRAY and {name_key(each.tray), each.bath.kind.words} & keys
        ]
        for each in gone:
            kept.add_entry(db, each.bath.bath_id, Entry(What.DISCARDED, at, tray=each.tray))
    return [each.tray for each in gone]


# --- two baths ------------------------------------------------------------------------------


def sets(found: list[Status], now: datetime) -> list[tuple[Status, Status | None, Rotation]]:
    """Give every fix of two baths with what to do: a darkroom has one, or none."""
    seconds = [each for each in found if each.role is Role.SECOND]
    return [
        (first, second, advise(first, second, now))
        for first in found
        if first.role is Role.FIRST
        for second in (seconds.pop(0) if seconds else None,)
    ]


def rotate(
    book: Book, fresh: Product, volume_ml: float, at: datetime, *, anyway: bool = False
) -> Rotation:
    """Pour the first out, make the second the first, and put a fresh one in its place.

    Raises Refused where both are to be replaced, or the first is good for much more (``anyway``
    does it all the same), and BadInput where there are no two baths.
    """
    with book.changing() as db:
        pairs = sets(_standing(db, at), at)
        pair = next(((a, b, why) for a, b, why in pairs if b is not None), None)
        if pair is None:
            right = "two that were put down with: dryside chemistry made ... --set-of-two"
            raise BadInput("there are no two fixing baths to rotate", "chemistry rotate", right)
        first, second, found = pair
        assert second is not None
        if found.move is Move.REPLACE_BOTH and not anyway:
            raise Refused(
                f"{found.why}: both are to be replaced",
                ("chemistry made --set-of-two --replace", "chemistry rotate --anyway"),
            )
        if found.is_early and not anyway:
            raise Refused(
                f"{found.why}: it is too early to pour it out",
                ("going on with it until chemistry check says more", "chemistry rotate --anyway"),
            )
        kept.add_entry(db, first.bath.bath_id, Entry(What.DISCARDED, at, tray=first.tray))
        kept.add_entry(db, second.bath.bath_id, Entry(What.PROMOTED, at, tray=first.tray))
        parts = second.bath.dilution if fresh.name == second.bath.product else ""
        bath = bath_of(fresh, volume_ml, at, tray=second.tray, role=Role.SECOND, dilution=parts)
        since = second.bath.set_since or second.bath.made_at
        kept.add_bath(db, replace(bath, promotions=second.promotions + 1, set_since=since))
        return found


# --- cleaning -------------------------------------------------------------------------------


def cleaned(book: Book, tray: str, at: datetime) -> None:
    """Put down that a tray was cleaned."""
    with book.changing() as db:
        kept.add_cleaning(db, " ".join(tray.split()), at)


def to_clean(book: Book, trays: list[str]) -> list[str]:
    """Say which trays have had so much paper since they were cleaned that they want it again."""
    with book.looking() as db:
        said = (tray_words(tray, kept.area_through(db, tray)) for tray in trays)
        return [each for each in said if each]
