"""``dryside trays``: an imagined day, the running unit's trays, and processes."""

from __future__ import annotations

import time
from collections.abc import Sequence

import msgspec

from controller.errors import BadInput, Refused
from controller.trays.clock import Through, TraysView, WetTimes
from controller.trays.day import imagined_day
from controller.trays.emerge import LATEST_PART, SOONEST_S, by_factor, may_emerge
from controller.trays.free import light_words
from controller.trays.process import PROCESSES, Process, Step, process_named, spans, warmth_words
from drivers.engine_words import OfTrays, Refusal
from drivers.places import run_folder
from ui import show
from ui.attach import EngineClient, connect
from ui.unit import unit_for

CAUTION = (
    "common practice: your maker's data sheets come first. Tongs and gloves, fresh air; acid into "
    "water, never the reverse."
)
ANSWER_S = 5.0
COUNTS = {
    "lift": "counted from the lift before, with its draining",
    "light": "counted from the last light, with the way to the tray",
}


def run_day(
    prints: int,
    process: str,
    celsius: float,
    *,
    every_s: float,
    late: float,
    seed: int,
    factor: float | None,
    image_s: float | None,
    rig: str | None,
    settings: Sequence[str],
    json_: bool,
) -> None:
    """Let imagined prints go through, and tell what would be said."""
    asked = unit_for(rig, settings).rig
    t = asked.trays
    chosen = by_factor(process_named(process, asked.processes()).at(celsius), factor)
    if image_s is not None and not may_emerge(chosen.steps[0], image_s):
        raise BadInput(f"nobody would tap at {image_s:g} s", "--image", _image_right(chosen))
    day = imagined_day(
        chosen,
        prints,
        every_s=every_s,
        late=late,
        seed=seed,
        emerges_s=image_s,
        times=WetTimes(count_in_s=t.count_in_s, apart_s=t.apart_s),
    )
    if json_:
        show.as_json({"prints": [_print_json(e) for e in day.through], "warnings": day.warnings})
        return
    show.lines(filter(None, [warmth_words(celsius)]))
    for at_s, text in day.said:
        print(f"{int(at_s // 60):4}:{at_s % 60:04.1f}  {text}")
    print()
    for sheet in day.through:
        print(f"{sheet.mark}: {sheet.words}")


def show_trays(*, json_: bool) -> None:
    """Show the running unit's trays."""
    client = _running()
    try:
        view = _answer(client)
    finally:
        client.close()
    assert isinstance(view, TraysView)
    now_ns = client.clock.now_ns()
    if json_:
        lines = [
            msgspec.to_builtins(line)
            | {"left_s": None if line.due_ns is None else round((line.due_ns - now_ns) / 1e9, 1)}
            for line in view.lines
        ]
        free = [
            {
                "in_s": round(max(0, span.from_ns - now_ns) / 1e9, 1),
                "lasts_s": None if (lasts_s := span.lasts_s(now_ns)) is None else round(lasts_s, 1),
            }
            for span in view.free
        ]
        show.as_json(msgspec.to_builtins(view) | {"lines": lines, "free": free})
        return
    print(_what(view))
    for line in view.lines:
        left = "" if line.due_ns is None else f"{(line.due_ns - now_ns) / 1e9:5.0f} s"
        late = f"  late {line.late_s:.0f} s" if line.late_s >= 1.0 else ""
        print(f"{line.mark:4} {line.where:18} {left:7}  {line.then or 'stays there'}{late}")
    show.lines([*view.warnings, *filter(None, [light_words(view.free, now_ns)])])


def choose(process: str, celsius: float | None, factor: float | None, *, by_clock: bool) -> None:
    """Choose what prints go through in the running unit; what is not said stays as it is."""
    if by_clock and factor is not None:
        raise BadInput("a factor, and by the clock", "--factor, --by-clock", "one of the two")
    client = _running()
    try:
        was = _answer(client)
        assert isinstance(was, TraysView)
        kept = was.factor_asked if factor is None else factor
        kept = None if by_clock else kept
        warm = was.celsius if celsius is None else celsius
        client.send(OfTrays("choose", "" if process == "none" else process, warm, kept))
        view = _answer(client)
    finally:
        client.close()
    if isinstance(view, Refusal):
        raise Refused(view.why.rstrip("."))  # it says by itself what would be right
    print(_what(view))
    if view.process:
        show.lines(filter(None, [warmth_words(view.celsius)]))


def list_processes(rig: str | None, settings: Sequence[str], *, json_: bool) -> None:
    """List every process that this rig knows."""
    known = unit_for(rig, settings).rig.processes()
    if json_:
        show.as_json([msgspec.to_builtins(process) for process in known.values()])
        return
    for name, process in known.items():
        own = "" if name in PROCESSES else "  (your own)"
        total_s = sum(step.time_s or 0.0 for step in process.steps)
        steps = ", ".join(step.name for step in process.steps)
        show.cut(f"{name:14} {total_s / 60:4.1f} min  {steps}{own}")
    print(CAUTION)


def show_process(
    name: str, celsius: float, rig: str | None, settings: Sequence[str], *, json_: bool
) -> None:
    """Show one process as it is at a temperature."""
    asked = unit_for(rig, settings).rig
    process = process_named(name, asked.processes()).at(celsius)
    if json_:
        show.as_json(msgspec.to_builtins(process))
        return
    print(f"{name} at {celsius:g} C; times from the first 'in'")
    moves = spans(process.in_trays(asked.trays.count_in_s))
    for step, (_, in_s, lift_s) in zip(process.steps, moves, strict=False):
        print(
            f"  {step.name:14} in {in_s:6.0f} s   lift {lift_s:6.0f} s   "
            f"in all {_range(step)}" + (f"   holds {step.holds}" if step.holds else "")
        )
        if step.counts_from != "in":
            print(f"  {'':14} {COUNTS[step.counts_from]}")
        if step.factor is not None:
            print(
                f"  {'':14} or {step.factor:g} x the first image, never below {step.least_s:.0f} s"
            )
        if step.agitation:
            print(f"  {'':14} {step.agitation}")
    print(f"  {process.steps[-1].name:14} stays there")
    show.lines(filter(None, [warmth_words(celsius), CAUTION]))


def example(name: str) -> None:
    """Print a process as tables for a rig file."""
    process: Process = process_named(name)
    print(f'# {CAUTION}\n[[process]]\nname = "my {process.name}"')
    for step in process.steps:
        print(f'[[process.step]]\nname = "{step.name}"')
        if step.time_s is not None:
            print(f"time_s = {step.time_s:g}\ndrain_s = {step.drain_s:g}")
            if step.q10 != 1.0:
                print(f"q10 = {step.q10:g}\nleast_s = {step.least_s:g}")
            if step.holds is not None:
                print(f"holds = {step.holds}")
            if step.most_s is not None:
                print(f"most_s = {step.most_s:g}")
            if step.counts_from != "in":
                print(f'counts_from = "{step.counts_from}"')
            if step.factor is not None:
                print(f"factor = {step.factor:g}")
            if step.agitation:
                print(f'agitation = "{step.agitation}"')


def _range(step: Step) -> str:
    """Write a step's time, or the range of it."""
    most = "" if step.most_s is None else f" to {step.most_s:.0f}"
    return f"{step.time_s:3.0f}{most} s"


def _what(view: TraysView) -> str:
    if not view.process:
        return "the trays are not counted"
    by = "" if view.factor is None else f", developed by factor {view.factor:g}"
    return f"{view.process} at {view.celsius:g} C{by}"


def _image_right(process: Process) -> str:
    developer = process.steps[0]
    if developer.factor is None or developer.time_s is None:
        return "a --factor with it, such as 6"
    return f"{SOONEST_S:g} to {LATEST_PART * developer.time_s:.0f} s"


def _print_json(sheet: Through) -> dict[str, object]:
    steps = [
        {
            "name": lay.tray,
            "planned_s": round(lay.planned_s, 1),
            "actual_s": round(lay.actual_s, 1),
            "late_s": round(lay.late_s, 1),
            "factor": lay.factor,
            "emerged_s": None if lay.emerged_s is None else round(lay.emerged_s, 1),
        }
        for lay in sheet.lay
    ]
    return {"mark": sheet.mark, "steps": steps}


def _running() -> EngineClient:
    client = connect(run_folder(), screen=False)
    if client is None:
        raise BadInput("no unit is running", "trays", "dryside in another terminal first")
    return client


def _answer(client: EngineClient) -> TraysView | Refusal:
    """Wait for what the unit says of its trays."""
    until_s = time.monotonic() + ANSWER_S
    while time.monotonic() < until_s and not client.closed:
        for message in client.receive(0.2):
            if isinstance(message, TraysView | Refusal):
                return message
    raise BadInput("the unit does not answer", "trays", "one of this version: start it anew")
