"""A day at the trays in counted time: sheets that follow each other, and hands that may be late."""

from __future__ import annotations

import random
from dataclasses import dataclass, field

from controller.enlarger.lamp import ns
from controller.ports import Cue
from controller.trays.clock import APART, Through, WetClock, WetTimes
from controller.trays.full import TOO_FULL
from controller.trays.process import Process

REACTION_S = (2.0, 6.0)  # how late a move is that is late (invented for the demonstration)


@dataclass
class Day:
    """What came of it; times are seconds from the first sheet's last light."""

    through: list[Through] = field(default_factory=list)
    said: list[tuple[float, str]] = field(default_factory=list)

    @property
    def warnings(self) -> list[str]:
        """What was told to come too close together, or to fill a tray too much."""
        return [text for _, text in self.said if text.endswith(APART) or TOO_FULL in text]


def imagined_day(
    process: Process,
    prints: int,
    *,
    every_s: float,
    late: float = 0.0,
    seed: int = 1,
    emerges_s: float | None = None,
    times: WetTimes | None = None,
) -> Day:
    """Let so many prints get their last light ``every_s`` apart; ``late`` of the moves are late.

    ``emerges_s``: each print's image is tapped so long after it came into the developer.
    """
    chance = random.Random(seed)
    clock, day = WetClock(times), Day()
    lights = [(ns(n * every_s), f"K{n + 1}") for n in range(prints)]
    taps: list[int] = []
    while lights or taps or clock.next_ns is not None:
        next_ns = clock.next_ns
        due = [at for at, _ in lights[:1]] + taps[:1] + ([next_ns] if next_ns is not None else [])
        now_ns = min(due)
        if taps and taps[0] <= now_ns:
            cues = clock.tap(taps.pop(0))
        elif lights and lights[0][0] <= now_ns:
            cues = clock.start(now_ns, lights.pop(0)[1], "", process)
        else:
            cues = clock.step(now_ns)
            came = [cue for cue in cues if cue.text.endswith(f" in, {process.steps[0].name}")]
            if came and emerges_s is not None:
                taps = sorted((*taps, now_ns + ns(emerges_s)))
            elif cues and chance.random() < late:
                taps = sorted((*taps, now_ns + ns(chance.uniform(*REACTION_S))))
        day.said += [(now_ns / 1e9, cue.text) for cue in _spoken(cues)]
    day.through = sorted(clock.through(), key=lambda sheet: int(sheet.mark[1:]))
    return day


def _spoken(cues: list[Cue]) -> list[Cue]:
    return [cue for cue in cues if cue.text]
