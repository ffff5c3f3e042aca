"""Pencil marks: a letter and a digit, short enough to write in the dark."""

from __future__ import annotations

import re
from collections.abc import Collection

# Without the first ten, which name the patches of a strip, and without O, Q, S and Z, which look
# like 0, 0, 5 and 2.
LETTERS = "KLMNPRTUVWXY"
DIGITS = "123456789"
HOW_MANY = len(LETTERS) * len(DIGITS)

_MARK = re.compile(f"[{LETTERS}][{DIGITS}]")


def mark_of(count: int) -> str:
    """Give the mark with this number, counted from 0; after the last they start again."""
    letter, digit = divmod(count % HOW_MANY, len(DIGITS))
    return LETTERS[letter] + DIGITS[digit]


def looks_like_mark(text: str) -> bool:
    """Could this be a mark, in capitals or not?"""
    return _MARK.fullmatch(text.upper()) is not None


def next_free(count: int, taken: Collection[str]) -> int | None:
    """Give the first number from ``count`` on whose mark is not taken; None when all are."""
    return next((n for n in range(count, count + HOW_MANY) if mark_of(n) not in taken), None)
