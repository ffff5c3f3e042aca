"""``dryside measure``."""

from __future__ import annotations

from ui import show


def timing(pulses: int, on_ms: float, *, load: bool, json_: bool) -> None:
    """Measure timing, and print ratios."""
    from ui.measure.timing import measure_timing

    report = measure_timing(pulses=pulses, on_ms=on_ms, load=load)
    if json_:
        show.as_json(report.to_json())
    else:
        print(report.table())


def terminal(pairs: int, idle_s: float, *, json_: bool) -> None:
    """Measure the terminal's start and its cost when idle, and print ratios."""
    from ui.measure.terminal import measure_terminal

    report = measure_terminal(pairs=pairs, idle_s=idle_s)
    if json_:
        show.as_json(report.to_json())
    else:
        print(report.table())


def foot(presses: int, *, json_: bool) -> None:
    """Measure what follows a press, and how soon."""
    from ui.measure.foot import measure_foot

    report = measure_foot(presses=presses)
    if json_:
        show.as_json(report.to_json())
    else:
        print(report.table())


def book(prints: int, *, json_: bool) -> None:
    """Measure how fast a large book is."""
    from ui.measure.book import measure_book

    report = measure_book(prints)
    if json_:
        show.as_json(report.to_json())
    else:
        print(report.table())
