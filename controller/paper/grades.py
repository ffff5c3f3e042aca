"""Grades by log exposure range: a table of limits that the user may change. Pure, no numpy.

The table that is there stood in the appendix of ANSI PH2.2-1966, which was withdrawn; grade
numbers were dropped from the standard in 1981. Only its outer limits, 0.50 and 1.70, are confirmed;
the inner ones are from memory of it. A filter's number is not a grade, and is never taken for one.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from controller.errors import BadInput, quoted
from controller.paper.iso import hundredths


@dataclass(frozen=True)
class Grade:
    """One grade: its number, its name, and the log exposure ranges it holds, in hundredths.

    The lower limit belongs to it; the upper one to the next softer grade, if there is one.
    """

    number: int
    name: str
    from_hundredths: int
    to_hundredths: int


GRADES = (
    Grade(0, "very soft", 140, 170),
    Grade(1, "soft", 115, 140),
    Grade(2, "medium", 95, 115),
    Grade(3, "hard", 80, 95),
    Grade(4, "very hard", 65, 80),
    Grade(5, "extra hard", 50, 65),
)


def grade_of(ler: float | str, table: tuple[Grade, ...] = GRADES) -> Grade | None:
    """Give the grade of a log exposure range; none outside the table."""
    found = hundredths(ler)
    for grade in table:
        if grade.from_hundredths <= found < grade.to_hundredths:
            return grade
    softest = max(table, key=lambda grade: grade.to_hundredths)
    return softest if found == softest.to_hundredths else None


def parse_grades(text: str, where: str) -> tuple[Grade, ...]:
    """Read a table such as ``[[grade]] number = 2, name = "medium", ler = [0.95, 1.15]``.

    Raises BadInput, also where two grades hold the same range.
    """
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise BadInput(f"it is no TOML ({error})", where, "tables [[grade]]") from None
    entries = raw.get("grade")
    if not isinstance(entries, list) or not entries:
        raise BadInput("there is no [[grade]] in it", where, "one [[grade]] for each grade")
    grades = tuple(
        _grade(entry, f"{where}, grade entry {n}") for n, entry in enumerate(entries, start=1)
    )
    ordered = sorted(grades, key=lambda grade: grade.from_hundredths)
    for below, above in pairwise(ordered):
        if below.to_hundredths > above.from_hundredths:
            raise BadInput(
                f"grades {below.number} and {above.number} hold the same range", where, "no overlap"
            )
    return grades


def _grade(entry: object, where: str) -> Grade:
    right = 'number = 2, name = "medium", ler = [0.95, 1.15]'
    if not isinstance(entry, Mapping):
        raise BadInput(f"{quoted(str(entry))} is no grade", where, right)
    number, name, ler = entry.get("number"), entry.get("name", ""), entry.get("ler")
    if not isinstance(number, int) or not isinstance(name, str):
        raise BadInput("number or name is missing or of the wrong kind", where, right)
    if (
        not isinstance(ler, list)
        or len(ler) != 2
        or not all(isinstance(each, int | float) and 0 <= each <= 5 for each in ler)
        or not ler[0] < ler[1]
    ):
        raise BadInput("ler is no range of two rising figures", where, right)
    return Grade(number, name, hundredths(ler[0]), hundredths(ler[1]))
