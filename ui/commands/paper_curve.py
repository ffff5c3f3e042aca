"""``dryside paper fit`` and ``paper filters``."""

from __future__ import annotations

from pathlib import Path

from controller.errors import BadInput, Refused, quoted
from controller.paper.figures import contrast_between, described, figures
from controller.paper.fit import Fit, fit_curve
from controller.paper.grades import GRADES, Grade, parse_grades
from controller.paper.readings import read_curve
from drivers.places import config_folder
from ui import show

GRADES_FILE = "grades.toml"


def fit(file: str, *, between: str, relative: bool, json_: bool) -> None:
    """Fit one curve and tell it."""
    found = fitted(file)
    pair = _two_densities(between) if between else None
    try:
        if json_:
            show.as_json(figures(found, grades(), relative=relative))
            return
        show.lines(described(found, grades(), relative=relative))
        if pair:
            slope = contrast_between(found.curve, *pair)
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
