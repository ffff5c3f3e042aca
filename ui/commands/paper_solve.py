"""``dryside paper solve`` and ``paper split``: doses for two tones, ratios of soft to hard."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TypeAlias

from controller.errors import BadInput, Refused, quoted
from controller.paper import iso
from controller.paper.curve import Floats
from controller.paper.filters import compare
from controller.paper.fit import Fit
from controller.paper.readings import read_curve, read_mixed
from controller.paper.solving import (
    Doses,
    Tone,
    behind,
    check_tones,
    choose_filter,
    share_for_range,
    solve_split,
)
from controller.paper.split import SplitFit, fit_split, split_paper_of
from ui import show
from ui.commands.paper_curve import fitted
from ui.unit import open_book

Sheets: TypeAlias = Callable[[], tuple[str, str, SplitFit]]  # soft and hard by name, and the fit

RIGHT_TONE = "easel lux and a density, such as 0.5=0.12, or D1.2=0.12 by the negative's density"
MOST_NEGATIVE = 4.0  # density that no negative has (common practice, no source)
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
    light, dark = tone(highlight, "--highlight", bare), tone(shadow, "--shadow", bare)
    check_tones(light, dark)
    further = [light_of(text, "--also", bare) for text in also]
    soft, hard, fit = sheets()
    try:
        doses = solve_split(fit.paper, light, dark)
        ler = iso.points_of(doses.curve).ler
    except ValueError as error:
        raise Refused(str(error)) from None
    if json_:
        show.as_json(
            {
                "soft_dose_s": round(doses.soft_dose_s, 3),
                "hard_dose_s": round(doses.hard_dose_s, 3),
                "iso_range": iso.iso_range(round(ler, 6)),
                "predicted": {
                    "highlight": round(doses.density_at(light.lux), 4),
                    "shadow": round(doses.density_at(dark.lux), 4),
                },
                **also_json({each: doses.density_at(each) for each in further}),
            }
        )
        return
    print(
        f"{soft} {doses.soft_dose_s:.2f} s, {hard} {doses.hard_dose_s:.2f} s "
        "(seconds of full light)"
    )
    print(f"ISO range R{iso.iso_range(round(ler, 6))} (log exposure range {ler:.2f})")
    for name, each in (("highlight", light), ("shadow", dark)):
        print(f"{name} {each.lux:g} lux: {_predicted(fit, doses, each.lux)}")
    for each_lux in further:
        print(f"also {each_lux:g} lux: {_predicted(fit, doses, each_lux)}")
    for line in _told(fit):
        print(line)


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
    light, dark = tone(highlight, "--highlight", bare), tone(shadow, "--shadow", bare)
    further = [light_of(text, "--also", bare) for text in also]
    chosen = choose_filter({name: fit.curve for name, fit in fits.items()}, light, dark)
    ler = iso.points_of(chosen.curve).ler
    falls = {each: chosen.density_at(each) for each in further}
    if json_:
        show.as_json(
            {
                "filter": chosen.name,
                "dose_s": round(chosen.dose_s, 3),
                "iso_range": iso.iso_range(round(ler, 6)),
                "predicted": {
                    "highlight": round(chosen.density_at(light.lux), 4),
                    "shadow": round(chosen.density_at(dark.lux), 4),
                },
                **also_json(falls),
            }
        )
        return
    print(f"filter {chosen.name}, {chosen.dose_s:.2f} s (seconds of full light)")
    print(f"ISO range R{iso.iso_range(round(ler, 6))} (log exposure range {ler:.2f})")
    for name, each in (("highlight", light), ("shadow", dark)):
        print(
            f"{name} {each.lux:g} lux: density {chosen.density_at(each.lux):.2f}, "
            f"wanted {each.density:.2f}"
        )
    for each_lux, density in falls.items():
        print(f"also {each_lux:g} lux: density {density:.2f}")


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
    for line in _told(fit):
        print(line)


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
    from controller.boxes.fitting import fits_of
    from controller.boxes.split import split_fit_of, split_pairs

    with open_book() as book:
        batch = book.papers.batch(name)
        readings = book.papers.readings(batch)
    pairs = split_pairs(readings)
    if one_filter or not pairs:
        return None, fits_of(readings, batch.handle)
    soft, hard = pairs[0]
    fit, light = split_fit_of(readings, soft, hard, batch.handle)
    if light is None:
        raise Refused(
            f"the split sheets of {batch.handle} were exposed in seconds alone",
            (f"new ones: dryside paper sheet {batch.handle} --split {soft},{hard} --lux 0.5",),
        )
    return (lambda: (f"filter {soft}", f"filter {hard}", fit)), {}


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


def tone(text: str, where: str, bare: str = "") -> Tone:
    """Read LUX=DENSITY, or the negative's density in place of lux. Raises BadInput."""
    left, equals, right = text.partition("=")
    if not equals:
        raise BadInput(f"{quoted(text)} is no tone", where, RIGHT_TONE)
    return Tone(light_of(left, where, bare), _number(right, where))


def light_of(text: str, where: str, bare: str) -> float:
    """Read easel light in lux: as it was metered, or D1.2, behind that density. Raises BadInput."""
    plain = text.strip()
    if plain[:1] not in ("D", "d"):
        return lux(plain, where)
    density = _number(plain[1:], where)
    if not 0.0 <= density <= MOST_NEGATIVE:
        right = f"D0 to D{MOST_NEGATIVE:g}"
        raise BadInput(f"{quoted(plain)} is no density of a negative", where, right)
    if not bare:
        right = "--bare LUX as well, the easel's light with the carrier empty"
        raise BadInput(f"{quoted(plain)} alone is no light", where, right)
    return behind(lux(bare, "--bare"), density)


def lux(text: str, where: str) -> float:
    """Read an illuminance above 0. Raises BadInput."""
    value = _number(text, where)
    if not value > 0.0:
        raise BadInput(f"{quoted(text)} lux is no light", where, "lux above 0")
    return value


def _number(text: str, where: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise BadInput(f"{quoted(text)} is no number", where, RIGHT_TONE)
    return value


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


def _predicted(fit: SplitFit, doses: Doses, at_lux: float) -> str:
    def density(values: Floats) -> float:
        paper = split_paper_of(values)
        return paper.density(at_lux * doses.soft_dose_s, at_lux * doses.hard_dose_s)

    return f"density {doses.density_at(at_lux):.2f} ± {2 * fit.solved.error_of(density):.2f}"


def _told(fit: SplitFit) -> list[str]:
    count = len(fit.paper.hard)
    lines = [
        f"the paper as {count} parts, from {int(fit.solved.kept.sum())} patches "
        f"({fit.mixed_patches} mixed); residuals {fit.residual_rms:.3f}; ± is twice the "
        "standard error"
    ]
    for reading, off in fit.outliers:
        way = "above" if off > 0 else "below"
        lines.append(
            f"left out: density {reading.density:.2f} in line {reading.line} of its file, "
            f"{abs(off):.2f} {way} the fit"
        )
    return lines
