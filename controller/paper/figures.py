"""What is told of a fitted curve: ISO figures, grade, doubts, and what steps of light do."""

from __future__ import annotations

import math
from typing import TypedDict

from controller.paper import iso
from controller.paper.curve import Curve
from controller.paper.fit import Fit
from controller.paper.grades import Grade, grade_of

LOG_OF_THIRD = math.log10(2.0) / 3.0  # a third of a stop
LOG_OF_STOP = math.log10(2.0)


class Outlier(TypedDict):
    """A patch that the fit leaves out; ``residual`` is measured less fitted density."""

    line: int
    log_exposure: float
    density: float
    residual: float


class Figures(TypedDict):
    """A curve in figures, as ``paper fit --json`` prints them."""

    d_min: float
    d_max: float
    iso_speed: int | None
    iso_range: int
    grade: int | None
    residual_rms: float
    outliers: list[Outlier]


def figures(fit: Fit, table: tuple[Grade, ...], *, relative: bool) -> Figures:
    """Give the figures of a fit. Without lux seconds (``relative``) there is no speed."""
    points = iso.points_of(fit.curve)
    grade = grade_of(round(points.ler, 6), table)
    return Figures(
        d_min=round(fit.curve.d_min, 4),
        d_max=round(fit.curve.d_max, 4),
        iso_speed=None if relative else iso.iso_speed(points.log_hm),
        iso_range=iso.iso_range(round(points.ler, 6)),
        grade=None if grade is None else grade.number,
        residual_rms=round(fit.residual_rms, 5),
        outliers=[
            Outlier(
                line=reading.line,
                log_exposure=reading.log_exposure,
                density=reading.density,
                residual=round(off, 4),
            )
            for reading, off in fit.outliers
        ],
    )


def contrast_between(curve: Curve, lighter: float, darker: float) -> float:
    """Give the mean slope between two densities: density for each unit of log exposure.

    Raises ValueError where the paper has not both.
    """
    apart = curve.log_exposure(darker) - curve.log_exposure(lighter)
    if apart == 0.0:
        raise ValueError("two densities are wanted, not one")
    return (darker - lighter) / apart


def third_of_a_stop_at(curve: Curve, density: float) -> tuple[float, float]:
    """Give the densities that a third of a stop less, and more, makes of a density."""
    at = curve.log_exposure(density)
    return curve.density(at - LOG_OF_THIRD), curve.density(at + LOG_OF_THIRD)


def described(fit: Fit, table: tuple[Grade, ...], *, relative: bool) -> list[str]:
    """Tell a fit to a person; each +- is twice the standard error."""
    curve = fit.curve
    points = iso.points_of(curve)
    ler_error = fit.error_of(lambda each: iso.points_of(each).ler)
    hm_error = fit.error_of(lambda each: iso.points_of(each).log_hm)
    white_error = fit.error_of(lambda each: each.d_min)
    black_error = fit.error_of(lambda each: each.d_max)
    grade = grade_of(round(points.ler, 6), table)
    lines = [
        f"white {curve.d_min:.2f} ± {2 * white_error:.2f}, "
        f"black {curve.d_max:.2f} ± {2 * black_error:.2f} "
        f"(± is twice the standard error; {len(fit.kept)} patches)",
        f"ISO range R{iso.iso_range(round(points.ler, 6))} (log exposure range {points.ler:.2f} "
        f"± {2 * ler_error:.2f})",
    ]
    if relative:
        lines.append(
            f"no ISO speed: the exposures are relative; 0.60 over white is at {points.log_hm:.2f}"
        )
    else:
        figure = iso.speed_figure(10.0**points.log_hm)
        lines.append(
            f"ISO speed P{iso.iso_speed(points.log_hm)} (1000/Hm is {figure:.0f}, "
            f"± {2 * hm_error / LOG_OF_STOP:.2f} stop)"
        )
    if grade is None:
        lines.append("no grade: the range lies outside the table of grades")
    else:
        lines.append(f"grade {grade.number}, {grade.name}, by the table of log exposure ranges")
    lines.append(
        f"slope {curve.slope:.2f} ± {2 * fit.error_of(lambda each: each.slope):.2f}; bends: "
        f"toe {curve.toe:.2f} ± {2 * fit.error_of(lambda each: each.toe):.2f}, "
        f"shoulder {curve.shoulder:.2f} ± {2 * fit.error_of(lambda each: each.shoulder):.2f}"
    )
    lines += [
        f"a part with {share:.0%} of the density answers {late / LOG_OF_STOP:.1f} stops later"
        for late, share in curve.parts[1:]
    ]
    lines.append(f"residuals: {fit.residual_rms:.3f} (root mean square)")
    lines += [
        f"left out, line {reading.line}: density {reading.density:.2f} at "
        f"{reading.log_exposure:.2f} is {abs(off):.2f} "
        f"{'above' if off > 0 else 'below'} the curve"
        for reading, off in fit.outliers
    ]
    if not fit.white_seen:
        lines.append("no patch shows paper white: d_min is extrapolated")
    if not fit.black_seen:
        lines.append("no patch shows full black: d_max is extrapolated, and with it the range")
    return lines + _of_thirds(curve)


def _of_thirds(curve: Curve) -> list[str]:
    net = curve.net_range
    places = (
        ("highlight", curve.d_min + iso.HIGHLIGHT_OVER_WHITE),
        ("middle", curve.d_min + iso.SPEED_POINT_OVER_WHITE),
        ("shadow", curve.d_min + iso.SHADOW_PART_OF_NET * net),
    )
    lines = []
    for name, density in places:
        less, more = third_of_a_stop_at(curve, density)
        lines.append(
            f"a third of a stop in the {name}: {density:.2f} becomes {less:.2f} with less, "
            f"{more:.2f} with more"
        )
    return lines
