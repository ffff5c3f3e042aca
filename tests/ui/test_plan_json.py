"""A plan that is only shown, for programs: JSON alone on its way out."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from tests.ui.command import Told


@pytest.mark.parametrize(
    "words",
    [
        ("strip", "--patches", "3"),
        ("cross",),
        ("room", "test", "flash", "--flash", "0.4s"),
        ("score", "run", "one"),
    ],
)
def test_a_plan_is_one_json_value(dryside: Callable[..., Told], words: tuple[str, ...]) -> None:
    """Its actions, and the same in words, as many as there are."""
    if "one" in words:
        assert dryside("score", "new", "one", "--base", "8")[0] == 0
    code, out, err = dryside(*words, "--plan", "--json")
    assert code == 0, err
    plan = json.loads(out)
    assert len(plan["lines"]) == len(plan["actions"])
    assert any(action["type"] == "expose" for action in plan["actions"])


def test_the_plans_of_calibration_sheets_are_a_list(dryside: Callable[..., Told]) -> None:
    """One for each sheet of the set."""
    assert dryside("paper", "new", "pearl")[0] == 0
    code, out, err = dryside("paper", "sheet", "pearl", "--split", "00,5", "--plan", "--json")
    assert code == 0, err
    assert [plan["kind"] for plan in json.loads(out)] == ["calibration sheet"] * 3
