"""From the light through the trays to the paper: what the clock gives is what the sheet shows."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from tests.ui.command import Told
from tests.ui.conftest import dryside

__all__ = ["dryside"]

COLD = ("--set", "simulator.wet.developer_c=16", "--set", "simulator.wet.fixer_c=16")
STRIP = ("strip", "--base", "8", "--patches", "2", "--json")


def densities(told: Told) -> list[float]:
    assert told[0] == 0, told[2]
    return [patch["density"] for patch in json.loads(told[1])["patches"]]


def test_a_cold_developer_shows_unless_the_clock_knows_of_it(dryside: Callable[..., Told]) -> None:
    """At 16 C the usual time gives a thin strip; told the temperature, a full one."""
    trays = (*STRIP, "--set", "trays.process=fibre")
    fresh = densities(dryside(*STRIP))
    hurried = densities(dryside(*trays, *COLD))
    assert all(cold < right - 0.1 for cold, right in zip(hurried, fresh, strict=True))
    given_time = densities(dryside(*trays, *COLD, "--set", "trays.celsius=16.0"))
    assert given_time == pytest.approx(fresh, abs=0.01)


def test_what_is_said_over_the_trays_stands_in_the_book(dryside: Callable[..., Told]) -> None:
    """A strip's moves are told with their times, and its times in the trays are kept with it."""
    code, _, told = dryside(*STRIP, "--set", "trays.process=fibre")
    moves = [line.split("  ")[-1] for line in told.splitlines() if line.endswith(("lift", "er"))]
    assert code == 0
    assert "developer" in moves[0]
    (record,) = json.loads(dryside("book", "list", "--json")[1])
    mark = record["marks"][0]
    assert f"{mark} in, developer" in told
    assert "trays, strip: developer 120 s" in dryside("book", "show", mark)[1]
