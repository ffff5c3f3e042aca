"""What an imagined sheet had already got: done again from its record, it has the same light."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import NamedTuple

import pytest

from controller.book.book import Book
from controller.book.entries import Page
from controller.enlarger.lamp import ns
from controller.exposing.told import Run
from controller.ports import Filter, Shade
from controller.rig.lights import around
from controller.score.doses import region_doses
from controller.score.extra import Extra, plan_extra
from controller.score.file import to_json
from controller.score.model import Score
from controller.score.new import demonstration
from controller.score.plan import plan_score
from controller.score.report import OnRegion
from sim.world import ImaginedWorld
from ui.imagined import carry_out_imagined
from ui.imagined_before import done_before, expose_before
from ui.read_sheet import on_regions
from ui.simulator import simulator_of
from ui.unit import Unit, unit_for

STOP_0_02 = 0.014  # 0.02 stop, as a part of a dose


class Printed(NamedTuple):
    """A print of the demonstration, and what its paper became."""

    score: Score
    unit: Unit
    run: Run
    page: Page
    became: dict[str, OnRegion]
    book: Book


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Printed]:
    """Paused in a pass, in a dodge and in a burn, so that tools come and go more than once."""
    path = tmp_path_factory.mktemp("book") / "book.sqlite"
    unit = unit_for("tungsten", ["simulator.hands.pause_at=[4, 16.5, 29]"])
    score, rig = demonstration(), unit.rig
    plan = plan_score(score, rig.calibration(), rig.limits(), around(rig))
    run = Run("r1", plan, to_json(score), rig.name)
    with Book.open(path, now=lambda: datetime(2026, 1, 1, tzinfo=UTC)) as book:
        (sheet,) = carry_out_imagined(unit, run, book).sheets
        page = book.record("r1")
        assert page is not None
        assert len(page.exposures) == 5 + 3
        yield Printed(score, unit, run, page, on_regions(score, sheet), book)


def test_a_print_done_again_from_its_record_has_the_same_light(printed: Printed) -> None:
    """Filters, lens, cards and wands: every region within 0.02 stop of the sheet it tells of."""
    world = ImaginedWorld(simulator_of(printed.unit, printed.run))
    expose_before(world, printed.page, "K1", ns(3000))
    (sheet,) = world.develop(ns(3001))
    again = on_regions(printed.score, sheet)
    assert again.keys() == printed.became.keys()
    for name, was in printed.became.items():
        wanted = pytest.approx(was.delivered_dose_s, rel=STOP_0_02)
        assert again[name].delivered_dose_s == wanted, name
        assert again[name].density == pytest.approx(was.density, abs=0.03)


def test_an_extra_falls_on_paper_that_has_its_print(printed: Printed) -> None:
    """Its region has the print's light and the extra's, and others the print's alone."""
    score, unit, book = printed.score, printed.unit, printed.book
    rig, number = unit.rig, len(printed.page.exposures)
    extra = Extra(2.0, "5", "sky")
    plan = plan_extra(score, extra, number, rig.calibration(), rig.limits(), around(rig))
    run = Run("r1", plan, to_json(score), rig.name, "K1", number, extra.to_json())
    (sheet,) = carry_out_imagined(unit, run, book).sheets
    assert sheet.mark == "K1"
    wanted = region_doses(score)
    wanted["sky"]["5"] += 2.0
    for name, became in on_regions(score, sheet).items():
        assert became.delivered_dose_s == pytest.approx(wanted[name], rel=STOP_0_02), name


def test_what_stands_is_not_done_again_and_nothing_goes_backwards(printed: Printed) -> None:
    """A filter is changed where the exposures change it; every tool that came in has gone."""
    done = sorted(done_before(printed.page, "K1"), key=lambda each: each[0])
    assert [what.name for _, what in done if isinstance(what, Filter)] == ["00", "5", "00", "5"]
    lamp = [what for _, what in done if isinstance(what, bool)]
    assert lamp == [True, False] * 8
    wands = [what for _, what in done if isinstance(what, Shade) and what.tool == "wand"]
    assert len([wand for wand in wands if wand.held]) == len(wands) / 2
    assert list(done_before(printed.page, "K9")) == []
