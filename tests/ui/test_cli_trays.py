"""The trays at the command line."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from controller.trays.clock import TraysView
from drivers.engine_words import OfTrays
from drivers.places import config_folder
from tests.ui.command import Told

RIG = '[lamp]\ndriver = "sim"\naddress = "lamp"\n'


def test_a_day_tells_each_print_s_steps(dryside: Callable[..., Told]) -> None:
    """Prints and warnings are all there is, and on time each step lasts as planned."""
    code, told, _ = dryside("trays", "run", "--prints", "4", "--process", "two-bath", "--json")
    day = json.loads(told)
    assert (code, list(day)) == (0, ["prints", "warnings"])
    assert [sheet["mark"] for sheet in day["prints"]] == ["K1", "K2", "K3", "K4"]
    for sheet in day["prints"]:
        assert [step["name"] for step in sheet["steps"]][:2] == ["developer", "stop"]
        assert all(step["actual_s"] == step["planned_s"] for step in sheet["steps"])
    assert day["warnings"] == []


def test_lateness_is_in_the_account(dryside: Callable[..., Told]) -> None:
    """With half of all moves late some steps were longer than planned, and never shorter."""
    day = json.loads(dryside("trays", "run", "--late", "0.5", "--prints", "6", "--json")[1])
    steps = [step for sheet in day["prints"] for step in sheet["steps"]]
    assert any(step["late_s"] > 1.0 for step in steps)
    assert all(step["actual_s"] >= step["planned_s"] for step in steps)


def test_an_example_is_a_process_that_a_rig_may_have(dryside: Callable[..., Told]) -> None:
    """What process example prints can be put into the rig file as it is, and is then listed."""
    printed = dryside("trays", "process", "example", "fibre")[1]
    assert tomllib.loads(printed)["process"][0]["name"] == "my fibre"
    (config_folder() / "rig.toml").write_text(RIG + printed)
    assert "(your own)" in dryside("trays", "process", "list")[1]
    own, shipped = (
        json.loads(dryside("trays", "process", "show", name, "--celsius", "17", "--json")[1])
        for name in ("my fibre", "fibre")
    )
    assert own["steps"] == shipped["steps"]
    assert dryside("trays", "run", "--process", "my fibre")[0] == 0


def test_what_cannot_be_is_refused_in_one_sentence(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """A misspelt process, cold trays, a process without an end: code 2 and what would be right."""
    endless = RIG + '[[process]]\nname = "p"\n[[process.step]]\nname = "a"\ntime_s = 9\n' * 1
    endless += '[[process.step]]\nname = "b"\ntime_s = 9\n'
    rig = tmp_path / "rig.toml"
    rig.write_text(endless)
    for words, expected in (
        (("trays", "run", "--process", "fiber"), "right would be fibre"),
        (("trays", "process", "show", "fibre", "--celsius", "12"), "too cold"),
        (("strip", "--set", "trays.process=fiber"), "right would be fibre"),
        (("trays", "process", "list", "--rig", str(rig)), "where sheets stay"),
        (("trays", "show"), "no unit is running"),
    ):
        code, _, wrong = dryside(*words)
        assert code == 2, words
        assert expected in wrong
        assert "Traceback" not in wrong


def test_a_day_by_factor_tells_the_image_and_its_time(dryside: Callable[..., Told]) -> None:
    """An image tapped at 25 s, times 6, gives 150 s, in the words and in the figures."""
    told = dryside("trays", "run", "--factor", "6", "--image", "25", "--prints", "1")[1]
    assert "K1 emerged at 25, lift at 135" in told
    assert "developer 150 s (image at 25 s, factor 6)" in told
    code, told, wrong = dryside("trays", "run", "--factor", "6", "--image", "90")
    assert (code, told) == (2, "")
    assert "6 to 60 s" in wrong


def test_a_day_that_crowds_the_developer_makes_prints_wait(dryside: Callable[..., Told]) -> None:
    """Prints ten seconds apart, of which the developer holds two: no more ever lie in there."""
    told = dryside("trays", "run", "--prints", "4", "--every", "10")[1]
    inside = 0
    for line in told.splitlines():
        inside += line.endswith("in, developer") - line.endswith("in, stop")
        assert inside <= 2
    assert "K4 waits, in " in told


class Running:
    """A unit that has its trays, and answers what is asked of them as it would."""

    closed = False

    def __init__(self) -> None:
        self.sent: list[OfTrays] = []
        self.view = TraysView("fibre", 18.0, factor=6.0, factor_asked=6.0)

    def receive(self, _wait_s: float) -> list[TraysView]:
        return [self.view]

    def send(self, asked: OfTrays) -> None:
        self.sent.append(asked)

    def close(self) -> None:
        pass


def test_what_is_not_said_of_a_choice_stays_as_it_is(
    dryside: Callable[..., Told], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Temperature and factor outlive another process; each can be changed by itself."""
    unit = Running()
    monkeypatch.setattr("ui.commands.trays._running", lambda: unit)
    for words in (
        ("two-bath",),
        ("two-bath", "--celsius", "21"),
        ("fibre", "--factor", "5"),
        ("fibre", "--by-clock"),
        ("none",),
    ):
        assert dryside("trays", "choose", *words)[0] == 0
    assert unit.sent == [
        OfTrays("choose", "two-bath", 18.0, 6.0),
        OfTrays("choose", "two-bath", 21.0, 6.0),
        OfTrays("choose", "fibre", 18.0, 5.0),
        OfTrays("choose", "fibre", 18.0, None),
        OfTrays("choose", "", 18.0, 6.0),
    ]
    code, _, wrong = dryside("trays", "choose", "fibre", "--by-clock", "--factor", "5")
    assert (code, "one of the two" in wrong) == (2, True)
