"""What is typed about a score on the screen: the line of each row, and a conversion's form."""

from __future__ import annotations

from fractions import Fraction

import pytest

from controller.errors import BadInput
from controller.score.convert import Wanted, convert
from controller.score.model import Score
from controller.score.new import demonstration
from controller.score.report import row_columns, score_rows
from controller.score.typed import (
    AskedConversion,
    change_typed,
    conversion_asked,
    lines_typed,
    typed_conversion,
)

ONE = Score.model_validate({"base_s": 12, "passes": [{"label": "print"}]})


def score_with(**tables: object) -> Score:
    kept = {"sketch": ["TT", ".D"], "regions": {"T": "sky", "D": "door"}}
    passes = [{"label": "soft", "filter": "00"}, {"label": "hard", "filter": "5", "dose": "4s"}]
    return Score.model_validate({"base_s": 12, "passes": passes, **kept, **tables})


def test_each_row_of_the_demonstration_has_its_line() -> None:
    """As many lines as rows, in their order, each of them saying what its row is."""
    score = demonstration()
    lines = lines_typed(score)
    assert len(lines) == len(score_rows(score))
    assert lines[:3] == ["pass soft:00:+0", "pass hard:5:-1/4", "dodge door=+1/2@hard"]
    assert lines[-3:] == [
        "burn sky+cloud=+1/3@soft",
        "burn cloud=+1/2@soft",
        "burn quay=3s@hard",
    ]


@pytest.mark.parametrize(
    "score",
    [
        demonstration(),
        ONE,
        score_with(flash={"dose_s": 1.5}),
        score_with(burns=[{"regions": ["sky"], "amount": "+1/3"}]),
        score_with(burns=[{"regions": ["sky"], "amount": "4s", "over": "hard", "filter": "0"}]),
        score_with(
            dodges=[{"regions": ["door"], "amount": "1s", "within": "hard", "begin": "end"}]
        ),
    ],
)
def test_a_row_s_line_changes_nothing_as_it_stands(score: Score) -> None:
    """Typed as it is offered, each line gives the same score; there is one for every row."""
    lines = lines_typed(score)
    assert len(lines) == len(score_rows(score))
    assert all(lines)
    assert all(change_typed(score, line) == score for line in lines)


def test_a_label_that_no_line_can_say_has_none() -> None:
    """A colon would part the label: nothing is offered that means something else."""
    score = Score.model_validate({"base_s": 12, "passes": [{"label": "a:b"}]})
    assert lines_typed(score) == [""]


def test_the_columns_of_a_table_are_each_of_one_width() -> None:
    """Heads and rows are padded alike, and an overlong label is cut with a sign."""
    long = Score.model_validate({"base_s": 12, "passes": [{"label": "x" * 40}]})
    for score in (demonstration(), ONE, long):
        columns = row_columns(score_rows(score))
        for cells in zip(*columns, strict=True):
            assert len({len(cell) for cell in cells}) == 1
    assert row_columns(score_rows(long))[1].label.endswith("…")


def test_rows_say_what_follows_the_base_and_what_is_fixed() -> None:
    """Stops from the base, follows for a burn in stops, fixed for seconds; a dodge its start."""
    hows = {row.label.strip(): row.how for row in score_rows(demonstration())}
    assert hows["hard"] == "base -1/4"
    assert hows["burn cloud"] == "follows"
    assert hows["burn quay"] == "fixed"
    assert hows["dodge door"] == "from the start"


# -- converting ----------------------------------------------------------------------------------


def test_an_empty_form_wants_nothing() -> None:
    """What the score knows of itself is no change, and a lonely old value neither."""
    assert conversion_asked(AskedConversion()) is None
    assert conversion_asked(typed_conversion(demonstration())) is None
    assert conversion_asked(AskedConversion(lux="12")) is None


def test_a_form_becomes_what_is_wanted() -> None:
    """Every field comes to its place."""
    asked = AskedConversion(
        magnification="2",
        to_magnification="4",
        to_aperture="5.6",
        lux="1.5",
        to_lux="0.75",
        filters="00=0, 5=4 1/2",
        paper="warm",
        batch="B2",
        speeds="200=250",
        lamp="opal",
        stops="+1/3",
        size="8x10in",
    )
    assert conversion_asked(asked) == Wanted(
        from_magnification=2,
        to_magnification=4,
        to_aperture="5.6",
        from_lux=1.5,
        to_lux=0.75,
        filters=(("00", "0"), ("5", "4 1/2")),
        paper="warm",
        batch="B2",
        from_speed_p=200,
        to_speed_p=250,
        lamp="opal",
        stops=Fraction(1, 3),
        size_mm=(pytest.approx(203.2), pytest.approx(254.0)),  # type: ignore[arg-type]
    )


def test_the_score_s_own_magnification_needs_no_typing() -> None:
    """Twice the magnification of the demonstration: (1 + 2m)^2 / (1 + m)^2 of the exposure."""
    score = demonstration()
    known = score.setup.magnification
    assert known is not None
    wanted = conversion_asked(AskedConversion(to_magnification=f"{2 * known:g}"))
    assert wanted is not None
    factor = (1 + 2 * known) ** 2 / (1 + known) ** 2
    assert convert(score, wanted).score.base_s == pytest.approx(16 * factor, rel=1e-6)


@pytest.mark.parametrize(
    ("field", "text", "where"),
    [
        ("to_magnification", "big", "magnification"),
        ("to_magnification", "0", "magnification"),
        ("to_lux", "-3", "lux"),
        ("filters", "5", "filter"),
        ("filters", "=5", "filter"),
        ("speeds", "200", "speeds"),
        ("speeds", "a=b", "speeds"),
        ("stops", "some", "stops"),
        ("size", "large", "size"),
    ],
)
def test_a_field_that_is_not_understood_is_named(field: str, text: str, where: str) -> None:
    """The refusal says which field, and what would be right."""
    with pytest.raises(BadInput) as caught:
        conversion_asked(AskedConversion(**{field: text}))
    assert caught.value.where == where
    assert caught.value.right
