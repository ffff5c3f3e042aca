"""Split prints from one imagined paper to another, by the three sheets of each."""

from __future__ import annotations

import math
import os
from datetime import UTC, datetime

import numpy as np
import pytest

from controller.boxes.convert import convert_to_paper
from controller.boxes.model import Developing, How, PaperReading, Point, Purpose
from controller.boxes.sheet import PaperSheet
from controller.boxes.split import TwoFilters, split_of, split_pairs
from controller.errors import Refused
from controller.ports import Filter
from controller.score.amount import parse_amount
from controller.score.doses import region_doses
from controller.score.model import Burn, PaperUsed, Pass, Score
from controller.stops import parse_step
from sim.settings import PaperSettings
from sim.spectra import REFERENCE_K, glow
from sim.variable import VariablePaper

LONG = bool(os.environ.get("DRYSIDE_LONG"))
LUX = 1.0
SOFT, HARD = "00", "5"
NOISE = 0.01


def any_paper(chance: np.random.Generator) -> VariablePaper:
    """Give a paper of two parts by chance."""
    settings = PaperSettings(
        speed_p=float(chance.uniform(120, 300)),
        part_gamma=float(chance.uniform(3.0, 4.2)),
        part_green=(1.0, float(chance.uniform(0.08, 0.25))),
        part_shares=(float(chance.uniform(0.35, 0.6)), 0.5),
        d_max=float(chance.uniform(1.95, 2.2)),
    )
    return VariablePaper(settings, glow(REFERENCE_K))


def density(paper: VariablePaper, doses_s: dict[str, float], light: float) -> float:
    """Develop what both filters gave."""
    exposure = sum(paper.through(Filter(name)) * dose * LUX for name, dose in doses_s.items())
    return float(paper.developed((np.asarray(exposure) * light)[:, None])[0])


def read(paper: VariablePaper, sheet: PaperSheet, chance: np.random.Generator) -> PaperReading:
    """Read a sheet with a little noise."""
    points = tuple(
        Point(
            label,
            sheet.log_h(doses),
            density(paper, doses, 1.0) + float(chance.normal(0.0, NOISE)),
            0.02,
            doses,
        )
        for label, doses in zip(sheet.labels(), sheet.doses(), strict=True)
    )
    return PaperReading(
        1, 1, sheet.filters, Developing(), "r", "K1", How.DENSITOMETER, Purpose.CURVE, LUX,
        points, "", datetime(2026, 1, 1, tzinfo=UTC),
    )  # fmt: skip


def sheets(paper: VariablePaper, chance: np.random.Generator) -> list[PaperReading]:
    """Read the three sheets of a split."""
    fine, wide = parse_step("2/5"), parse_step("2/3")
    soft = PaperSheet(paper="p", filter=SOFT, base_s=1.0, step=fine, lux=LUX)
    hard = PaperSheet(paper="p", filter=HARD, base_s=2.0, step=fine, lux=LUX)
    mixed = PaperSheet(
        paper="p", kind="mixed", filter=SOFT, base_s=1.7, hard_filter=HARD, hard_s=3.5,
        step=wide, lux=LUX,
    )  # fmt: skip
    return [read(paper, one, chance) for one in (mixed, hard, soft)]


def measured(paper: VariablePaper, chance: np.random.Generator) -> TwoFilters:
    """Fit a paper to its three sheets."""
    readings = sheets(paper, chance)
    assert split_pairs(readings) == [(SOFT, HARD)]
    return split_of(readings, SOFT, HARD, "pearl/12")


def test_a_split_print_keeps_its_tones_on_another_paper():
    """In nine of ten prints all tones, the burned one too, are there to within 0.08."""
    score = Score(
        base_s=14.0,
        judged="dry",
        paper=PaperUsed(name="old"),
        sketch=("ss..", "....", "..dd"),
        regions={"s": "sky", "d": "door"},
        passes=(
            Pass(label="soft", filter=SOFT),
            Pass(label="hard", filter=HARD, dose=parse_amount("+1/2")),
        ),
        burns=(Burn(regions=("sky",), amount=parse_amount("+1/2"), over="soft"),),
    )
    doses = region_doses(score)
    seeds = 50 if LONG else 1
    off = []
    for seed in range(seeds):
        chance = np.random.default_rng(seed)
        old, new = any_paper(chance), any_paper(chance)
        wanted = {"sky": 0.2, "door": 1.6, "elsewhere": 0.6}
        tried = np.geomspace(1e-4, 1e3, 2000)
        lights = {
            name: float(np.interp(goal, [density(old, doses[name], at) for at in tried], tried))
            for name, goal in wanted.items()
        }
        result = convert_to_paper(
            score,
            measured(old, chance),
            measured(new, chance),
            densities=wanted,
            to_filter={},
            paper=("new", ""),
        )
        assert all(region.kept for region in result.regions)
        then = region_doses(result.score)
        really = {name: density(new, then[name], lights[name]) for name in wanted}
        off.append(max(abs(really[name] - wanted[name]) for name in wanted))
    assert sum(error > 0.08 for error in off) <= seeds / 10, sorted(off)


def test_the_split_model_counts_light_as_exposure():
    """Twice the light is twice both doses, whatever their ratio."""
    chance = np.random.default_rng(1)
    paper = measured(any_paper(chance), chance)
    once = paper.density({SOFT: 10.0, HARD: 6.0}, 0.0)
    assert paper.density({SOFT: 5.0, HARD: 3.0}, math.log10(2.0)) == pytest.approx(once)
    with pytest.raises(Refused, match="filter 3"):
        paper.density({"3": 4.0}, 0.0)


def test_a_split_needs_all_three_sheets():
    """Without the mixed sheet, or without one of the wedges, it is said what is missing."""
    chance = np.random.default_rng(2)
    mixed, hard, soft = sheets(any_paper(chance), chance)
    with pytest.raises(Refused, match="pearl/12 has no sheet of 00 and 5 together"):
        split_of([hard, soft], SOFT, HARD, "pearl/12")
    with pytest.raises(Refused, match="filter 5"):
        split_of([mixed, soft], SOFT, HARD, "pearl/12")
