"""When hands are free for light: the spans between the trays' moves. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import msgspec

LEAST_S = 3.0  # a shorter one is none: nobody lays a sheet and exposes it in that


class Free(msgspec.Struct, frozen=True):
    """Light may begin at ``from_ns`` and be over by ``until_ns``; None: nothing comes after."""

    from_ns: int
    until_ns: int | None

    def lasts_s(self, now_ns: int) -> float | None:
        """Say how much light still fits into it, in seconds; None: any."""
        if self.until_ns is None:
            return None
        return max(0.0, (self.until_ns - max(self.from_ns, now_ns)) / 1e9)


def free_spans(moves_ns: Iterable[int], now_ns: int, hands_ns: int) -> tuple[Free, ...]:
    """Give the spans from now on; after each move the hands are busy for ``hands_ns``."""
    spans, from_ns = [], now_ns
    for at_ns in sorted(each for each in moves_ns if each >= now_ns):
        if at_ns > from_ns:
            spans.append(Free(from_ns, at_ns))
        from_ns = at_ns + hands_ns
    return (*spans, Free(from_ns, None))


def light_words(spans: Sequence[Free], now_ns: int, most: int = 3) -> str:
    """Propose when to expose: "light: 20 s now, 65 s in 0:38, any in 2:10". Empty with one span.

    It is told anew as time goes on: what is left of a span, and how long it is to the others.
    """
    fits = [
        (each, lasts_s)
        for each in spans
        if (lasts_s := each.lasts_s(now_ns)) is None or lasts_s >= LEAST_S
    ]
    if len(spans) < 2 or all(each.until_ns is None and each.from_ns <= now_ns for each, _ in fits):
        return ""
    last = [each for each in fits if each[1] is None]
    told = [*fits[: most - 1], *last] if len(fits) > most else fits
    return "light: " + ", ".join(_words(each, lasts_s, now_ns) for each, lasts_s in told)


def _words(span: Free, lasts_s: float | None, now_ns: int) -> str:
    wait_s = max(0, -(-(span.from_ns - now_ns) // 1_000_000_000))  # rounded up: never too early
    when = f"in {wait_s // 60}:{wait_s % 60:02}" if wait_s else "now"
    return f"{'any' if lasts_s is None else f'{int(lasts_s)} s'} {when}"
