"""A number of things in words: ``1 print``, ``3 prints``."""

from __future__ import annotations


def numbered(count: int, one: str, many: str = "") -> str:
    """Write how many there are of a thing; ``many`` only where it is not ``one`` with an s."""
    return f"{count} {one if count == 1 else many or f'{one}s'}"
