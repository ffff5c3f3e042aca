"""Two tones solved on a box become a score whose doses give those tones."""

from __future__ import annotations

import math

import pytest

from controller.boxes.fitting import LATER
from controller.boxes.model import Batch, Developing, How, PaperReading, Point, Purpose
from controller.boxes.solved import (
    AskedTones,
    measured_of,
    score_of_solved,
    solved,
    tones_typed,
)
from controller.errors import BadInput, Refused
from controller.paper.curve import Curve
from controller.score.doses import exposures

BATCH = Batch(1, "pearl", "", "", "", None, "12", "", Developing(), LATER)
CURVES = {
    "2": Curve(0.06, 2.1, 0.6, 2.4, 0.2, 0.2),
    "4": Curve(0.06, 2.1, 0.7, 3.6, 0.2, 0.2),
}
ASKED = AskedTones("0.2=0.12", "2=1.70")


def read(filter_: str, number: int, lux: float | None = 1.0) -> PaperReading:
    curve, logs = CURVES[filter_], [0.12 * n for n in range(21)]
    points = tuple(Point("", at, curve.density(at), 0.02, {filter_: 10**at}) for at in logs)
    what = How.DENSITOMETER, Purpose.CURVE, lux
    return PaperReading(number, 1, filter_, Developing(), "", "K1", *what, points, "", LATER)


def test_the_nearest_filter_is_chosen_and_its_dose_holds_the_highlight():
    """The score has one pass, judged dry, on that box, with the lens that was metered with."""
    found = solved(measured_of([read("2", 1), read("4", 2)], "pearl/12"), tones_typed(ASKED))
    score = score_of_solved(found, BATCH, "16")
    one = exposures(score)[0]
    density = CURVES[one.filter].density(math.log10(one.dose_s * 0.2))
    assert density == pytest.approx(0.12, abs=0.01)
    assert (one.filter, score.judged, score.setup.aperture) == ("2", "dry", "16")
    assert (score.paper.name, score.paper.batch) == ("pearl", "12")
    assert any("wanted 1.70" in line for line in found.lines)


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        (AskedTones("0.2", "2=1.7"), "is no tone"),
        (AskedTones("2=0.12", "0.2=1.7"), "more light"),
        (AskedTones("D1.3=0.12", "D0.3=1.7"), "--bare"),
    ],
)
def test_tones_that_cannot_be_are_refused(asked: AskedTones, told: str):
    """Each names its option."""
    with pytest.raises(BadInput, match=told):
        tones_typed(asked)


def test_a_box_in_seconds_alone_says_nothing_of_lux():
    """What to do is told."""
    with pytest.raises(Refused, match="--lux"):
        measured_of([read("2", 1, None)], "pearl/12")
