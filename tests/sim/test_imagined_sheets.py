from __future__ import annotations

import numpy as np
import pytest

from controller.ports import Move, NewSheet
from sim.paper import Paper
from sim.picture import Bands
from sim.settings import PaperSettings
from sim.sheet import Sheet

EDGES = ("left", "right", "top", "bottom")


def sheet(tones_lux=(1.0,), paper: Paper | None = None) -> Sheet:
    return Sheet(NewSheet("K1", 120.0, 80.0), paper or Paper(), Bands(tones_lux), 1.0)


def doses(developed) -> list[float]:
    return [round(patch.delivered_s, 9) for patch in developed.patches]


@pytest.mark.parametrize("edge", EDGES)
def test_a_card_covers_the_first_patches(edge):
    """Each patch gets what fell before the card came over it."""
    laid = sheet()
    for position, dose_s in enumerate((8.0, 2.0, 4.0)):
        laid.move(Move("card", position, 3, edge))
        laid.expose(dose_s, dose_s, 0.0)
    assert doses(laid.develop()) == [8.0, 10.0, 14.0]


@pytest.mark.parametrize("tool", ["window", "paper"])
@pytest.mark.parametrize("edge", EDGES)
def test_a_window_opens_one_patch_alone(tool, edge):
    """Each patch gets its own pulse and nothing of the others."""
    laid = sheet()
    for position, dose_s in enumerate((8.0, 2.0, 4.0, 5.0)):
        laid.move(Move(tool, position, 4, edge))
        laid.expose(dose_s, dose_s, 0.0)
    assert doses(laid.develop()) == [8.0, 2.0, 4.0, 5.0]


@pytest.mark.parametrize(
    ("edge", "box"),
    [
        ("left", (0, 0, 40, 80)),
        ("right", (80, 0, 120, 80)),
        ("top", (0, 0, 120, 80 / 3)),
        ("bottom", (0, 160 / 3, 120, 80)),
    ],
)
def test_patch_a_lies_at_its_edge(edge, box):
    """The picture agrees with the boxes: patch A, given most light, is darkest where A lies."""
    laid = sheet()
    laid.move(Move("window", 0, 3, edge))
    laid.expose(20.0, 20.0, 0.0)
    developed = laid.develop()
    first = developed.patches[0]
    assert first.letter == "A"
    assert tuple(first.box) == pytest.approx(box)
    assert developed.density.shape == (80, 120)
    rows, columns = np.nonzero(developed.density > 1.0)
    assert columns.min() == pytest.approx(box[0], abs=1)
    assert columns.max() + 1 == pytest.approx(box[2], abs=1)
    assert rows.min() == pytest.approx(box[1], abs=1)
    assert rows.max() + 1 == pytest.approx(box[3], abs=1)


def test_a_late_card_shows():
    """Light that fell before the card was moved is on the patch it should have covered."""
    laid = sheet()
    laid.move(Move("card", 0, 3))
    laid.expose(8.0, 8.0, 0.0)
    laid.expose(0.5, 0.5, 0.0)  # of the second pulse
    laid.move(Move("card", 1, 3))
    laid.expose(1.5, 1.5, 0.0)
    assert doses(laid.develop()) == [8.5, 10.0, 10.0]


def test_safelights_fog_what_is_open_and_nothing_else():
    """The card shields the paper from safelights as it does from the lamp."""
    laid = sheet()
    laid.move(Move("card", 1, 3))
    laid.expose(600.0, 0.0, 0.005)
    a, b, c = laid.develop().patches
    assert (a.exposure_lux_s, b.exposure_lux_s) == pytest.approx((0.0, 3.0))
    assert b.delivered_s == 0.0
    assert b.density == c.density > a.density + 0.1


def test_a_sheet_that_nothing_covered_is_one_patch():
    """Everything is open until something is laid on it."""
    laid = sheet()
    laid.expose(10.0, 10.0, 0.0)
    developed = laid.develop()
    assert doses(developed) == [10.0]
    assert np.ptp(developed.density) == 0.0


def test_card_and_window_show_the_picture_and_same_spot_does_not():
    """Under the card each patch lies on its own tone; the paper slid under a window on one."""
    tones = (4.0, 1.0, 0.25)
    exposures = {}
    for tool in ("window", "paper"):
        laid = sheet(tones)
        for position in range(3):
            laid.move(Move(tool, position, 3))
            laid.expose(1.0, 1.0, 0.0)
        developed = laid.develop()
        exposures[tool] = [patch.exposure_lux_s for patch in developed.patches]
        assert doses(developed) == [1.0, 1.0, 1.0]
    assert exposures["window"] == pytest.approx([4.0, 1.0, 0.25])
    assert exposures["paper"] == pytest.approx([1.0, 1.0, 1.0])


def test_a_card_laid_askew_leaves_a_line_but_no_wrong_patch():
    """A window a little beside its place gives two edges; the middles keep their doses."""
    laid = sheet()
    for position in range(3):
        laid.move(Move("window", position, 3), slip_mm=1.5 if position == 1 else 0.0)
        laid.expose(10.0, 10.0, 0.0)
    developed = laid.develop()
    assert doses(developed) == [10.0, 10.0, 10.0]
    line = developed.density[40]
    assert line[40] < 0.1  # left bare between A and B
    assert line[80] > line[100] + 0.3  # twice exposed between B and C


def test_half_a_cell_counts_half():
    """An edge that falls inside a cell opens it in part, so that positions are not rounded."""
    laid = sheet()
    laid.move(Move("card", 1, 3), slip_mm=0.25)
    laid.expose(8.0, 8.0, 0.0)
    laid.uncover()
    assert laid._lamp_s["none"][0, 39:42].tolist() == pytest.approx([0.0, 6.0, 8.0])


def test_a_filter_takes_light_from_the_paper_but_not_from_the_count_of_lamp_light():
    """Doses are planned with the filter in place."""
    laid = sheet()
    laid.expose(10.0, 10.0, 0.0, through=np.array([0.25]))
    (patch,) = laid.develop().patches
    assert (patch.delivered_s, patch.exposure_lux_s) == pytest.approx((10.0, 2.5))


def test_with_reciprocity_failure_two_dim_lights_together_count_more_than_apart():
    """Intensities add before the paper answers."""
    paper = Paper(PaperSettings(reciprocity=0.9, reciprocity_lux=1.0))
    apart, together = sheet((0.01,), paper), sheet((0.01,), paper)
    apart.expose(100.0, 100.0, 0.0)
    apart.expose(100.0, 0.0, 0.01)
    together.expose(100.0, 100.0, 0.01)
    sums = [s.develop().patches[0].exposure_lux_s for s in (apart, together)]
    assert sums[0] < sums[1] < 2.0
