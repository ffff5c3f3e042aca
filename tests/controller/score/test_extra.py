"""A deliberate extra on a sheet that has had its score."""

from __future__ import annotations

import pytest

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import BadInput, Refused
from controller.exposing.around import BARE
from controller.exposing.bench import Bench
from controller.plan import Confirm, Expose, Go, Plan
from controller.ports import Filter, Lens, Shade
from controller.score.change import with_burn, with_pass
from controller.score.doses import exposures
from controller.score.extra import EXTRAS, Extra, as_edit, extra_of, place_of, plan_extra
from controller.score.model import Flash, PaperUsed, Pass, Score, SetUp
from controller.score.plan import plan_score, plan_trial
from tests.controller.exposing.asked import as_asked
from tests.controller.score.scores import split
from tests.controller.score.test_doses import burn, changed


def plan(score: Score, extra: Extra, number: int = 4) -> Plan:
    return plan_extra(score, extra, number, Calibration(), LampLimits(), BARE)


def asked(made: Plan) -> list[object]:
    """Give what is asked for after a print that left the hardest filter in, but for the lens."""
    after = Bench(lens="8", filter=Filter("4"))
    asked = [action.hands for action in as_asked(made, after) if isinstance(action, Confirm)]
    return [hands for hands in asked if not isinstance(hands, Lens)]


def exposed(made: Plan) -> Expose:
    (expose,) = (expose for _, expose in made.exposures())
    return expose


def test_light_for_the_whole_sheet_goes_through_the_last_pass() -> None:
    """Its filter is asked for, whatever was in the light last; no card is held."""
    made = plan(split(), Extra(3))
    assert asked(made) == [Filter("5")]
    assert [a.hands for a in made.actions if isinstance(a, Go)] == [Shade("card", "", held=False)]
    assert (exposed(made).dose_s, exposed(made).filter, exposed(made).ticks) == (3, "5", False)
    assert made.title == "extra, 3.0 s"


def test_light_for_a_region_falls_through_a_card() -> None:
    """With ticks, since there is handwork."""
    made = plan(split(), Extra(3, "00", "door"))
    assert asked(made) == [Filter("00")]
    (go,) = (a for a in made.actions if isinstance(a, Go))
    assert go.hands == Shade("card", "door", ("....", ".##.", "...."))
    assert exposed(made).ticks


def test_extras_of_one_sheet_have_labels_of_their_own() -> None:
    """The number of exposures that were before keeps them apart."""
    assert exposed(plan(split(), Extra(3), 4)).label == "extra (5)"
    assert exposed(plan(split(), Extra(3, region="sky"), 5)).label == "extra on sky (6)"


def test_a_filter_that_may_still_be_there_is_taken_away() -> None:
    """Where the last pass had none, whatever was in the light last."""
    bare = changed(split(), passes=(Pass(label="print"),))
    assert asked(plan(bare, Extra(3))) == [Filter("none")]
    burned = changed(bare, burns=(burn("sky", "+1", "print", "00"),))
    assert asked(plan(burned, Extra(3))) == [Filter("none")]
    assert asked(plan(split(), Extra(3, "none"))) == [Filter("none")]


def test_a_head_and_the_lens_are_set_as_for_the_last_pass() -> None:
    """Unless a filter is named, which leaves the head at nought."""
    last = Pass(label="hard", magenta=130, aperture="11")
    score = changed(split(), setup=SetUp(aperture="8"), passes=(split().passes[0], last))
    made = plan(score, Extra(3))
    assert asked(made) == [Filter("130M", 0, 130)]
    assert made.actions[0].hands == Lens("11")  # type: ignore[union-attr]
    assert asked(plan(score, extra_of(score, "a stop"))) == [Filter("130M", 0, 130)]
    assert asked(plan(score, Extra(3, "2"))) == [Filter("2")]


@pytest.mark.parametrize(
    ("choice", "dose_s"),
    [("a sixth", 0.7348), ("a third", 1.5595), ("half a stop", 2.4853), ("a stop", 6)],
)
def test_what_a_foot_asks_for_is_stops_more_of_the_last_pass(choice: str, dose_s: float) -> None:
    """Of what it really got: burns and flash do not count."""
    score = changed(split(), flash=Flash(dose_s=2), burns=(burn("sky", "+1", "soft"),))
    extra = extra_of(score, choice)
    assert extra.dose_s == pytest.approx(dose_s, abs=5e-5)
    assert (extra.filter, extra.note) == ("5", f"{choice} more of hard")
    assert list(EXTRAS) == ["a sixth", "a third", "half a stop", "a stop"]


def test_dry_down_is_in_it_already() -> None:
    """A stop more of a pass that had 10 % less has 10 % less as well."""
    score = changed(split(), paper=PaperUsed(dry_down="10%"))
    assert extra_of(score, "a stop").dose_s == pytest.approx(5.4)


def test_what_cannot_be_is_refused() -> None:
    """Regions that are not there, words that are not known, doses that the lamp cannot give."""
    with pytest.raises(BadInput, match="no region 'tower'; right would be sky or door or house"):
        plan(split(), Extra(3, region="tower"))
    bare = Score(base_s=8, passes=(Pass(label="print"),))
    with pytest.raises(BadInput, match="no region 'elsewhere'; right would be no region: the"):
        plan(bare, Extra(3, region="elsewhere"))
    with pytest.raises(BadInput, match="'a lot' is no extra; right would be a sixth or a third"):
        extra_of(split(), "a lot")
    with pytest.raises(Refused, match=r"extra: 0.10 s is less than this lamp can be trusted with"):
        plan(split(), Extra(0.1))
    with pytest.raises(Refused, match="extra: 5:00 is longer than this lamp's limit"):
        plan(split(), Extra(300))


def test_a_trial_piece_gets_nothing_on_another_place() -> None:
    """A piece that lay on the door has no sky; the door, and the whole piece, are its own."""
    score, lamp, limits = split(), Calibration(), LampLimits()
    piece = plan_trial(score, "door", lamp, limits, BARE, size_mm=(100, 60))
    assert place_of(piece) == "door"
    assert place_of(plan_score(score, lamp, limits, BARE)) == ""
    for region in ("", "door"):
        assert plan_extra(score, Extra(2, region=region), 2, lamp, limits, BARE, place="door")
    with pytest.raises(BadInput, match="trial piece on door only"):
        plan_extra(score, Extra(2, region="sky"), 2, lamp, limits, BARE, place="door")


def test_an_extra_is_put_into_the_score_by_the_command_that_is_told() -> None:
    """Word by word: a burn for a region, a pass for the whole sheet."""
    score = split()
    assert as_edit(Extra(2), score) == "dryside score edit NAME --pass extra:5:2s"
    assert exposures(with_pass(score, "extra:5:2s", "f"))[-1].dose_s == 2
    assert as_edit(Extra(2, region="sky"), score) == "dryside score edit NAME --burn sky=2s@hard"
    assert exposures(with_burn(score, "sky=2s@hard", "f"))[-1].dose_s == 2
    through = as_edit(Extra(2, "00", "sky"), score)
    assert through == "dryside score edit NAME --burn sky=2s:00"
    assert exposures(with_burn(score, "sky=2s:00", "f"))[-1].filter == "00"
