"""A screen that lies over a room until it is left, once."""

from __future__ import annotations

from typing import TypeVar

from textual.screen import Screen

T = TypeVar("T")


class Over(Screen[T]):
    """Left by ``leave``: a second key may come before it has gone, and is too late then."""

    def __init__(self) -> None:
        super().__init__()
        self._is_left = False

    def leave(self, result: T | None = None) -> None:
        """Go away, and give ``result`` to whoever asked."""
        if not self._is_left:
            self._is_left = True
            self.dismiss(result)
