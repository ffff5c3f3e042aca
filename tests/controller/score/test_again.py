"""A print of the book, made again: the score that it came from, and what has changed."""

from __future__ import annotations

import json
from datetime import UTC, datetime

import pytest

from controller.book.entries import Record
from controller.boxes.model import Batch, Developing
from controller.desk.desk import spec_of
from controller.errors import BadInput
from controller.rig.file import imagined_rig, with_settings
from controller.score.again import boxes_since, changed_since, score_of_record, with_extras
from controller.score.doses import region_doses
from controller.score.extra import Extra
from controller.score.file import to_json
from controller.score.model import PaperUsed, Pass, Score, SetUp
from tests.controller.score.pages import page_of
from tests.controller.score.scores import split
from tests.controller.score.test_doses import burn, changed

RIG = with_settings(imagined_rig("tungsten"), ["lamp.cold_lag_s=0.1", "lamp.warm_gain_s2=0.02"])


def record(spec: str, kind: str = "print", **more: object) -> Record:
    fields: dict[str, object] = {
        "record_id": "0123456789",
        "kind": kind,
        "title": "a print",
        "spec": spec,
        "plan": "{}",
        "lamp": {"cold_lag_s": 0.1, "warm_gain_s2": 0.02},
        "rig": RIG.name,
        "begun_at": datetime(2026, 1, 1, tzinfo=UTC),
        "ended_at": None,
        "fate": None,
        "reason": "",
        "marks": ("K4",),
    }
    return Record(**(fields | more))  # type: ignore[arg-type]


def known() -> Score:
    return changed(
        split(),
        paper=PaperUsed(name="pearl", batch="A7"),
        setup=SetUp(
            lens="80 mm",
            aperture="8",
            magnification=3,
            head_height_mm=304.79999999999995,
            column="47",
            lamp="opal",
        ),
    )


@pytest.mark.parametrize("kind", ["print", "trial piece"])
def test_the_score_of_a_print_comes_back(kind: str) -> None:
    """As it was when the sheet was exposed."""
    assert score_of_record(record(to_json(known()), kind)) == known()


def test_a_print_from_before_there_were_scores_is_a_score_of_one_pass() -> None:
    """What it was picked from, its dry-down and its filter are kept."""
    spec = (
        '{"version": 1, "dose_s": 12.0, "judged": "wet", "dry_down_percent": 8.0, '
        '"aperture": "8", "filter": "2", "width_mm": 200.0, "height_mm": 150.0, '
        '"picked_from": "K1 C"}'
    )
    assert score_of_record(record(spec)) == Score(
        base_s=12,
        passes=(Pass(label="print", filter="2"),),
        paper=PaperUsed(width_mm=200, height_mm=150, dry_down="8%"),
        setup=SetUp(aperture="8"),
        came_from=("K1 C",),
    )


@pytest.mark.parametrize("kind", ["strip", "cross", "focus"])
def test_what_is_no_print_is_refused(kind: str) -> None:
    """A strip is made again in its own way."""
    with pytest.raises(BadInput, match=f"K4 is a {kind}; right would be the mark of a print"):
        score_of_record(record("{}", kind))


def test_a_newer_score_in_the_book_is_refused_by_its_mark() -> None:
    """It is not read half."""
    with pytest.raises(BadInput, match=r"K4 in the book, version: .* newer Dryside"):
        score_of_record(record('{"version": 9, "base_s": 8}'))


def test_nothing_is_told_where_nothing_has_changed() -> None:
    """The same lamp, rig, paper and set-up."""
    assert changed_since(record(to_json(known())), known(), RIG, known()) == []


def test_what_has_changed_is_told_line_by_line() -> None:
    """Lamp calibration, rig, batch and set-up, each as it was and is."""
    rig = with_settings(RIG, ["lamp.cold_lag_s=0.15", "name=cellar"])
    now = changed(
        known(),
        paper=PaperUsed(name="pearl", batch="B1"),
        setup=SetUp(
            lens="80 mm",
            aperture="11",
            magnification=4.123456789,
            head_height_mm=412.34999999999995,
            column="47",
            lamp="halogen",
        ),
    )
    assert changed_since(record(to_json(known())), known(), rig, now) == [
        "changed since: cold lag of the lamp was 0.1 s, is 0.15 s",
        f"changed since: rig was {RIG.name}, is cellar",
        "changed since: batch was A7, the last print had B1",
        "changed since: aperture was 8, the last print had 11",
        "changed since: magnification was 3, the last print had 4.12",
        "changed since: head height was 304.8 mm, the last print had 412.3 mm",
        "changed since: lamp was opal, the last print had halogen",
    ]


def test_what_is_not_known_has_not_changed() -> None:
    """Neither of the print nor of the bench."""
    assert changed_since(record(to_json(known())), known(), RIG, split()) == []
    assert changed_since(record(to_json(split())), split(), RIG, known()) == []


def test_a_calibration_that_was_none_then_is_told() -> None:
    """A lamp that was counted without lag, and is with one now."""
    lines = changed_since(record("{}", lamp={}), known(), RIG, known())
    assert lines == [
        "changed since: cold lag of the lamp was 0 s, is 0.1 s",
        "changed since: warm gain of the lamp was 0 s², is 0.02 s²",
    ]


def test_a_print_with_extras_is_a_score_that_gives_the_same_light() -> None:
    """Dry-down, a burn over all passes and a colour head's settings change nothing of it."""
    score = changed(
        split(),
        passes=(Pass(label="soft", filter="00"), Pass(label="hard", magenta=80)),
        burns=(burn("sky", "+1"), burn("door", "2s", filter_="3")),
        paper=PaperUsed(dry_down="10%"),
    )
    extras = (Extra(3, "00", "sky", "more cloud"), Extra(2), Extra(1, "2"))
    was, lines = with_extras(score, page_of(score, *extras), "K1")
    wanted = region_doses(score)
    for name, doses in wanted.items():
        doses["80M"] += 2
        doses["2"] = 1
        doses["00"] += 3 if name == "sky" else 0
    got = region_doses(was)
    assert {name: pytest.approx(doses, abs=1e-5) for name, doses in wanted.items()} == got
    assert lines == [
        "extra on sky, 3.0 s, filter 00: more cloud",
        "extra, 2.0 s, filter 80M",
        "extra, 1.0 s, filter 2",
    ]
    assert [one.label for one in was.passes] == ["soft", "hard", "extra", "extra 2"]
    assert was.passes[2].magenta == 80
    assert was.passes[3].magenta == 0


def test_of_an_extra_that_was_cut_short_what_fell_is_made_again() -> None:
    """And one that gave no light was none; another sheet had none either."""
    page = page_of(split(), Extra(3), Extra(2), fell={"extra (3)": 1.5, "extra (4)": 0}, sheets=1)
    was, lines = with_extras(split(), page, "K1")
    assert lines == ["extra, 1.5 s, filter 5"]
    assert str(was.passes[-1].dose) == "1.5s"
    assert with_extras(split(), page, "K2") == (split(), [])


def test_the_spec_of_a_print_names_its_version() -> None:
    """A later Dryside knows what it reads; what is told by default is left out."""
    spec = json.loads(spec_of(split()))
    assert spec["version"] == 1
    assert "paper" not in spec
    assert score_of_record(record(spec_of(split()))) == split()


def box(number: str, day: int, name: str = "pearl") -> Batch:
    at = datetime(2026, 2, day, tzinfo=UTC)
    return Batch(day, name, "", "", "", None, number, "", Developing(), at)


def test_a_box_that_came_after_the_print_is_told() -> None:
    """The newest of its paper; not one of another paper, nor one that was there already."""
    then = record(to_json(known()))
    (line,) = boxes_since(then, known(), [box("B1", 1), box("B2", 2), box("C1", 3, "warm")])
    assert line == "changed since: the print is on batch A7 of pearl, a newer box is pearl/B2"
    late = record(to_json(known()), begun_at=datetime(2026, 3, 1, tzinfo=UTC))
    assert boxes_since(late, known(), [box("B1", 1)]) == []
    assert boxes_since(then, known(), [box("A7", 1)]) == []
    assert boxes_since(then, split(), [box("B1", 1)]) == []
