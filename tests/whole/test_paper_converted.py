"""Scores from one imagined paper to another: regions keep their densities on the new one."""

from __future__ import annotations

import math
import os

import numpy as np
import pytest

from controller.boxes.answers import EachFilter
from controller.boxes.convert import ToPaper, convert_to_paper
from controller.errors import BadInput, Refused
from controller.paper.curve import Curve
from controller.paper.fit import fit_curve
from controller.paper.readings import Reading
from controller.ports import Filter
from controller.score.amount import parse_amount
from controller.score.doses import region_doses
from controller.score.model import Burn, Dodge, PaperUsed, Pass, Score
from sim.settings import PaperSettings
from sim.spectra import REFERENCE_K, glow
from sim.variable import VariablePaper

LONG = bool(os.environ.get("DRYSIDE_LONG"))
EASEL_LUX = 0.5
NOISE = 0.01  # density, each reading: a good densitometer
SKETCH = ("ss..", "ssdd", "..dd")


def any_paper(chance: np.random.Generator) -> VariablePaper:
    """Give a paper by chance, of a mid range of contrast."""
    settings = PaperSettings(
        speed_p=float(chance.uniform(100, 400)),
        part_gamma=float(chance.uniform(3.0, 4.4)),
        part_toe=float(chance.uniform(0.10, 0.22)),
        part_shoulder=float(chance.uniform(0.10, 0.22)),
        d_min=float(chance.uniform(0.05, 0.09)),
        d_max=float(chance.uniform(1.95, 2.2)),
    )
    return VariablePaper(settings, glow(REFERENCE_K))


def density(paper: VariablePaper, filter_: str, dose_s: float, log_light: float) -> float:
    """Develop an exposure under one filter."""
    through = paper.through(Filter(filter_))
    lux_s = EASEL_LUX * dose_s * 10.0**log_light
    return float(paper.developed((through * lux_s)[:, None])[0])


def sheet_about(paper: VariablePaper, filter_: str, chance: np.random.Generator) -> np.ndarray:
    """Lay the standard sheet, 21 thirds of a stop, about the paper's range as a strip found it."""
    through = paper.through(Filter(filter_)) * EASEL_LUX
    white, net = paper.settings.d_min, paper.settings.d_max - paper.settings.d_min
    ends = [math.log10(paper.exposure_for(d, through)) for d in (white + 0.04, white + 0.9 * net)]
    laid: np.ndarray = sum(ends) / 2 + 0.1 + chance.uniform(-0.15, 0.15) + np.linspace(-1, 1, 21)
    return laid


def measured(paper: VariablePaper, filter_: str, chance: np.random.Generator) -> EachFilter:
    """Fit the curve of a sheet, each patch read with ``NOISE``."""
    readings = [
        Reading(
            (float(log),),
            density(paper, filter_, 10.0**log, 0.0) + float(chance.normal(0.0, NOISE)),
        )
        for log in sheet_about(paper, filter_, chance)
    ]
    return EachFilter({filter_: fit_curve(readings, "the sheet", filtered=True).curve})


def score_of(base_s: float) -> Score:
    """Give a print of one filter with a burned sky and a dodged door."""
    return Score(
        base_s=base_s,
        judged="dry",
        paper=PaperUsed(name="old"),
        sketch=SKETCH,
        regions={"s": "sky", "d": "door"},
        passes=(Pass(label="main", filter="2"),),
        burns=(Burn(regions=("sky",), amount=parse_amount("+1/2")),),
        dodges=(Dodge(regions=("door",), amount=parse_amount("1/3"), within="main"),),
    )


def converted(seed: int) -> tuple[ToPaper, dict[str, float], VariablePaper]:
    """Convert a print with densities as the old paper really had them."""
    chance = np.random.default_rng(seed)
    old, new = any_paper(chance), any_paper(chance)
    score = score_of(20.0)
    wanted = {"sky": chance.uniform(0.15, 0.4), "door": chance.uniform(0.9, 1.6)}
    wanted["elsewhere"] = chance.uniform(0.4, 0.9)
    doses = region_doses(score)
    lights = {}
    for name, goal in wanted.items():
        tried = np.linspace(-4, 3, 3000)
        got = [density(old, "2", doses[name]["2"], at) for at in tried]
        lights[name] = float(np.interp(goal, got, tried))
    result = convert_to_paper(
        score,
        measured(old, "2", chance),
        measured(new, "2", chance),
        densities=wanted,
        to_filter={},
        paper=("new", "9"),
    )
    return result, {k: lights[k] for k in wanted}, new


def test_regions_keep_their_densities_on_another_paper():
    """Every region that is called kept has the density it had, within 0.05, in all prints.

    The region without handwork is always kept.
    """
    seeds = 100 if LONG else 4
    off = []
    for seed in range(seeds):
        result, lights, new = converted(seed)
        doses = region_doses(result.score)
        assert all(region.kept or region.why for region in result.regions)
        assert next(one for one in result.regions if one.name == "elsewhere").kept
        off += [
            abs(density(new, "2", doses[one.name]["2"], lights[one.name]) - one.before)
            for one in result.regions
            if one.kept
        ]
    print(f"of {len(off)} regions the worst is {max(off):.3f} off, the median {np.median(off):.3f}")
    assert len(off) >= 2 * seeds  # nearly all can be kept
    assert max(off) <= 0.05


def straight(speed: float, d_max: float = 2.1) -> EachFilter:
    """Give a paper whose curve is the usual one, so much faster in log units."""
    return EachFilter({"2": Curve(0.06, d_max, 0.8 - speed, 2.4, 0.2, 0.2)})


def to(now: EachFilter, densities: dict[str, float], score: Score | None = None) -> ToPaper:
    """Convert the usual print."""
    return convert_to_paper(
        score or score_of(16.0),
        straight(0.0),
        now,
        densities=densities,
        to_filter={},
        paper=("new", "9"),
    )


def test_paper_of_the_same_curve_and_twice_the_speed_takes_half_of_all():
    """A curve moved by one stop halves the pass; burn and dodge in stops stay as they are."""
    result = to(straight(math.log10(2.0)), {"elsewhere": 0.7, "sky": 0.3, "door": 1.2})
    assert result.score.base_s == pytest.approx(8.0, rel=1e-3)
    assert float(result.score.burns[0].amount.value) == pytest.approx(0.5, abs=0.01)
    assert float(result.score.dodges[0].amount.value) == pytest.approx(1 / 3, abs=0.01)
    assert all(region.kept for region in result.regions)
    assert (result.score.paper.name, result.score.paper.batch) == ("new", "9")


def test_what_the_new_paper_cannot_hold_is_told():
    """A black that the new paper has not is told with the paper's own black."""
    result = to(straight(0.0, d_max=1.6), {"elsewhere": 0.7, "door": 1.95})
    [door] = [region for region in result.regions if region.name == "door"]
    assert not door.kept
    assert "1.60" in door.why


def test_dry_down_is_taken_into_the_doses_once():
    """A wet-judged print with 8 % becomes a dry one that gets those 8 % less."""
    wet = score_of(16.0).model_copy(
        update={"judged": "wet", "paper": PaperUsed(name="old", dry_down="8%")}
    )
    result = to(straight(0.0), {"elsewhere": 0.7}, wet)
    assert result.score.base_s == pytest.approx(16.0 * 0.92, rel=1e-3)
    assert (result.score.judged, result.score.paper.dry_down) == ("dry", "")


def test_regions_whose_density_is_not_known_are_left_to_a_strip():
    """Burns and dodges of such regions keep their stops, and are named as unsettled."""
    result = to(straight(0.1), {})
    assert str(result.score.burns[0].amount) == "+1/2"
    assert any("sky" in line and "door" in line for line in result.unsettled)


def test_what_cannot_be_converted_is_refused():
    """An unknown region, a density beyond the paper, and a filter without a curve."""
    with pytest.raises(BadInput, match="no region"):
        to(straight(0.0), {"moon": 0.3})
    with pytest.raises(BadInput, match="not between"):
        to(straight(0.0), {"sky": 2.4})
    hard = score_of(16.0).model_copy(update={"passes": (Pass(label="main", filter="5"),)})
    with pytest.raises(Refused, match="no curve of filter 5"):
        to(straight(0.0), {}, hard)
