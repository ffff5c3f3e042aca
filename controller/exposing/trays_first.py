"""Light that would outlast the next move in the trays is kept back once; a second tap overrides."""

from __future__ import annotations

from collections.abc import Callable

from controller.ports import Cue

WaitS = Callable[[int, float], int]  # (now, seconds of light) -> seconds that it is to wait


class TraysFirst:
    """Asks the trays before a go, and remembers whether they kept it back."""

    def __init__(self, wait_s: WaitS | None = None) -> None:
        self._wait_s = wait_s
        self.keep_back = False  # the next tap goes all the same

    def forget(self) -> None:
        """A prompt is given anew: the next go is asked about."""
        self.keep_back = False

    def propose(self, now_ns: int, busy_s: float) -> Cue | None:
        """Say at the prompt already when such light fits, where it does not now."""
        wait_s = 0 if self._wait_s is None else self._wait_s(now_ns, busy_s)
        return Cue(f"light in {wait_s}") if wait_s > 0 else None

    def ask(self, now_ns: int, busy_s: float) -> int:
        """How many seconds is a go to wait, whose light would keep the hands for ``busy_s``?"""
        wait_s = 0 if self._wait_s is None or self.keep_back else self._wait_s(now_ns, busy_s)
        self.keep_back = wait_s > 0
        return max(0, wait_s)
