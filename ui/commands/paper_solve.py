"""``dryside paper solve`` and ``paper split``: doses for two tones, ratios of soft to hard."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TypeAlias

from controller.boxes.solved import (
    AskedTones,
    doses_of,
    filter_lines,
    fit_lines,
    measured_of,
    split_lines,
    tones_typed,
)
from controller.errors import BadInput, Refused, quoted
from controller.paper import iso
from controller.paper.curve import Floats
from controller.paper.filters import compare
from controller.paper.fit import Fit
from controller.paper.readings import read_curve, read_mixed
from controller.paper.solving import choose_filter, share_for_range
from controller.paper.split import SplitFit, fit_split, split_paper_of
from ui import show
from ui.commands.paper_curve import fitted
from ui.unit import open_book

Sheets: TypeAlias = Callable[[], tuple[str, str, SplitFit]]  # soft and hard by name, and the fit

RATIOS = (-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0)  # stops of hard over soft dose


def solve(
    sheets: Sheets,
    highlight: str,
    shadow: str,
    also: Sequence[str],
    *,
    bare: str = "",
    json_: bool,
) -> None:
    """Solve two tones for soft and hard dose; ``bare`` is the easel's lux with no negative."""
    wanted = tones_typed(AskedTones(highlight, shadow, tuple(also), bare))
    soft, hard, fit = sheets()
    doses = doses_of(fit, wanted)
    ler = iso.points_of(doses.curve).ler
    if json_:
        show.as_json(
            {
                "soft_dose_s": round(doses.soft_dose_s, 3),
                "hard_dose_s": round(doses.hard_dose_s, 3),
                "iso_range": iso.iso_range(round(ler, 6)),
                "predicted": {
                    "highlight": round(doses.density_at(wanted.light.lux), 4),
                    "shadow": round(doses.density_at(wanted.dark.lux), 4),
                },
                **also_json({each: doses.density_at(each) for each in wanted.further}),
            }
        )
        return
    show.lines(split_lines(soft, hard, fit, doses, wanted))


def solve_filter(
    fits: dict[str, Fit],
    highlight: str,
    shadow: str,
    also: Sequence[str],
    *,
    bare: str = "",
    json_: bool,
) -> None:
    """Choose among single filters the one that holds both tones best, and its dose."""
    wanted = tones_typed(AskedTones(highlight, shadow, tuple(also), bare))
    curves = {name: fit.curve for name, fit in fits.items()}
    chosen = choose_filter(curves, wanted.light, wanted.dark)
    ler = iso.points_of(chosen.curve).ler
    falls = {each: chosen.density_at(each) for each in wanted.further}
    if json_:
        show.as_json(
            {
                "filter": chosen.name,
                "dose_s": round(chosen.dose_s, 3),
                "iso_range": iso.iso_range(round(ler, 6)),
                "predicted": {
                    "highlight": round(chosen.density_at(wanted.light.lux), 4),
                    "shadow": round(chosen.density_at(wanted.dark.lux), 4),
                },
                **also_json(falls),
            }
        )
        return
    show.lines(filter_lines(chosen, wanted))


def also_json(falls: Mapping[float, float]) -> dict[str, object]:
    """Give where further readings fall, as data; nothing where none was asked for."""
    told = [{"lux": lux_, "density": round(density, 4)} for lux_, density in falls.items()]
    return {"also": told} if told else {}


def split(sheets: Sheets, range_: str, *, json_: bool) -> None:
    """Tell what each ratio of soft to hard is, or which ratio a range wants."""
    wanted = _range(range_) if range_ else None
    _, _, fit = sheets()
    if wanted is not None:
        shares = [share_for_range(fit.paper, wanted)]
    else:
        shares = [0.0, *(2.0**x / (1.0 + 2.0**x) for x in RATIOS), 1.0]
    rows = []
    for share in shares:
        points = iso.points_of(fit.paper.mixed(share))
        rows.append(
            {
                "hard_share": round(share, 5),
                "iso_range": iso.iso_range(round(points.ler, 6)),
                "ler": round(points.ler, 3),
                "iso_speed": iso.iso_speed(points.log_hm),
                "log_hm": round(points.log_hm, 3),
            }
        )
    if json_:
        show.as_json(rows)
        return
    for share, row in zip(shares, rows, strict=True):
        error = fit.solved.error_of(_ler_of(share))
        print(
            f"{_ratio(share):>26}: R{row['iso_range']} (log exposure range {row['ler']:.2f} "
            f"± {2 * error:.2f}), P{row['iso_speed']}"
        )
    show.lines(fit_lines(fit))


def filters(fits: dict[str, Fit], against: str, *, json_: bool) -> None:
    """Compare a set of filters."""
    try:
        found = compare(fits, against or next(iter(fits)))
    except ValueError as error:
        raise Refused(str(error)) from None
    rows = [
        {
            "filter": each.name,
            "iso_range": iso.iso_range(round(each.ler, 6)),
            "iso_speed": iso.iso_speed(each.log_hm),
            "factor": round(each.factor, 3),
            "stops": round(each.stops, 3),
        }
        for each in found.filters
    ]
    if json_:
        show.as_json({"filters": rows, "shared_speed": found.shared, "hints": found.hints})
        return
    for each, row in zip(found.filters, rows, strict=True):
        print(
            f"{each.name:>8}: R{row['iso_range']} (log exposure range {each.ler:.2f} "
            f"± {2 * each.ler_error:.2f}), P{row['iso_speed']}, factor {each.factor:.2f} "
            f"({each.stops:+.2f} ± {2 * each.stops_error:.2f} stop)"
        )
    for group in found.shared:
        print(f"one speed point: {', '.join(group)} (the middle tone stays, highlights move)")
    for hint in found.hints:
        print(f"mind: {hint}")


def one_source(on: str, *files: str) -> None:
    """Refuse a box and files at once. Raises BadInput."""
    if on and any(files):
        raise BadInput("files are given as well", "--on", "either a box of the book, or files")


def not_both(soft: str, hard: str) -> None:
    """Refuse soft and hard sheets beside single curves. Raises BadInput."""
    if soft or hard:
        raise BadInput(
            "soft and hard sheets are given as well", "--curve", "either those or single curves"
        )


def of_files(soft: str, hard: str, mixed: str) -> Sheets:
    """Take soft, hard and mixed sheets from files."""
    return lambda: ("soft", "hard", fitted_split(soft, hard, mixed))


def of_box(name: str, *, one_filter: bool = False) -> tuple[Sheets | None, dict[str, Fit]]:
    """Take the sheets of a box in the book: its split sheets, or else the curve of each filter.

    Raises BadInput and Refused.
    """
    with open_book() as book:
        batch = book.papers.batch(name)
        readings = book.papers.readings(batch)
    found = measured_of(readings, batch.handle, one_filter=one_filter)
    fit = found.split
    if fit is None:
        return None, dict(found.fits or {})
    return (lambda: (f"filter {found.soft}", f"filter {found.hard}", fit)), {}


def of_box_split(name: str) -> Sheets:
    """Take the split sheets of a box, and nothing else. Raises BadInput and Refused."""
    sheets, _ = of_box(name)
    if sheets is None:
        raise Refused(
            f"{name} has no split sheets", (f"dryside paper sheet {name} --split 00,5 --lux 0.5",)
        )
    return sheets


def fitted_split(soft: str, hard: str, mixed: str) -> SplitFit:
    """Read and fit the sheets; warn where there is no mixed one. Raises BadInput, Refused."""
    for file, name in ((soft, "--soft"), (hard, "--hard")):
        if not file:
            raise BadInput(
                "it is missing", name, "a CSV file of readings (or --on BOX, --curve NAME=FILE)"
            )
    readings = read_curve(Path(soft)), read_curve(Path(hard))
    if not mixed:
        show.note(
            "no mixed sheet: how the two lights add is taken for granted, not measured; "
            "15 mixed patches (three ratios at five levels) would tell it"
        )
    return fit_split(*readings, read_mixed(Path(mixed)) if mixed else ())


def named_fits(words: Sequence[str], where: str) -> dict[str, Fit]:
    """Read and fit curves given as NAME=FILE, or as FILE whose name is the filter's."""
    if not words:
        raise BadInput("there is none", where, "NAME=FILE.csv once for each (or --on BOX)")
    found: dict[str, Fit] = {}
    for word in words:
        name, equals, file = word.partition("=")
        if not equals:
            name, file = Path(word).stem, word
        if not name or not file:
            raise BadInput(f"{quoted(word)} names no file", where, "NAME=FILE.csv")
        if name in found:
            raise BadInput(f"{quoted(name)} is there twice", where, "a name for each file")
        found[name] = fitted(file)
    return found


def _range(text: str) -> float:
    try:
        value = float(text.strip().lstrip("Rr"))
    except ValueError:
        value = math.nan
    if not 20.0 <= value <= 400.0:
        raise BadInput(f"{quoted(text)} is no ISO range", "--range", "20 to 400, such as 90")
    return value / 100.0


def _ratio(hard_share: float) -> str:
    if hard_share in (0.0, 1.0):
        return "hard alone" if hard_share else "soft alone"
    stops = math.log2(hard_share / (1.0 - hard_share))
    return f"soft {1.0 - hard_share:.1%}, hard {hard_share:.1%} ({stops:+.1f} stop)"


def _ler_of(hard_share: float) -> Callable[[Floats], float]:
    return lambda values: iso.points_of(split_paper_of(values).mixed(hard_share)).ler
