"""Timers of batches: what is spoken and shown, by a clock of the test's own."""

from __future__ import annotations

from controller.trays.way import shipped
from ui.terminal.batch_timers import BatchTimers


def test_each_call_is_spoken_once_and_the_end_is_told() -> None:
    """A rinse of five minutes: one minute left, ten, done; then how much it is over."""
    now, said = [0.0], list[str]()
    timers = BatchTimers(said.append, lambda: now[0])
    step = next(step for step in shipped()["selenium"].step if step.name == "rinse")
    timers.begin(3, step, 20.0)
    for second in range(0, 320, 5):
        now[0] = float(second)
        timers.call()
    assert said == [
        "batch 3: one minute left",
        "batch 3: ten",
        "batch 3: rinse done, lift and drain",
    ]
    assert timers.lines() == ["batch 3: rinse done, lift and drain; 15 s over; t ends it"]
    assert timers.end(3) == ("rinse", 315.0, False)
    assert 3 not in timers
    assert timers.lines() == []


def test_a_timer_begins_with_its_step_and_cold_water_makes_it_longer() -> None:
    """Nothing is spoken at the start, which is seen; at 10 C a wash counts twice."""
    now, said = [0.0], list[str]()
    timers = BatchTimers(said.append, lambda: now[0])
    step = next(step for step in shipped()["selenium"].step if "wash" in step.name)
    timers.begin(1, step, 20.0)
    timers.begin(2, step, 10.0)
    timers.call()
    assert said == []
    warm, cold = timers.lines()
    assert warm.startswith(f"batch 1: {step.name}, ")
    assert warm != cold.replace("batch 2", "batch 1")
    timers.forget(1)
    assert 1 not in timers
