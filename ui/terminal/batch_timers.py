"""Timers of the steps of batches: they go on, and are called, whichever room is looked at."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

from controller.trays.batch import calls, spoken
from controller.trays.way import Step


@dataclass
class Running:
    """A step that is timed; ``told`` of its ``calls`` (after so many seconds) were called."""

    step: Step
    began_s: float
    calls: list[tuple[float, str]]
    anyway: bool = False  # though a step before it was too short
    told: int = 1  # how it begins was shown when it was begun


class BatchTimers:
    """By the number of the batch, one each. ``say`` speaks; ``clock`` counts seconds."""

    def __init__(
        self, say: Callable[[str], None], clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._say = say
        self._clock = clock
        self._running: dict[int, Running] = {}

    def __contains__(self, number: int) -> bool:
        return number in self._running

    def begin(
        self, number: int, step: Step, celsius: float, *, had_s: float = 0.0, anyway: bool = False
    ) -> None:
        """Time a step, or its rest, in trays of this temperature."""
        called = calls(step, celsius, had_s=had_s)
        self._running[number] = Running(step, self._clock(), called, anyway)

    def end(self, number: int) -> tuple[str, float, bool]:
        """End a timer; gives the step, the seconds that it took, and whether it is so anyway."""
        running = self._running.pop(number)
        return running.step.name, self._clock() - running.began_s, running.anyway

    def forget(self, number: int) -> None:
        """The step was written down in another way."""
        self._running.pop(number, None)

    def call(self) -> None:
        """Speak what is due by now."""
        for number, running in self._running.items():
            passed_s = self._clock() - running.began_s
            while running.told < len(running.calls) and running.calls[running.told][0] <= passed_s:
                self._say(f"batch {number}: {running.calls[running.told][1]}")
                running.told += 1

    def lines(self) -> list[str]:
        """Tell how far each is, and what was called last."""
        told = []
        for number, running in self._running.items():
            passed_s = self._clock() - running.began_s
            called = [text for at_s, text in running.calls if at_s <= passed_s][-1]
            left_s = running.calls[-1][0] - passed_s
            left = f"{spoken(left_s)} left" if left_s > 0 else f"{spoken(-left_s)} over"
            told.append(f"batch {number}: {called}; {left}; t ends it")
        return told
