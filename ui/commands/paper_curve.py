"""``dryside paper fit`` and ``paper filters``."""

from __future__ import annotations

import math
from pathlib import Path

from controller.errors import BadInput, Refused, quoted
from controller.paper.figures import contrast_between, described, figures
from controller.paper.fit import Fit, fit_curve
from controller.paper.grades import GRADES, Grade, parse_grades
from controller.paper.readings import read_curve, read_lux_and_seconds
from controller.paper.reciprocity import corrected_s, fit_reciprocity
from drivers.places import config_folder
from ui import show

GRADES_FILE = "grades.toml"
METERED_S = (5.0, 20.0, 40.0, 80.0, 160.0)


def fit(file: str, *, between: str, relative: bool, json_: bool) -> None:
    """Fit one curve and tell it."""
    pair = _two_densities(between) if between else None
    found = fitted(file)
    try:
        slope = contrast_between(found.curve, *pair) if pair else None
        if json_:
            show.as_json(figures(found, grades(), relative=relative))
            return
        show.lines(described(found, grades(), relative=relative))
        if pair:
            print(f"from {pair[0]:.2f} to {pair[1]:.2f}: {slope:.2f} of density for each log unit")
    except ValueError as error:
        raise Refused(f"{file}: {error}") from None


def fitted(file: str) -> Fit:
    """Read and fit one file. Raises BadInput, Refused."""
    return fit_curve(read_curve(Path(file)), file)


def grades() -> tuple[Grade, ...]:
    """Give the user's own table of grades, if there is one, else the published one."""
    path = config_folder() / GRADES_FILE
    if not path.exists():
        return GRADES
    return parse_grades(path.read_text(encoding="utf-8"), str(path))


def _two_densities(text: str) -> tuple[float, float]:
    parts = text.split("-")
    try:
        low, high = sorted(float(part) for part in parts)
    except ValueError:
        raise BadInput(
            f"{quoted(text)} is no pair", "--between", "two densities such as 0.2-1.6"
        ) from None
    return low, high


def reciprocity(file: str, *, json_: bool) -> None:
    """Fit Schwarzschild's exponent and tell what it does to long exposures."""
    found = fit_reciprocity(read_lux_and_seconds(Path(file)), file)
    if json_:
        show.as_json(
            {
                "exponent": round(found.exponent, 4),
                "error": round(found.error, 4),
                "residual_rms": round(found.residual_rms, 5),
                "outliers": [each.line for each in found.outliers],
            }
        )
        return
    print(
        f"what counts is lux x seconds^{found.exponent:.3f} (± {2 * found.error:.3f}, twice the "
        f"standard error); residuals {found.residual_rms:.3f}"
    )
    for each in found.outliers:
        print(f"left out: line {each.line}, density {each.density:.2f}")
    if not found.is_told:
        print("that cannot be told from 1: no failure is seen, and no time needs to be changed")
        return
    for metered_s in METERED_S:
        longer_s = corrected_s(metered_s, found.exponent)
        print(
            f"{metered_s:>5g} s worked out become {longer_s:.1f} s "
            f"({math.log2(longer_s / metered_s):+.2f} stop)"
        )
