"""A score from one paper to another: every region keeps its density where the new paper can. Pure.

What a region got on the old paper, and the density that it had there, tell how much light the
negative let through in it. With that the new paper's own curve says which dose gives the same
density. Passes are settled first, by the regions that nobody burned or dodged; then every burn
and dodge is made to fit. All densities are of dry prints, so the converted score is judged dry.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from controller.boxes.answers import Answers, light_for, solve
from controller.errors import BadInput, Refused, quoted
from controller.score.amount import Amount, Unit, seconds, stops
from controller.score.doses import exposures, filter_of, print_factor, region_doses, region_names
from controller.score.model import Burn, Dodge, Pass, Score
from controller.stops import written_s

KEPT = 0.02  # density: what nobody sees (common practice, no source)
HIGHLIGHT_OVER_WHITE, SHADOW_OF_NET, MIDDLE_OVER_WHITE = 0.04, 0.90, 0.60
LEAST_AMOUNT = 0.01  # stops or seconds of a burn or dodge that is worth a hand
MOST_STOPS = 12.0  # by so much two papers may differ


@dataclass(frozen=True, slots=True)
class Region:
    """A region before and after: densities, and a word where it could not be kept."""

    name: str
    before: float
    after: float
    why: str = ""

    @property
    def kept(self) -> bool:
        """Has it the same density, as far as an eye can tell?"""
        return abs(self.after - self.before) <= KEPT


@dataclass(frozen=True, slots=True)
class ToPaper:
    """A converted score, what became of each region, and what a strip must settle."""

    score: Score
    regions: tuple[Region, ...]
    lines: tuple[str, ...]
    unsettled: tuple[str, ...]


@dataclass
class _Work:
    """A conversion while it is made; lights are log10 by region."""

    old: Score
    new: Score
    was: Answers
    now: Answers
    to_filter: Mapping[str, str]
    densities: Mapping[str, float]
    lights: dict[str, float] = field(default_factory=dict)
    fitted: list[str] = field(default_factory=list)  # regions whose handwork is settled
    told: list[str] = field(default_factory=list)
    open: list[str] = field(default_factory=list)


def convert_to_paper(
    score: Score,
    was: Answers,
    now: Answers,
    *,
    densities: Mapping[str, float],
    to_filter: Mapping[str, str],
    paper: tuple[str, str],
) -> ToPaper:
    """Convert a score from the paper ``was`` to the paper ``now``, called ``paper`` (name, box).

    ``densities`` are those of regions on the dry print; where none is given, the passes keep
    highlight and shadow of the old paper (of one pass the middle), and burns and dodges their
    stops. ``to_filter`` names the new filter of each old one. Raises BadInput and Refused.
    """
    names = region_names(score)
    for name in densities:
        if name not in names:
            known = ", ".join(names)
            raise BadInput(f"there is no region {quoted(name)}", "--density", f"one of {known}")
    _require_filters(score, was, now, to_filter)
    work = _Work(score, score, was, now, to_filter, densities)
    doses = region_doses(_without_flash(score))
    for name, density in densities.items():
        work.lights[name] = light_for(was, doses[name], density, name)
    factors = _pass_factors(work)
    work.new = _with_passes(work, factors)
    for name in names:
        if name in work.lights:
            _fit_works(work, name)
            work.fitted.append(name)
    work.new = _without_nothing(work)
    untold = [n for n in names if n not in work.lights and _works_on(work.new, n)]
    if untold:
        work.open.append(
            f"{', '.join(untold)}: no density was given, so burn and dodge keep their stops "
            "(seconds are changed as the pass is); a strip settles them"
        )
    if score.flash:
        work.open.append("the flash is left as it was; a flash strip on the new paper settles it")
    name, box = paper
    came = f"{score.paper.name or 'another paper'} to {'/'.join(filter(None, paper))} by curves"
    new = work.new.model_copy(
        update={
            "paper": score.paper.model_copy(update={"name": name, "batch": box, "dry_down": ""}),
            "judged": "dry",
            "came_from": (*score.came_from, came),
        }
    )
    new = Score.model_validate(new.model_dump())
    exposures(new)  # a dodge that its pass cannot hold is refused now
    work.new = new
    return ToPaper(new, tuple(_regions(work)), tuple(work.told), tuple(work.open))


# --- inside -----------------------------------------------------------------------------------


def _without_flash(score: Score) -> Score:
    return score.model_copy(update={"flash": None})


def _require_filters(
    score: Score, was: Answers, now: Answers, to_filter: Mapping[str, str]
) -> None:
    used = {one.filter for one in exposures(_without_flash(score))}
    for name in sorted(used):
        if name not in was.filters:
            raise Refused(
                f"{was.box} has no curve of filter {name}",
                (f"a calibration sheet of it: dryside paper sheet {was.box} --filter {name}",),
            )
        if to_filter.get(name, name) not in now.filters:
            raise Refused(
                f"{now.box} has no curve of filter {to_filter.get(name, name)}",
                tuple(f"--filter {name}={known}" for known in now.filters),
            )


def _pass_factors(work: _Work) -> list[float]:
    """Find by how much each pass is multiplied, in log2: the anchors keep their densities."""
    score = work.old
    passes = _pass_doses(score)
    plain = [name for name in work.lights if not _works_on(score, name)]
    anchors = [(work.lights[name], work.densities[name]) for name in plain]
    now = work.now
    within = [a for a in anchors if now.d_min + 0.005 < a[1] < now.d_max - KEPT]
    anchors = within or anchors  # what the new paper has not at all must not pull the rest
    if not anchors:
        anchors = _usual_anchors(work, passes)
        if work.lights:
            work.told.append("every region told was burned or dodged: the passes keep usual tones")
    if len(passes) == 1:
        best = anchors[len(anchors) // 2 : len(anchors) // 2 + 1]
        return [_one_factor(work, passes[0], anchors if len(anchors) > 1 else best)]
    if len(anchors) == 1:
        return [_one_factor(work, _sum(passes), anchors)] * len(passes)
    return _two_factors(work, passes, anchors)


def _pass_doses(score: Score) -> list[dict[str, float]]:
    factor = print_factor(score)
    return [{filter_of(p): p.dose.from_base_s(score.base_s) * factor} for p in score.passes]


def _sum(doses: Sequence[Mapping[str, float]]) -> dict[str, float]:
    total: dict[str, float] = {}
    for one in doses:
        for name, dose_s in one.items():
            total[name] = total.get(name, 0.0) + dose_s
    return total


def _renamed(work: _Work, doses: Mapping[str, float], factor: float = 1.0) -> dict[str, float]:
    renamed: dict[str, float] = {}
    for name, dose_s in doses.items():
        to = work.to_filter.get(name, name)
        renamed[to] = renamed.get(to, 0.0) + dose_s * factor
    return renamed


def _usual_anchors(work: _Work, passes: Sequence[Mapping[str, float]]) -> list[tuple[float, float]]:
    """Give lights and densities of highlight and shadow on the old paper, or of its middle."""
    was = work.was
    net = was.d_max - was.d_min
    if len(passes) == 1:
        wanted = [was.d_min + min(MIDDLE_OVER_WHITE, 0.5 * net)]
    else:
        wanted = [was.d_min + HIGHLIGHT_OVER_WHITE, was.d_min + SHADOW_OF_NET * net]
    base = _sum(passes)
    return [(light_for(was, base, density, "the print"), density) for density in wanted]


def _error(
    work: _Work, doses: Mapping[str, float], anchors: Sequence[tuple[float, float]]
) -> list[float]:
    """Give by how much each anchor is off; what this paper cannot reach counts from its end."""
    now = work.now
    return [
        now.density(doses, light) - min(max(density, now.d_min + 0.005), now.d_max - 0.01)
        for light, density in anchors
    ]


def _one_factor(
    work: _Work, doses: Mapping[str, float], anchors: Sequence[tuple[float, float]]
) -> float:
    def rising(stops_more: float) -> float:
        return sum(_error(work, _renamed(work, doses, 2.0**stops_more), anchors))

    return solve(rising, -MOST_STOPS, MOST_STOPS)


def _two_factors(
    work: _Work,
    passes: Sequence[Mapping[str, float]],
    anchors: Sequence[tuple[float, float]],
) -> list[float]:
    import numpy as np
    from scipy.optimize import least_squares

    start = _one_factor(work, _sum(passes), anchors)

    def off(factors: np.ndarray) -> list[float]:
        scaled = _sum(
            [_renamed(work, one, 2.0 ** float(k)) for one, k in zip(passes, factors, strict=True)]
        )
        # a little against doses that run away where a tone hardly depends on them
        return [*_error(work, scaled, anchors), *(0.002 * (factors - start))]

    found = least_squares(
        off,
        np.full(len(passes), start),
        bounds=(start - 6.0, start + 6.0),
        diff_step=1e-3,
        x_scale=1.0,
    )
    return [float(k) for k in found.x]


def _with_passes(work: _Work, factors: Sequence[float]) -> Score:
    """Give the score with passes multiplied, the base following the first pass in stops."""
    old, dried = work.old, math.log2(print_factor(work.old))
    changes = [k + dried for k in factors]
    by_label = {one.label: k for one, k in zip(old.passes, changes, strict=True)}
    following = [k for one, k in zip(old.passes, changes, strict=True) if one.dose.follows]
    base_change = following[0] if following else changes[0]
    passes = []
    for one, change in zip(old.passes, changes, strict=True):
        if one.dose.unit is Unit.STOPS:
            dose = stops(float(one.dose.value) + change - base_change)
        else:
            dose = seconds(written_s(float(one.dose.value) * 2.0**change))
        passes.append(one.model_copy(update={"dose": dose, **_new_filter(work, one)}))
        was_s = one.dose.from_base_s(old.base_s) * print_factor(old)
        to = work.to_filter.get(filter_of(one), filter_of(one))
        work.told.append(
            f"{one.label}, filter {filter_of(one)} to {to}: {was_s:.2f} s to "
            f"{was_s * 2.0 ** (change - dried):.2f} s ({change - dried:+.2f} stop)"
        )
    burns = [_scaled_burn(work, burn, by_label) for burn in old.burns]
    dodges = [
        d.model_copy(update={"amount": d.amount.times(2.0 ** by_label[d.within])})
        for d in old.dodges
    ]
    base_s = written_s(old.base_s * 2.0**base_change)
    update = {"base_s": base_s, "passes": tuple(passes), "judged": "dry"}
    return old.model_copy(update={**update, "burns": tuple(burns), "dodges": tuple(dodges)})


def _new_filter(work: _Work, one: Pass) -> dict[str, object]:
    name = filter_of(one)
    to = work.to_filter.get(name, name)
    return {} if to == name else {"filter": to, "yellow": 0.0, "magenta": 0.0}


def _scaled_burn(work: _Work, burn: Burn, by_label: Mapping[str, float]) -> Burn:
    change = by_label.get(burn.over, list(by_label.values())[-1])
    update: dict[str, object] = {"amount": burn.amount.times(2.0**change)}
    if burn.filter:
        update["filter"] = work.to_filter.get(burn.filter, burn.filter)
    return burn.model_copy(update=update)


def _works_on(score: Score, region: str) -> list[tuple[str, int]]:
    """Name the burns and dodges of a region by kind and place, the last burn first."""
    burns = [("burn", i) for i, one in enumerate(score.burns) if region in one.regions]
    dodges = [("dodge", i) for i, one in enumerate(score.dodges) if region in one.regions]
    return [*reversed(burns), *reversed(dodges)]


def _fit_works(work: _Work, region: str) -> None:
    """Change the last burn of a region, then what else is made on it, until it fits."""
    wanted = work.densities[region]
    for kind, place in _works_on(work.new, region):
        if abs(_density_now(work, work.new, region) - wanted) <= KEPT / 20:
            return
        shared = (work.new.burns if kind == "burn" else work.new.dodges)[place].regions
        before = [name for name in shared if name in work.fitted]
        if before:
            others = ", ".join(before)
            work.open.append(f"{region}: its {kind} was fitted to {others}, which shares it")
            continue
        most = _most(work.new, kind, place)

        def off(amount: float, kind: str = kind, place: int = place) -> float:
            score = _with_amount(work.new, kind, place, amount)
            return _density_now(work, score, region) - wanted

        low, high = (0.0, most) if kind == "burn" else (most, 0.0)
        if off(low) >= 0.0:
            amount = low
        elif off(high) <= 0.0:
            amount = high
        elif kind == "burn":
            amount = solve(off, low, high)
        else:
            amount = -solve(lambda minus: off(-minus), -low, -high)
        work.new = _with_amount(work.new, kind, place, amount)


def _without_nothing(work: _Work) -> Score:
    """Leave burns and dodges out of which nothing is left, and tell it."""
    new = work.new
    burns = [b for b in new.burns if abs(float(b.amount.value)) >= LEAST_AMOUNT]
    dodges = [d for d in new.dodges if abs(float(d.amount.value)) >= LEAST_AMOUNT]
    for kind, was, now in (("burn", new.burns, burns), ("dodge", new.dodges, dodges)):
        for one in was:
            if one not in now:
                work.told.append(f"the {kind} of {' and '.join(one.regions)} is needed no more")
    return new.model_copy(update={"burns": tuple(burns), "dodges": tuple(dodges)})


def _most(score: Score, kind: str, place: int) -> float:
    """Give the most that an amount may be, in its own unit."""
    if kind == "burn":
        unit = score.burns[place].amount.unit
        return 6.0 if unit is Unit.STOPS else 60.0 * score.base_s
    dodge = score.dodges[place]
    if dodge.amount.unit is Unit.STOPS:
        return 6.0
    return score.pass_called(dodge.within).dose.from_base_s(score.base_s)


def _with_amount(score: Score, kind: str, place: int, value: float) -> Score:
    works: list[Burn] | list[Dodge]
    if kind == "burn":
        works = list(score.burns)
        works[place] = works[place].model_copy(update={"amount": _like(works[place].amount, value)})
        return score.model_copy(update={"burns": tuple(works)})
    works = list(score.dodges)
    works[place] = works[place].model_copy(update={"amount": _like(works[place].amount, value)})
    return score.model_copy(update={"dodges": tuple(works)})


def _like(amount: Amount, value: float) -> Amount:
    return stops(value) if amount.unit is Unit.STOPS else seconds(value)


def _density_now(work: _Work, score: Score, region: str) -> float:
    doses = region_doses(_without_flash(score))[region]
    return work.now.density(doses, work.lights[region])


def _regions(work: _Work) -> list[Region]:
    """Tell every region whose density was given, and why it is not kept, where it is not."""
    found = []
    for name, before in work.densities.items():
        after = _density_now(work, work.new, name)
        found.append(Region(name, before, after, _why(work, name, before, after)))
    return found


def _why(work: _Work, name: str, before: float, after: float) -> str:
    if abs(after - before) <= KEPT:
        return ""
    now = work.now
    if before > now.d_max - KEPT:
        return f"darker than this paper's black, {now.d_max:.2f}"
    if before < now.d_min:
        return f"lighter than this paper's white, {now.d_min:.2f}"
    doses = region_doses(_without_flash(work.new))[name]
    light = work.lights[name]

    def rising(more: float) -> float:
        scaled = {key: dose_s * 2.0**more for key, dose_s in doses.items()}
        return now.density(scaled, light) - before

    more = solve(rising, -MOST_STOPS, MOST_STOPS)
    what = "a burn" if more > 0 else "a dodge"
    return f"the passes cannot hold it: {what} of {abs(more):.2f} stop would"
