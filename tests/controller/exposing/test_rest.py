"""What is left of a plan that was cut off: on this sheet, and on those that were to follow."""

from __future__ import annotations

import pytest

from controller.enlarger.lamp import Calibration, LampLimits
from controller.exposing.around import Around
from controller.exposing.rest import rest_of
from controller.plan import Confirm, Curtain, Expose, Plan, Sheet
from controller.ports import Filter
from controller.score.new import demonstration
from controller.score.plan import plan_score

LAMP, LIMITS = Calibration(), LampLimits()


def plan(sheets: int = 1) -> Plan:
    return plan_score(demonstration(), LAMP, LIMITS, Around(), sheets=sheets)


def rest(delivered: dict[str, float], finished: tuple[str, ...] = (), sheets: int = 1) -> Plan:
    left = rest_of(plan(sheets), delivered, finished)
    assert left is not None
    return left


def test_a_dodge_that_was_begun_goes_on_where_it_was() -> None:
    """Two seconds into a pass its handwork is counted from there; what was over is left out."""
    whole = next(e for _, e in plan().exposures() if e.label == "hard")
    door, rock = whole.handwork
    left = next(e for _, e in rest({"soft": 14.72, "hard": 2.0}).exposures() if e.label == "hard")
    assert left.dose_s == pytest.approx(whole.dose_s - 2.0)
    assert left.handwork[0].begin_s == 0.0
    assert left.handwork[0].end_s == pytest.approx(door.end_s - 2.0)
    assert left.handwork[1].begin_s == pytest.approx(rock.begin_s - 2.0)
    later = next(e for _, e in rest({"soft": 14.72, "hard": 4.0}).exposures())
    assert [work.shade.name for work in later.handwork] == ["rock"]


def test_the_filter_that_was_in_the_light_is_asked_for_again() -> None:
    """A burn under the filter of the pass before it does not begin without a word of it."""
    done = {e.label: e.dose_s for _, e in plan().exposures() if e.label in ("soft", "hard")}
    actions = rest(done | {"burn sky and cloud": 1.0}).actions
    first = next(i for i, a in enumerate(actions) if isinstance(a, Expose))
    asked = [a.hands for a in actions[:first] if isinstance(a, Confirm)]
    assert Filter("00") in asked
    assert Filter("5") not in asked


def test_sheets_that_follow_are_laid_and_not_exposed_onto_the_first() -> None:
    """Of three sheets cut off in the second, the rest lays one: the third."""
    full = tuple(e.label for _, e in plan(3).exposures() if e.label.endswith("sheet 1"))
    left = rest({"soft, sheet 2": 5.0}, full, sheets=3)
    sheets = [i for i, a in enumerate(left.actions) if isinstance(a, Sheet)]
    assert len(sheets) == 1
    before = [a.label for a in left.actions[: sheets[0]] if isinstance(a, Expose)]
    after = [a.label for a in left.actions[sheets[0] :] if isinstance(a, Expose)]
    assert {label.rsplit(" ", 1)[1] for label in before} == {"2"}
    assert {label.rsplit(" ", 1)[1] for label in after} == {"3"}
    lifted = [i for i, a in enumerate(left.actions) if a == Curtain(False)]
    assert any(i < sheets[0] for i in lifted)


def test_a_sheet_without_light_is_the_next_that_is_unfinished() -> None:
    """Where nothing fell on the sheet in hand, it is the one after those that came out well."""
    full = tuple(e.label for _, e in plan(2).exposures() if e.label.endswith("sheet 1"))
    left = rest({}, full, sheets=2)
    assert {e.label.rsplit(" ", 1)[1] for _, e in left.exposures()} == {"2"}
    assert not any(isinstance(a, Sheet) for a in left.actions)


def test_nothing_is_left_of_a_full_print() -> None:
    """When every exposure is full there is no rest."""
    full = {e.label: e.dose_s for _, e in plan().exposures()}
    assert rest_of(plan(), full) is None
