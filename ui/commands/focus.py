"""``dryside focus``: light that no paper sees."""

from __future__ import annotations

from collections.abc import Sequence

from controller.enlarger.focus import plan_focus, plan_warm_up
from controller.stops import parse_time
from ui.carry_out import carry_out
from ui.unit import new_run, open_book, unit_for


def focus(
    limit: str,
    aperture: str,
    *,
    warm_up: bool,
    rig: str | None,
    settings: Sequence[str],
    real_time: bool,
    by_hand: bool,
) -> None:
    """Run the focus light, or a warm-up."""
    unit = unit_for(rig, settings)
    if warm_up:
        plan = plan_warm_up(unit.rig.limits())
    else:
        plan = plan_focus(parse_time(limit, "--limit"), aperture, unit.rig.limits())
    outcome = carry_out(unit, new_run(unit, plan, "{}"), real_time=real_time, by_hand=by_hand)
    with open_book() as book:
        page = book.record(outcome.record_id)
    fate = page.record.fate.value if page and page.record.fate else "interrupted"
    print(f"{plan.title}: {fate}")
