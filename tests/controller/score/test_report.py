"""What came of a print, told by exposures and by regions: as it was, with every extra."""

from __future__ import annotations

import pytest

from controller.events import Fate
from controller.score.extra import Extra
from controller.score.model import PaperUsed
from controller.score.report import result_table, score_result
from tests.controller.score.pages import page_of
from tests.controller.score.scores import split
from tests.controller.score.test_doses import burn, changed, dodge


def test_an_extra_counts_among_exposures_and_in_its_region() -> None:
    """With its note; other regions are as they were."""
    page = page_of(split(), Extra(3, "00", "sky", "more cloud"), Extra(1))
    result = score_result(page, split())
    assert [(p.label, p.filter, p.planned_dose_s, p.note) for p in result.passes[2:]] == [
        ("extra on sky (3)", "00", 3, "more cloud"),
        ("extra (4)", "5", 1, ""),
    ]
    regions = {region.name: region for region in result.regions}
    assert regions["sky"].planned_dose_s == pytest.approx({"00": 15, "5": 7})
    assert regions["sky"].counted_dose_s == pytest.approx({"00": 15, "5": 7})
    assert regions["door"].planned_dose_s == pytest.approx({"00": 12, "5": 7})


def test_an_extra_belongs_to_its_sheet_alone() -> None:
    """Another sheet of the same record has none of it."""
    page = page_of(split(), Extra(3), sheets=2)
    assert [p.label for p in score_result(page, split(), mark="K1").passes] == [
        "soft, sheet 1",
        "hard, sheet 1",
        "extra (5)",
    ]
    last = score_result(page, split())
    assert last.mark == "K2"
    assert [p.label for p in last.passes] == ["soft, sheet 2", "hard, sheet 2"]
    assert last.regions[0].counted_dose_s == pytest.approx({"00": 12, "5": 6})


def test_an_abandoned_print_is_told_as_it_was() -> None:
    """What fell stands beside what was planned, a dodge that was half done with it."""
    score = changed(
        split(), dodges=(dodge("door", "4s", "soft", "start"),), burns=(burn("sky", "+1", "soft"),)
    )
    page = page_of(score, fell={"soft": 3.0, "hard": 0, "burn sky": 0}, fate=Fate.ABANDONED)
    result = score_result(page, score)
    assert [(p.label, p.planned_dose_s, p.counted_dose_s) for p in result.passes] == [
        ("soft", 12, 3),
        ("hard", 6, 0),
        ("burn sky", 12, 0),
    ]
    regions = {region.name: region for region in result.regions}
    assert regions["sky"].counted_dose_s == pytest.approx({"00": 3, "5": 0})
    assert regions["door"].counted_dose_s == pytest.approx({"00": 0, "5": 0})
    assert regions["door"].planned_dose_s == pytest.approx({"00": 8, "5": 6})
    table = result_table(result)
    assert "sky        00 3.00 of 24.00 s, 5 0.00 of 6.00 s" in table
    assert "soft      00          12.00      3.00      0.00" in table


def test_a_whole_print_is_told_plainly() -> None:
    """Without a word of what fell, where that is what was planned; dry-down is in both."""
    score = changed(split(), paper=PaperUsed(dry_down="10%"))
    table = result_table(score_result(page_of(score), score))
    assert "sky        00 10.80 s, 5 5.40 s" in table


def test_a_trial_piece_is_told_by_the_region_it_lay_on() -> None:
    """Nothing is said of regions that no paper was under."""
    page = page_of(split(), place="door")
    (region,) = score_result(page, split()).regions
    assert (region.name, region.counted_dose_s) == ("door", {"00": 12, "5": 6})
