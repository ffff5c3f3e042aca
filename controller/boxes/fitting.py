"""The curve of a sheet that was read, by the paper's own fit (``controller.paper``)."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime

from controller.boxes.model import How, PaperCurve, PaperReading, Purpose
from controller.errors import Refused
from controller.paper import iso
from controller.paper.curve import Curve
from controller.paper.fit import LEAST_PATCHES, Fit, fit_curve
from controller.paper.readings import Reading
from controller.ports import NO_FILTER

LEVEL_PATCHES, LEVEL = 3, 0.03  # so many patches within so much density are level (our choice)
LATER = datetime.fromtimestamp(0, UTC)  # the book gives number and time


def can_be_fitted(reading: PaperReading) -> bool:
    """Has it patches enough, of one filter, and not only bounds?"""
    return "+" not in reading.filter and len(readings_of(reading)) >= LEAST_PATCHES


def readings_of(reading: PaperReading) -> list[Reading]:
    """Give what the fit goes by: patches that are no mere bounds."""
    return [
        Reading((point.log_h,), point.density, index)
        for index, point in enumerate(reading.points, start=1)
        if not point.beyond
    ]


def fits_of(readings: Sequence[PaperReading], box: str) -> dict[str, Fit]:
    """Fit the newest sheet of each filter, ``readings`` the newest first; the softest comes first.

    Only sheets of one developing and in lux seconds count, since they are compared. Raises Refused.
    """
    curves = [r for r in readings if r.purpose is Purpose.CURVE and can_be_fitted(r)]
    counted = [r for r in curves if r.lux is not None and r.developing == curves[0].developing]
    if not counted:
        if readings and all(one.how is How.BY_EYE for one in readings):
            raise Refused(
                f"{box} was only read by eye, which tells a range and no curve",
                ("its densities: dryside paper read MARK --densities 0.06,0.07,...",),
            )
        raise Refused(
            f"{box} has no sheet that was read in lux seconds",
            (f"a sheet with the easel's light: dryside paper sheet {box} --filter 2 --lux 0.5",),
        )
    newest = {one.filter: one for one in reversed(counted)}
    fits = {
        name or NO_FILTER: fit_curve(
            readings_of(one), one.mark or "the sheet", filtered=bool(one.filter)
        )
        for name, one in newest.items()
    }
    return dict(sorted(fits.items(), key=lambda each: -iso.points_of(each[1].curve).ler))


def fit_reading(reading: PaperReading) -> PaperCurve:
    """Fit a curve to a reading of one filter. Raises Refused with what is wrong.

    Exposures in mere seconds give a range and no speed.
    """
    fit = fit_curve(
        readings_of(reading), reading.mark or "the sheet", filtered=bool(reading.filter)
    )
    points = iso.points_of(fit.curve)
    return PaperCurve(
        0,
        reading.batch,
        reading.number,
        reading.filter,
        reading.developing,
        fit.curve.d_min,
        fit.curve.d_max,
        points.log_ht,
        points.log_hm,
        points.log_hs,
        iso.iso_range(round(points.ler, 6)),
        None if reading.lux is None else iso.iso_speed(points.log_hm),
        fit.residual_rms,
        fit.white_seen or _level(reading, darkest=False),
        fit.black_seen or _level(reading, darkest=True),
        fit.curve.as_numbers(),
        LATER,
    )


def _level(reading: PaperReading, *, darkest: bool) -> bool:
    """Do the patches at one end lie level, so that white or black was reached?"""
    in_order = sorted(readings_of(reading), key=lambda one: one.log_exposure, reverse=darkest)
    densities = [one.density for one in in_order[:LEVEL_PATCHES]]
    return max(densities) - min(densities) <= LEVEL


def curve_of(kept: PaperCurve) -> Curve:
    """Give a curve that the book has kept, to be asked for densities."""
    return Curve.from_numbers(dict(kept.fitted))
