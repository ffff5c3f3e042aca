"""What a printer is really asked of a plan: what stands at the enlarger already is passed over."""

from __future__ import annotations

from collections.abc import Iterator

from controller.exposing.bench import Bench
from controller.plan import Action, Confirm, Plan


def as_asked(made: Plan, bench: Bench | None = None) -> Iterator[Action]:
    """Give a plan's actions as the runner would take them up, each prompt done as it is asked."""
    bench = bench or Bench()
    for action in made.actions:
        if isinstance(action, Confirm):
            if action.unless_so and bench.stands(action.hands):
                continue
            bench.told(action.hands)
        yield action
