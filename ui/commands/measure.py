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
