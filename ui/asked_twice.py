"""Keys that cannot be taken back: the first press is asked about, the second takes it."""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic

from controller.exposing.told import Wish

FINAL = {
    Wish.SPOILED: "give this sheet up as spoiled? the same key again",
    Wish.ABANDON: "abandon what runs? the same key again",
}
SECOND_S = 3.0  # so long the first press is remembered


class AskedTwice:
    """Remembers what was asked about last."""

    def __init__(self, now_s: Callable[[], float] = monotonic) -> None:
        self._now_s = now_s
        self._asked: tuple[Wish, float] | None = None

    def question(self, wish: Wish) -> str:
        """Give what is to be asked first; nothing where the wish can be carried out."""
        asked, now_s = self._asked, self._now_s()
        is_second = asked is not None and asked[0] is wish and now_s - asked[1] <= SECOND_S
        self._asked = None if is_second or wish not in FINAL else (wish, now_s)
        return "" if is_second else FINAL.get(wish, "")
