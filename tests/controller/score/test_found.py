"""From strips to a score: passes out of strips and crosses, and into the score that lies ready."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from controller.book.entries import Judged
from controller.desk.pick import Pick, pick_from
from controller.enlarger.filter_table import filter_name
from controller.errors import BadInput
from controller.score.amount import stops
from controller.score.doses import exposures
from controller.score.file import score_of, to_toml
from controller.score.found import (
    Through,
    from_cross,
    from_strip,
    goes_on,
    labels_for,
    picked_cell,
    picked_patch,
    replaced,
    with_passes,
)
from controller.score.model import PaperUsed, Pass, Score, SetUp
from controller.strips.cross import Cross, Steps, pick_cell
from controller.strips.strip import Beneath, Purpose, Strip
from tests.controller.score.scores import FILTERS, doable_scores, split
from tests.controller.score.test_doses import burn, changed, dodge

slowly = settings(
    deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)
CROSS = Cross(
    soft=Steps(filter="00", base_s=8, steps=5),
    hard=Steps(filter="5", base_s=4, steps=4),
    aperture="8",
)


def picked(strip: Strip, text: str, judged: Judged = Judged.WET) -> Pick:
    return pick_from(strip, text, judged)


def told(score: Score) -> list[tuple[str, str, float]]:
    return [
        (one.label, one.filter, pytest.approx(one.undried_s, rel=1e-5)) for one in exposures(score)
    ]


def test_a_strip_begins_a_score_of_one_pass() -> None:
    """The patch that was picked is its base."""
    strip = Strip(base_s=8, aperture="8", filter="2")
    score = from_strip(strip, picked(strip, "D", Judged.DRY), "K4", None)
    assert told(score) == [("print", "2", 16)]
    assert (score.base_s, score.judged, score.setup.aperture) == (16, "dry", "8")
    assert score.came_from == ("K4 D",)
    between = from_strip(strip, picked(strip, "C-D"), "K4", None)
    assert between.base_s == pytest.approx(8 * 2 ** (5 / 6))


def test_hard_over_a_chosen_soft_one_begins_a_score_of_two() -> None:
    """What lay beneath the strip is the first pass, and the picked patch follows it in stops."""
    strip = Strip(base_s=4, filter="5", beneath=(Beneath(filter="00", dose_s=12),))
    score = from_strip(strip, picked(strip, "D"), "K5", None)
    assert told(score) == [("soft", "00", 12), ("hard", "5", 8)]
    assert score.passes[0].dose == stops(0)
    assert score.passes[1].dose.follows


def test_a_cell_of_a_cross_is_two_passes() -> None:
    """Column and row of the cell, or of the place between two."""
    score = from_cross(CROSS, pick_cell(CROSS, "B4"), "K6", Judged.WET, None)
    assert told(score) == [("soft", "00", 16), ("hard", "5", 4 * 2 ** (1 / 3))]
    assert score.came_from == ("K6 B4",)
    between = from_cross(CROSS, pick_cell(CROSS, "B3-B4"), "K6", Judged.WET, None)
    assert between.base_s == pytest.approx(8 * 2 ** (5 / 6))
    assert between.came_from == ("K6 B3-B4",)


def test_a_step_of_the_trade_is_written_as_one() -> None:
    """Two thirds of a stop that come out of a strip are two thirds, not 0.66667."""
    score = from_cross(CROSS, pick_cell(CROSS, "C1"), "K6", Judged.WET, None)
    assert str(score.passes[1].dose) == "-1/3"


def test_a_score_keeps_what_it_has_of_its_own() -> None:
    """Labels, notes, handwork and paper stay; doses and aperture are what was found."""
    before = changed(
        split(),
        passes=(
            Pass(label="cloud", filter="00", note="thin"),
            Pass(label="door", filter="5", aperture="11"),
        ),
        burns=(burn("sky", "+1", "cloud"),),
        paper=PaperUsed(name="pearl"),
        came_from=("K1 B",),
    )
    score = from_cross(CROSS, pick_cell(CROSS, "B4"), "K6", Judged.DRY, before)
    assert [(p.label, p.note, p.aperture) for p in score.passes] == [
        ("cloud", "thin", ""),
        ("door", "", "11"),
    ]
    assert told(score)[:2] == [("cloud", "00", 16), ("door", "5", 4 * 2 ** (1 / 3))]
    assert (score.burns, score.paper) == (before.burns, before.paper)
    assert score.came_from == ("K1 B", "K6 B4")
    assert (score.judged, score.setup) == ("dry", SetUp(aperture="8"))


def test_the_only_pass_becomes_the_soft_one_when_a_hard_one_joins_it() -> None:
    """Its burns and dodges go with it under its new name."""
    before = changed(
        split(),
        passes=(Pass(label="print", filter="00"),),
        burns=(burn("sky", "+1", "print"),),
        dodges=(dodge("door", "1/2", "print"),),
    )
    score = from_cross(CROSS, pick_cell(CROSS, "A1"), "K6", Judged.WET, before)
    assert [one.label for one in score.passes] == ["soft", "hard"]
    assert score.burns[0].over == "soft"
    assert score.dodges[0].within == "soft"


def test_handwork_is_not_lost_with_its_pass() -> None:
    """A strip without the pass that a burn is over is refused."""
    before = changed(split(), burns=(burn("sky", "+1", "hard"),))
    strip = Strip(base_s=8, filter="00")
    with pytest.raises(BadInput, match="handwork in the pass 'hard', which this strip does not"):
        from_strip(strip, picked(strip, "A"), "K4", before)
    from_strip(strip, picked(strip, "A"), "K4", split())


def test_handwork_that_would_contradict_the_new_passes_is_refused() -> None:
    """Seconds over the only pass say not through which filter once there are two."""
    before = changed(
        split(), passes=(Pass(label="print", filter="00"),), burns=(burn("sky", "4s"),)
    )
    with pytest.raises(BadInput, match="with these passes a burn in seconds is over all passes"):
        from_cross(CROSS, pick_cell(CROSS, "A1"), "K6", Judged.WET, before)


@pytest.mark.parametrize(
    ("filters", "labels"),
    [
        (["2"], ["print"]),
        (["00", "5"], ["soft", "hard"]),
        (["5", "00"], ["hard", "soft"]),
        (["3½", "3"], ["hard", "soft"]),
        (["", "5"], ["soft", "hard"]),
        (["2", "2"], ["filter 2 (1)", "filter 2 (2)"]),
        (["00", "2", "5"], ["filter 00", "filter 2", "filter 5"]),
        (["blue", "green"], ["filter blue", "filter green"]),
    ],
)
def test_passes_are_named_by_their_filters(filters: list[str], labels: list[str]) -> None:
    """Of two the softer is soft and the other hard, whichever comes first."""
    assert labels_for(filters) == labels


def test_two_passes_through_one_filter_are_told_apart_by_their_order() -> None:
    """Found again, each keeps its own label and dose."""
    before = Score(
        base_s=8, passes=(Pass(label="first", filter="2"), Pass(label="second", filter="2"))
    )
    score = with_passes([Through("2", 10), Through("2", 5)], "K4 A", Judged.WET, "", before)
    assert told(score) == [("first", "2", 10), ("second", "2", 5)]


@pytest.mark.parametrize("name", ["x" * 60, "5 ", "deep blue\tof my own"])
def test_any_filter_gives_a_label(name: str) -> None:
    """However long it is, or oddly spaced."""
    found = [Through("blue", 8), Through(name, 4), Through(name, 4)]
    score = with_passes(found, "K4 A", Judged.WET, "", None)
    assert score_of(to_toml(score), "a") == score


@slowly
@given(
    doable_scores,
    st.lists(
        st.builds(Through, st.sampled_from(FILTERS), st.floats(0.5, 200)), min_size=1, max_size=4
    ),
)
def test_what_is_found_is_what_is_exposed(before: Score, found: list[Through]) -> None:
    """Put into any score, the passes are those found, in their order; and the score is one."""
    try:
        score = with_passes(found, "K4 A", Judged.WET, "8", before)
    except BadInput:
        assert before.burns or before.dodges
        return
    assert score_of(to_toml(score), "a") == score
    assert [filter_name(one.filter) for one in score.passes] == [
        filter_name(one.filter) for one in found
    ]
    for one, asked in zip(score.passes, found, strict=True):
        assert one.dose.from_base_s(score.base_s) == pytest.approx(asked.dose_s, rel=1e-5)
    assert (score.flash, score.burns) == (before.flash, before.burns)


def test_a_contact_strip_settles_no_print() -> None:
    """The least exposure for full black is no exposure of a picture."""
    strip = Strip(base_s=8, purpose=Purpose(kind="contact"))
    with pytest.raises(BadInput, match="a contact strip settles no print"):
        from_strip(strip, picked(strip, "A"), "K4", split())


def test_a_local_strip_needs_its_score() -> None:
    """A burn belongs to the score that it is over."""
    strip = Strip(base_s=8, purpose=Purpose(kind="burn", region="sky", within="soft"))
    with pytest.raises(BadInput, match="a burn belongs to a score"):
        from_strip(strip, picked(strip, "B"), "K4", None)


# --- into the score that lies ready, or another ------------------------------------------------


def ready() -> Score:
    return changed(
        split(),
        title="Harbour",
        negative="T-7",
        paper=PaperUsed(name="pearl", dry_down="8%"),
        setup=SetUp(lens="80 mm", aperture="8", magnification=3),
    )


def test_a_cross_through_the_same_filters_goes_on_with_the_score() -> None:
    """It is the same print, better known."""
    score = picked_cell(CROSS, pick_cell(CROSS, "B4"), "K6", Judged.WET, ready())
    assert (score.title, [one.label for one in score.passes]) == ("Harbour", ["soft", "hard"])
    assert score.sketch == ready().sketch


def test_a_strip_through_another_filter_begins_another_print_on_the_same_paper() -> None:
    """Paper, negative and set-up are what they were; what was of the other print is not."""
    strip = Strip(base_s=8, filter="2", aperture="11")
    score = picked_patch(strip, picked(strip, "D"), "K4", ready())
    assert told(score) == [("print", "2", 16)]
    assert (score.title, score.sketch, score.negative) == ("", (), "T-7")
    assert score.paper == ready().paper
    assert score.setup == ready().setup.model_copy(update={"aperture": "11"})
    bare = picked_patch(Strip(base_s=8), picked(strip, "D"), "K4", None)
    assert bare.paper == PaperUsed()


def test_a_hard_strip_over_the_soft_one_goes_on_with_a_soft_score() -> None:
    """The score had the soft pass already; the hard one joins it."""
    soft = changed(ready(), passes=(Pass(label="print", filter="00"),))
    strip = Strip(base_s=4, filter="5", beneath=(Beneath(filter="00", dose_s=12),))
    score = picked_patch(strip, picked(strip, "A"), "K5", soft)
    assert (score.title, [one.label for one in score.passes]) == ("Harbour", ["soft", "hard"])


def test_what_a_pick_takes_away_is_told() -> None:
    """The old base beside the new one, a pass of another dose, and each pass that goes."""
    before = Score.model_validate(
        {
            "base_s": 8,
            "passes": [
                {"label": "soft", "filter": "00", "dose": "+0"},
                {"label": "again", "filter": "00", "dose": "-1"},
                {"label": "hard", "filter": "5", "dose": "-1/3"},
            ],
        }
    )
    strip = Strip(base_s=4, filter="5", beneath=(Beneath(filter="00", dose_s=16),))
    after = from_strip(strip, picked(strip, "D"), "K4", before)
    lines = replaced(before, after)
    assert lines[0] == "base: 8.0 s -> 16.0 s"
    assert lines[1] == "pass again goes (-1, filter 00)"
    assert lines[2].startswith("pass hard: -1/3 -> -1")
    assert replaced(after, after) == []
    rounded = after.model_copy(update={"base_s": after.base_s + 0.02})
    assert replaced(after, rounded) == [], "what is written alike is no change to tell"


def test_two_passes_through_one_filter_are_not_one() -> None:
    """A strip with one exposure through 00 is another print than one with two of them."""
    twice = Score.model_validate(
        {
            "base_s": 8,
            "passes": [
                {"label": "soft", "filter": "00", "dose": "+0"},
                {"label": "again", "filter": "00", "dose": "-1"},
            ],
        }
    )
    once = Strip(base_s=4, filter="00")
    assert not goes_on(twice, once)
    assert goes_on(twice, once.model_copy(update={"beneath": (Beneath(filter="00", dose_s=9),)}))
