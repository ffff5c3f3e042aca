"""What is read of negatives, prints and editions: plain data, without a trace of the database."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime
from enum import Enum

import msgspec

from controller.errors import BadInput, quoted
from controller.events import Fate
from controller.numbered import numbered


class Negative(msgspec.Struct, frozen=True):
    """A negative: its film, its format, when it was exposed (as written), and where it lies."""

    name: str
    film: str = ""
    format: str = ""
    exposed_on: str = ""
    sleeve: str = ""
    remark: str = ""
    tags: tuple[str, ...] = ()


class Signed(Enum):
    """What a signed print is of its edition; the value is what is pencilled before the number."""

    COPY = ""  # one of the edition: 3/25
    ARTIST = "AP"  # artist's proof, outside the count: AP 1/3
    PRINTER = "PP"  # printer's proof
    GOOD_TO_PULL = "BAT"  # the one that the edition is matched to
    OUT_OF_TRADE = "HC"  # not for sale


class Number(msgspec.Struct, frozen=True):
    """A number of an edition. Of how many is the edition's to say, not the hand's that signs."""

    kind: Signed
    number: int

    def written(self, copies: int, artist_proofs: int) -> str:
        """Write it as it is pencilled beneath the print: 3/25, AP 1/3, PP, PP 2."""
        match self.kind:
            case Signed.COPY:
                return f"{self.number}/{copies}"
            case Signed.ARTIST:
                return f"AP {self.number}/{artist_proofs}"
            case Signed.GOOD_TO_PULL:
                return "BAT"
            case _:
                return f"{self.kind.value} {self.number}" if self.number > 1 else self.kind.value


class InEdition(msgspec.Struct, frozen=True):
    """A print's place in an edition, as it is written beneath it."""

    edition: str
    written: str
    signed_at: datetime


class Picture(msgspec.Struct, frozen=True):
    """A picture of a print: a file in the folder of pictures beside the book."""

    file: str
    note: str
    at: datetime


class RoomThen(msgspec.Struct, frozen=True):
    """The room as it stood when a print was made: what was known of its lights on that day.

    ``safe`` has each light's safe time at the easel in words; ``old`` why a test of it was not
    to be trusted any more.
    """

    day: str
    safe: dict[str, str]
    old: tuple[str, ...] = ()


class PrintEntry(msgspec.Struct, frozen=True):
    """A sheet that became a print. ``rating`` is 1 to 5, None where nobody judged it.

    ``went`` says where it is now; ``dry_note`` what it looked like when it was dry.
    """

    print_id: int
    record_id: str
    mark: str
    made_at: datetime
    title: str
    negative: str
    paper: str
    batch: str
    rating: int | None
    remark: str
    went: str
    dry_note: str
    temperature_c: float | None
    fate: Fate | None
    editions: tuple[InEdition, ...] = ()


class SignedPrint(msgspec.Struct, frozen=True):
    """A print that was signed as one of an edition."""

    written: str
    kind: Signed
    number: int
    mark: str
    record_id: str
    print_id: int
    went: str
    signed_at: datetime


class Edition(msgspec.Struct, frozen=True):
    """An edition: how many copies there are to be, and those that were signed, by number."""

    name: str
    negative: str
    copies: int
    artist_proofs: int
    remark: str
    begun_at: datetime
    signed: tuple[SignedPrint, ...] = ()

    @property
    def left(self) -> tuple[int, ...]:
        """Give the numbers of copies that nobody has signed yet."""
        taken = {one.number for one in self.signed if one.kind is Signed.COPY}
        return tuple(n for n in range(1, self.copies + 1) if n not in taken)


MOST_COPIES = 10_000
_PROOF = "artist's proof"
RIGHT_NUMBER = "a number such as 3/25 or 3, AP 1/3, PP, BAT or HC"
_NUMBER = re.compile(r"(?:(AP|PP|BAT|HC)\b)?\s*(?:(\d{1,6})(?:\s*/\s*(\d{1,6}))?)?", re.IGNORECASE)


def number_asked(text: str, copies: int, artist_proofs: int) -> Number:
    """Read a number as it is pencilled, and hold it against its edition. Raises BadInput."""
    where = "edition sign"
    found = _NUMBER.fullmatch(text.strip())
    if not found or not text.strip():
        raise BadInput(f"{quoted(text)} is no number of an edition", where, RIGHT_NUMBER)
    kind = Signed((found[1] or "").upper())
    if kind is Signed.GOOD_TO_PULL:
        if found[2]:
            raise BadInput("there is only one BAT", where, "BAT without a number")
        return Number(kind, 0)
    number = int(found[2]) if found[2] else 1
    most = {Signed.COPY: copies, Signed.ARTIST: artist_proofs}.get(kind, MOST_COPIES)
    if most == 0:
        raise BadInput("the edition has no artist's proofs", where, "edition new --proofs first")
    if kind in (Signed.COPY, Signed.ARTIST) and found[3] and int(found[3]) != most:
        right = f"{number}/{most}" if kind is Signed.COPY else f"AP {number}/{most}"
        raise BadInput(f"the edition is of {most}, not of {found[3]}", where, right)
    if not 1 <= number <= most:
        raise BadInput(f"{quoted(text)} is not in the edition", where, f"1 to {most}")
    return Number(kind, number)


def numbers_left(edition: Edition, most: int) -> tuple[str, ...]:
    """Give what a print may still be signed as: the lowest copy, proofs, then other copies.

    ``most`` bounds how many copies are named; proofs without a count are offered once each.
    """
    copies, proofs = edition.copies, edition.artist_proofs
    taken = {(one.kind, one.number) for one in edition.signed}

    def free(kind: Signed, numbers: Iterable[int]) -> list[str]:
        left = (n for n in numbers if (kind, n) not in taken)
        return [Number(kind, n).written(copies, proofs) for n in left]

    numbered_copies = free(Signed.COPY, edition.left[:most])
    beside = free(Signed.ARTIST, range(1, proofs + 1))[:1]
    for kind in (Signed.PRINTER, Signed.OUT_OF_TRADE):
        beside += free(kind, range(1, len(taken) + 2))[:1]
    beside += free(Signed.GOOD_TO_PULL, (0,))
    return (*numbered_copies[:1], *beside, *numbered_copies[1:])


def of_how_many(copies: int, artist_proofs: int) -> str:
    """Tell how large an edition is, in words."""
    told = numbered(copies, "copy", "copies")
    return f"{told} and {numbered(artist_proofs, _PROOF)}" if artist_proofs else told


def proofs_warning(copies: int, artist_proofs: int) -> str:
    """Give a sentence where there are more artist's proofs than the trade is used to, or ""."""
    usual = -(-copies // 10)  # the ceiling of a tenth, without a rounding of 0.1
    if artist_proofs <= usual:
        return ""
    return (
        f"{numbered(artist_proofs, _PROOF)} of an edition of {copies}: the trade is used "
        f"to a tenth, here {usual} at most; what binds you is the law of the place where you sell"
    )
