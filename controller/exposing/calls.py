"""What the hands are told while light falls: ticks, and tools into the beam and out of it."""

from __future__ import annotations

import msgspec

from controller.enlarger.lamp import ns
from controller.exposing.exposure import Exposing
from controller.plan import SAME_S, Handwork
from controller.ports import Cue, Sound

LAST_TICKS_S = 3.5  # the last three ticks sound differently
MOST_TICKS = 600
# A word takes about a second to be heard, and a hand another to be ready (common practice).
WARN_S = 2.5


def calls_of(exposing: Exposing, on_ns: int, off_ns: int) -> list[tuple[int, Cue]]:
    """Give what is to be told during a pulse that is lit from ``on_ns`` to ``off_ns``, in order.

    A tool that is in the beam as light falls has come in before it (``at_start``).
    """
    calls: list[tuple[int, Cue]] = []
    asked = exposing.asked
    if asked.ticks:
        whole_s = min(MOST_TICKS, int((off_ns - on_ns) / 1e9))
        for left_s in range(whole_s, 0, -1):
            sound = Sound.LAST_TICK if left_s <= LAST_TICKS_S else Sound.TICK
            calls.append((off_ns - ns(left_s), Cue(sound=sound)))
    for work in asked.handwork:
        if work.end_s <= exposing.delivered_s:
            continue
        in_ns = on_ns + ns(exposing.on_time_to(work.begin_s))
        out_ns = min(on_ns + ns(exposing.on_time_to(work.end_s)), off_ns)
        there = _there(exposing, work)
        if in_ns == out_ns and not there:  # it would come and go at once
            continue
        name, away = work.shade.name, msgspec.structs.replace(work.shade, held=False)
        if not there:
            calls.append((in_ns, Cue(sound=Sound.HAND_IN, hands=work.shade)))
        calls.append((out_ns, Cue(sound=Sound.HAND_OUT, hands=away)))
        if in_ns - on_ns > ns(WARN_S):
            calls.append((in_ns - ns(WARN_S), Cue(f"{name}, ready")))
        if out_ns < off_ns and out_ns - in_ns > ns(2 * WARN_S):
            calls.append((out_ns - ns(WARN_S), Cue(f"{name}, out")))
    ticks = (Sound.TICK, Sound.LAST_TICK)
    calls = [call for call in calls if call[0] > on_ns or call[1].sound not in ticks]
    # a tool goes before another of the same name comes, where both are due at once
    return sorted(calls, key=lambda call: (call[0], call[1].sound is not Sound.HAND_OUT))


def at_start(exposing: Exposing) -> list[Cue]:
    """Give the tools that are to be in the beam before light falls, a resumed dodge's too."""
    delivered_s = exposing.delivered_s
    return [
        Cue(hands=work.shade)
        for work in exposing.asked.handwork
        if _there(exposing, work) and work.end_s > delivered_s
    ]


def at_once(exposing: Exposing) -> list[str]:
    """Name what has to be in the beam as light falls, or so soon after that no word comes first."""
    return [
        work.shade.name
        for work in exposing.asked.handwork
        if work.end_s > exposing.delivered_s and _soon(exposing, work)
    ]


def _there(exposing: Exposing, work: Handwork) -> bool:
    """Is the tool in the beam before light falls? Counted in dose, whatever the lamp's lag."""
    return work.begin_s <= exposing.delivered_s + SAME_S


def _soon(exposing: Exposing, work: Handwork) -> bool:
    return work.begin_s - exposing.delivered_s <= WARN_S
