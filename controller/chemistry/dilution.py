"""Dilutions as parts: ``1+9`` is one part of concentrate and nine of water, ten in all.

``1:9`` is printed for that as well as for one part in nine. It is never guessed: it is asked
about, and whatever was understood is said each time. Formulas: concentrate = volume a / (a+b),
C1 V1 = C2 V2 (arithmetic).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from controller.chemistry.amounts import exactly, number_of
from controller.errors import BadInput, quoted

MOST_PARTS = 10_000
_RIGHT = "1+9 (one part and nine of water), 1+1+8 (A, B and water), 1 in 10, or stock"
_LETTERS = "ABCD"


class Colon(Enum):
    """What a colon on a label means."""

    PLUS = "plus"  # 1:9 is 1+9, ten parts
    IN = "in"  # 1:9 is one part in nine, 1+8


@dataclass(frozen=True, slots=True)
class Dilution:
    """Parts of each concentrate, then of water; as it was written, and how that was read."""

    concentrates: tuple[Fraction, ...]
    water: Fraction
    written: str = ""
    how: str = ""  # said where the writing was not of the form a+b

    @property
    def total(self) -> Fraction:
        """Give all parts together."""
        return sum(self.concentrates, self.water)

    @property
    def concentrate_share(self) -> Fraction:
        """Give how much of the whole is concentrate."""
        return sum(self.concentrates, Fraction(0)) / self.total

    @property
    def parts(self) -> str:
        """Write it the way it is stored: 1+9, or 1+1+8."""
        return "+".join(f"{exactly(each)}" for each in (*self.concentrates, self.water))

    @property
    def names(self) -> tuple[str, ...]:
        """Give what each concentrate is called: concentrate, or A and B."""
        if len(self.concentrates) == 1:
            return ("concentrate",)
        return tuple(_LETTERS[: len(self.concentrates)])

    @property
    def reading(self) -> str:
        """Say in words what was understood."""
        counted = zip(self.concentrates, self.names, strict=True)
        words = [f"{_parts(parts)} {name}" for parts, name in counted]
        if self.water:
            words.append(f"{_parts(self.water)} water")
        elif len(words) == 1:
            return f"{self.how or self.parts}: undiluted, no water"
        joined = f"{', '.join(words[:-1])} and {words[-1]}"
        return f"{self.how or self.parts}: {joined} make {_parts(self.total)}"


@dataclass(frozen=True, slots=True)
class Mix:
    """What goes into a volume, in ml; the concentrates in the order of the dilution."""

    dilution: Dilution
    volume_ml: Fraction
    concentrates_ml: tuple[Fraction, ...]
    water_ml: Fraction

    @property
    def concentrate_ml(self) -> Fraction:
        """Give all concentrate together."""
        return sum(self.concentrates_ml, Fraction(0))


@dataclass(frozen=True, slots=True)
class Enough:
    """What bottles that are nearly empty give: how much can be made, and how much is short."""

    can_make_ml: Fraction
    short_ml: tuple[Fraction, ...]  # of each concentrate, 0 where there is enough

    @property
    def enough(self) -> bool:
        """Tell whether nothing is short."""
        return not any(self.short_ml)


def _parts(parts: Fraction) -> str:
    return f"{exactly(parts)} part{'' if parts == 1 else 's'}"


def dilution_of(text: str, where: str, colon: Colon | None = None) -> Dilution:
    """Read a dilution. Raises BadInput, also for a colon of which nobody said what it means."""
    words = " ".join(text.lower().split())
    if words in ("stock", "undiluted"):
        return Dilution((Fraction(1),), Fraction(0), text, f"{words} read as 1+0")
    if found := re.fullmatch(r"([0-9.]+) in ([0-9.]+)", words):
        return _in(found[1], found[2], text, where, "")
    if ":" in words:
        return _with_colon(words, text, where, colon)
    return _plus([part.strip() for part in words.split("+")], text, where, "")


def has_two_readings(text: str) -> bool:
    """Tell whether a colon in it may be read in two ways."""
    pieces = [piece.strip() for piece in text.split(":")]
    return len(pieces) == 2 and all(pieces)


def both_readings(text: str) -> str:
    """Say what a dilution with a colon may mean, both ways. Raises BadInput."""
    plus, inside = (dilution_of(text, "dilution", colon) for colon in Colon)
    return (
        f"{text} may be {plus.parts} ({_parts(plus.total)} in all) or "
        f"{exactly(inside.concentrates[0])} part in {exactly(inside.total)} ({inside.parts})"
    )


def _with_colon(words: str, text: str, where: str, colon: Colon | None) -> Dilution:
    pieces = [piece.strip() for piece in words.split(":")]
    if colon is None and has_two_readings(words):
        raise BadInput(
            both_readings(text),
            where,
            "--colon plus or --colon in, as the product's own sheet has it, or the dilution "
            "with a plus",
        )
    if colon is Colon.IN:
        if len(pieces) != 2:
            raise BadInput(f"{quoted(text)} has more than one colon", where, _RIGHT)
        return _in(pieces[0], pieces[1], text, where, "the colon as in")
    if colon is None:
        raise BadInput(f"{quoted(text)} is not a dilution", where, _RIGHT)
    return _plus(pieces, text, where, "the colon as a plus")


def _in(part: str, total: str, text: str, where: str, why: str) -> Dilution:
    one, whole = (number_of(each, where, _RIGHT) for each in (part, total))
    if one >= whole:
        raise BadInput(f"{quoted(text)} leaves no room for water", where, _RIGHT)
    return _plus([part, exactly(whole - one)], text, where, why or "in")


def _plus(pieces: list[str], text: str, where: str, why: str) -> Dilution:
    if not 2 <= len(pieces) <= len(_LETTERS) + 1 or not all(pieces):
        raise BadInput(f"{quoted(text)} is not a dilution", where, _RIGHT)
    *concentrates, water = (number_of(piece, where, _RIGHT) for piece in pieces)
    if not all(concentrates) or max(*concentrates, water) > MOST_PARTS:
        raise BadInput(
            f"{quoted(text)} has a part of nothing, or one above {MOST_PARTS}", where, _RIGHT
        )
    found = Dilution(tuple(concentrates), water, text)
    how = {"": "", "in": f"{text.strip()} read as {found.parts}"}.get(
        why, f"{text.strip()} read as {found.parts} ({why})"
    )
    return Dilution(found.concentrates, water, text, how)


# --- how much of each ---------------------------------------------------------------------------


def mix(dilution: Dilution, volume_ml: Fraction) -> Mix:
    """Give what goes into a volume."""
    each = tuple(volume_ml * parts / dilution.total for parts in dilution.concentrates)
    return Mix(dilution, volume_ml, each, volume_ml * dilution.water / dilution.total)


def batches(mixed: Mix, vessel_ml: Fraction) -> tuple[int, Mix]:
    """Split a volume over a vessel that is too small: how many equal batches, and one of them.

    Equal ones, since they have one set of measures to remember in the dark.
    """
    count = max(1, -(-mixed.volume_ml // vessel_ml))
    return int(count), mix(mixed.dilution, mixed.volume_ml / count)


def enough(dilution: Dilution, volume_ml: Fraction, left_ml: tuple[Fraction, ...]) -> Enough:
    """Tell how much can be made of what is left in the bottles, and what is short for a volume.

    ``left_ml`` is in the order of the dilution's concentrates.
    """
    needed = mix(dilution, volume_ml).concentrates_ml
    pairs = list(zip(left_ml, dilution.concentrates, strict=True))
    can_make = min(left * dilution.total / parts for left, parts in pairs)
    short = tuple(max(Fraction(0), need - left) for need, left in zip(needed, left_ml, strict=True))
    return Enough(can_make, short)


def weaker(from_percent: Fraction, to_percent: Fraction, volume_ml: Fraction, where: str) -> Mix:
    """Make a weaker percent solution of a stronger one: C1 V1 = C2 V2. Raises BadInput.

    Both percentages must be of one kind (by volume, or weight by volume).
    """
    if not 0 < to_percent <= from_percent <= 100:
        raise BadInput(
            f"{exactly(from_percent)} % cannot become {exactly(to_percent)} %",
            where,
            "a weaker solution of a stronger one, both above 0 and up to 100 %",
        )
    parts = Dilution((to_percent,), from_percent - to_percent)
    return mix(parts, volume_ml)


def strength_percent(
    from_percent: Fraction, taken_ml: Fraction, volume_ml: Fraction, where: str
) -> Fraction:
    """Give how strong a solution becomes when brought to a volume. Raises BadInput."""
    if not 0 < from_percent <= 100 or taken_ml > volume_ml:
        raise BadInput(
            f"{exactly(taken_ml)} ml of {exactly(from_percent)} % in {exactly(volume_ml)} ml "
            "cannot be",
            where,
            "a percentage up to 100, and less of it than the whole",
        )
    return from_percent * taken_ml / volume_ml
