"""A print taken up again: all that has changed since is told; and two prints compared."""

from __future__ import annotations

import json
import re
from collections.abc import Callable

import pytest

from tests.ui.command import Told

DARKER = ("--set", "lamp.cold_lag_s=0.15")
FIRST = ("paper.name=pearl", "paper.batch=12", "setup.magnification=3", "setup.lamp=opal")
LATER = ("paper.batch=13", "setup.magnification=4.123456789", "setup.lamp=halogen")


@pytest.fixture
def two_prints(dryside: Callable[..., Told]) -> Callable[..., Told]:
    """Two prints of one negative: another box, lamp, height and developer, and in an older room."""

    def done(*words: str) -> None:
        assert dryside(*words)[0] == 0, words

    def edit(name: str, *fields: str) -> None:
        done("score", "edit", name, *(word for field in fields for word in ("--set", field)))

    mixed = ("chemistry", "made", "paper developer", "--volume", "1l", "--tray", "developer")
    done("room", "light", "add", "bench", "--safe-time", "8m", "--easel-m", "1.2")
    done("paper", "new", "pearl", "--box", "12")
    done("score", "new", "quay", "--demo")
    edit("quay", *FIRST, "setup.head_height_mm=304.79999999999995")
    done(*mixed, "--at", "2024-01-01 10:00")
    done("score", "run", "quay")
    done("chemistry", "used", "developer", "--mark", "K1")

    done("paper", "new", "pearl", "--box", "13")
    edit("quay", *LATER, "setup.head_height_mm=412.345678")
    done("score", "edit", "quay", "--burn", "door=+1/3@hard", "--set", "base_s=13.333333333")
    done(*mixed, "--replace")
    done("score", "run", "quay", *DARKER)
    done("chemistry", "used", "developer", "--mark", "K2")
    done("room", "light", "changed", "bench", "bulb")
    return dryside


SINCE = (
    r"changed since: cold lag of the lamp was 0\.061 s, is 0\.15 s",
    r"changed since: batch was 12, the last print had 13",
    r"changed since: magnification was 3, the last print had 4\.12",
    r"changed since: head height was 304\.8 mm, the last print had 412\.3 mm",
    r"changed since: lamp was opal, the last print had halogen",
    r"changed since: the print is on batch 12 of pearl, a newer box is pearl/13",
    r"changed since: developer was \d+ days old, is \d+ min old, mixed anew",
    r"room: the test of bench is old: the bulb of bench was changed on [\d-]+",
)
BETWEEN = (
    r"soft: 14\.7 s -> 12\.3 s \(-0\.26 stop\)",
    r"burn door over hard: none -> \+1/3",
    r"paper batch: 12 -> 13",
    r"magnification: 3 -> 4\.12",
    r"head height: 304\.8 mm -> 412\.3 mm",
    r"lamp: opal -> halogen",
    r"cold lag of the lamp: 0\.061 s -> 0\.15 s",
    r"developer: paper developer 1\+9, \d+ days old -> paper developer 1\+9, \d+ min old",
)


def test_all_that_changed_since_is_told_and_every_difference_of_two_prints(
    two_prints: Callable[..., Told],
) -> None:
    """Box, lamp, height, baths and room, each in a line without a tail of digits."""
    for again, stream in ((("book", "again", "K1"), 1), (("score", "again", "K1", "--plan"), 2)):
        told = str(two_prints(*again, *DARKER)[stream]).splitlines()
        for wanted in SINCE:
            assert any(re.fullmatch(wanted, line) for line in told), (again, wanted)
    changed = json.loads(two_prints("book", "again", "K2", *DARKER, "--json")[1])["changed"]
    assert not [line for line in changed if line.startswith("changed since")]

    told = two_prints("book", "compare", "K1", "K2")[1].splitlines()
    for wanted in BETWEEN:
        assert any(re.fullmatch(wanted, line) for line in told), wanted
    assert not [line for line in told if re.search(r"\d\.\d{4}", line)]
