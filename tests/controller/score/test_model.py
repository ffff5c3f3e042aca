"""The score as it is written: what contradicts itself is refused in one sentence."""

from __future__ import annotations

from typing import Any

import pytest
from pydantic import ValidationError

from controller.errors import BadInput
from controller.score.file import from_tables
from controller.score.model import Score, begin_s, dry_down_factor
from tests.controller.score.scores import split

PASSES = [{"label": "soft", "filter": "00"}, {"label": "hard", "filter": "5"}]
WHOLE: dict[str, Any] = {
    "base_s": 12.0,
    "passes": PASSES,
    "sketch": ["SS", "D."],
    "regions": {"S": "sky", "D": "door"},
}
BURN = {"regions": ["sky"], "amount": "+1", "over": "soft"}
DODGE = {"regions": ["door"], "amount": "1/3", "within": "hard"}


@pytest.mark.parametrize(
    ("changed", "what", "right"),
    [
        (
            {"passes": [PASSES[0], PASSES[0]]},
            "two passes are called 'soft'",
            "a label of its own for each pass",
        ),
        (
            {"passes": [{"label": "all"}]},
            "a pass is called 'all'",
            "another label, since all means every pass",
        ),
        (
            {"sketch": ["SS", "D"]},
            "the rows of the sketch are not equally long",
            "as many cells in each row",
        ),
        (
            {"sketch": [""], "regions": {}},
            "the rows of the sketch are not equally long",
            "as many cells in each row",
        ),
        (
            {"regions": {"S": "sky", "D": "door", "SD": "both"}},
            "'SD' cannot be a cell",
            "one letter for each region",
        ),
        (
            {"regions": {"S": "sky", "D": "door", ".": "rest"}},
            "'.' cannot be a cell",
            "one letter for each region",
        ),
        (
            {"regions": {"S": "sky", "D": "door", "\n": "rest"}, "sketch": ["S\n", "D."]},
            "'\\n' cannot be a cell",
            "one letter for each region",
        ),
        (
            {"regions": {"S": "sky", "D": "sky"}},
            "the name 'sky' means two regions",
            "a name of its own for each region",
        ),
        (
            {"regions": {"S": "sky", "D": "elsewhere"}},
            "the name 'elsewhere' means two regions",
            "a name of its own for each region",
        ),
        (
            {"regions": {"S": "sky", "D": "door", "T": "tower"}},
            "no cell of the sketch is 'T'",
            "cells T where tower is",
        ),
        (
            {"regions": {"S": "sky"}},
            "the sketch has cells 'D' without a name",
            'D = "a name" in [regions]',
        ),
        (
            {"burns": [BURN | {"regions": ["tower"]}]},
            "a burn is of 'tower', which the sketch does not have",
            "one of sky, door, elsewhere",
        ),
        (
            {"sketch": [], "regions": {}, "burns": [BURN | {"regions": ["elsewhere"]}]},
            "a burn is of 'elsewhere', which the sketch does not have",
            "a sketch, and names in [regions]",
        ),
        (
            {"sketch": ["SS", "DD"], "burns": [BURN | {"regions": ["elsewhere"]}]},
            "a burn is of 'elsewhere', which the sketch does not have",
            "one of sky, door",
        ),
        (
            {"dodges": [DODGE | {"regions": ["tower"]}]},
            "a dodge is of 'tower', which the sketch does not have",
            "one of sky, door, elsewhere",
        ),
        (
            {"burns": [BURN | {"regions": ["sky", "sky"]}]},
            "a burn names a region twice: sky, sky",
            "each region once",
        ),
        (
            {"burns": [BURN | {"over": "third"}]},
            "a burn is over 'third'",
            "one of all, soft, hard",
        ),
        (
            {"burns": [BURN | {"over": "all", "filter": "2"}]},
            "a burn in stops over all passes has a filter",
            "none: it takes theirs",
        ),
        (
            {"burns": [BURN | {"over": "all", "amount": "4s"}]},
            "a burn in seconds is over all passes",
            "a filter, or one of soft, hard",
        ),
        (
            {"burns": [BURN | {"amount": "-1/2"}]},
            "a burn of -1/2 adds nothing",
            "more than nothing, such as +1/2 or 4s",
        ),
        (
            {"dodges": [DODGE | {"within": "all"}]},
            "a dodge is within 'all'",
            "one of soft, hard",
        ),
        (
            {"dodges": [DODGE | {"amount": "0s"}]},
            "a dodge of 0s holds nothing back",
            "such as 1/3 or 2.5s",
        ),
        (
            {"passes": [{"label": "soft", "dose": "0s"}]},
            "the pass soft has no exposure",
            "a dose such as +0, -1/3 or 8s",
        ),
    ],
)
def test_a_contradiction_is_refused_with_what_would_be_right(
    changed: dict[str, Any], what: str, right: str
) -> None:
    """Each contradiction has a sentence of its own, which names what would agree."""
    from_tables(WHOLE, "print.toml")
    with pytest.raises(BadInput) as refused:
        from_tables(WHOLE | changed, "print.toml")
    assert (refused.value.what, refused.value.right) == (what, right)
    assert refused.value.where == "print.toml"


@pytest.mark.parametrize(
    ("field", "value", "where", "said"),
    [
        ("base_s", 0, "base_s", "above 0 up to 3600"),
        ("base_s", "soon", "base_s", "a number above 0"),
        ("bass_s", 3, "bass_s", '"base_s"'),
        ("judged", "damp", "judged", '"wet" or "dry"'),
        ("passes", [], "passes", "one table [[passes]] or more"),
        ("passes", [{"label": "soft", "dose": 8}], "passes[1].dose", "seconds (8s)"),
        ("passes", [{"label": "soft", "dose": "8"}], "passes[1].dose", "+8 for stops, or 8s"),
        ("passes", [{"label": ""}], "passes[1].label", "some text in quotes"),
        ("passes", [{"label": "soft", "yellow": 400}], "passes[1].yellow", "up to 300"),
        ("setup", {"aperture": "8.3"}, "setup.aperture", "8 or 9"),
        ("passes", [{"label": "soft", "aperture": "big"}], "passes[1].aperture", "5.6, 8 or 11"),
        ("paper", {"dry_down": "60%"}, "paper.dry_down", "a percentage such as 8%"),
        ("dodges", [DODGE | {"begin": "soon"}], "dodges[1].begin", "start, middle, end"),
        ("flash", {"filter": "00"}, "flash.dose_s", "it is missing"),
    ],
)
def test_a_wrong_field_is_named_as_it_is_written(
    field: str, value: object, where: str, said: str
) -> None:
    """File, field and what would be right."""
    with pytest.raises(BadInput) as refused:
        from_tables(WHOLE | {field: value}, "print.toml")
    assert refused.value.where == f"print.toml, {where}"
    assert said in str(refused.value)


@pytest.mark.parametrize(
    ("text", "factor"),
    [
        ("", 1.0),
        ("8%", 0.92),
        ("-8 %", 0.92),
        ("0%", 1.0),
        ("1/12", 2 ** (-1 / 12)),
        ("-1/4", 2**-0.25),
        ("½", 2**-0.5),
    ],
)
def test_dry_down_in_percent_or_stops(text: str, factor: float) -> None:
    """Both give the factor by which exposure becomes less."""
    assert dry_down_factor(text) == pytest.approx(factor)


@pytest.mark.parametrize("text", ["60%", "--8%", "8", "1", "50%", "nan%", "a little", "%"])
def test_a_dry_down_of_a_stop_or_more_is_a_slip(text: str) -> None:
    """No paper darkens by a stop, and none becomes lighter."""
    with pytest.raises(ValueError, match="no dry-down; right would be a percentage such as 8%"):
        dry_down_factor(text)


@pytest.mark.parametrize("text", ["0", "0s", "0.0 s", "0."])
def test_a_dodge_may_begin_at_nought(text: str) -> None:
    """Nought is a time within a pass, though it is no exposure."""
    assert begin_s(text) == 0.0


@pytest.mark.parametrize("text", ["", "s", ".", "-1s", "later", "1/3"])
def test_what_is_no_time_within_a_pass(text: str) -> None:
    """It is refused with the words that are known."""
    with pytest.raises(ValueError, match="right would be start, middle, end, or seconds"):
        begin_s(text)


def test_a_part_that_nobody_knows_is_refused_by_the_model_itself() -> None:
    """Extra fields are never silently dropped."""
    with pytest.raises(ValidationError):
        Score.model_validate({**split().model_dump(), "burn": []})


def test_an_area_is_rows_of_cells() -> None:
    """The cells of some regions, and elsewhere for the rest."""
    assert split().area(("door",)) == ("....", ".##.", "....")
    assert split().area(("house", "elsewhere")) == ("....", "...#", "##..")
