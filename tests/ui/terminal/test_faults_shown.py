"""What goes wrong is one plain sentence in every room, and says what was done about the lamp."""

from __future__ import annotations

from pathlib import Path

import pytest

from controller.desk.orders import Order
from controller.events import RunBegun
from controller.ports import Cue, Sound, Wants
from tests.ui.terminal.an_evening import DESK, plan_of
from tests.ui.terminal.fake_unit import Tried, walk

LOST = "the keeper is gone; its lines were taken over and are safe"
FULL = "the book cannot be written (disk full); exposing goes on, this is not kept"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    return tmp_path


def begun(record_id: str = "r1") -> RunBegun:
    plan = plan_of(Order.STRIP)
    return RunBegun(record_id, plan.kind, plan.title, "{}", plan.to_json(), {}, "imagined")


def test_a_fault_stays_in_sight_in_every_room_until_something_is_begun_anew(home: Path) -> None:
    """While a plan runs, whichever room is entered; the next plan takes it away."""

    async def steps(tried: Tried) -> None:
        tried.unit.tell(begun())
        tried.unit.tell(Cue(LOST, Sound.FAULT))
        tried.unit.tell(Cue("the lamp was put off by itself", Sound.FAULT))
        tried.unit.tell(Cue(LOST, Sound.FAULT))
        for key in "1234567":
            await tried.press(key)
            shown = " ".join(tried.text.split())
            assert shown.count(f"{LOST}; the lamp was put off by itself") == 1, key
        tried.unit.tell(begun("r2"))
        await tried.settle()
        assert LOST not in tried.text

    walk(home, steps, desk=DESK)


def test_a_full_disk_is_told_beside_the_plan_that_goes_on(home: Path) -> None:
    """The plan's own words stay where they are; a prompt is no notice."""

    async def steps(tried: Tried) -> None:
        tried.unit.tell(begun())
        tried.unit.tell(Cue("card away, patch A", Sound.ATTENTION, Wants.CONFIRM))
        tried.unit.tell(Cue(FULL, Sound.ATTENTION))
        await tried.settle()
        shown = " ".join(tried.text.replace("\u258c", " ").split())
        assert "(disk full)" in shown
        assert "card" in shown
        assert len(tried.app._notifications) == 1

    walk(home, steps, desk=DESK)


def test_a_unit_that_ends_behind_the_curtain_leaves_it_black_until_a_key_is_pressed(
    home: Path,
) -> None:
    """Paper may be out; the first key shows the sentence, and does nothing else."""

    async def steps(tried: Tried) -> None:
        tried.app.darken()
        tried.unit.gone = True
        tried.app._gone("the unit has ended; its lamp is off")
        await tried.settle()
        assert tried.app.curtain_down
        await tried.press("q")
        assert not tried.app.curtain_down
        assert tried.app.is_running
        assert "the unit has ended; its lamp is off" in tried.text

    walk(home, steps, desk=DESK)
