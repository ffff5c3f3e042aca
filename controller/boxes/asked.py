"""What somebody typed about a box of paper, read: the box, its sheets, what was seen of one. Pure.

Every fault names its option.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from pydantic import ValidationError

from controller.boxes.by_eye import USUAL_BLACK, USUAL_WHITE, Seen
from controller.boxes.control import Limits, require_limits
from controller.boxes.measured import require_density, require_rising
from controller.boxes.model import Base, Batch, Developing, clean_name
from controller.boxes.sheet import SPLIT_PATCHES, PaperSheet
from controller.boxes.tablet import numbers_asked, tablet_asked
from controller.errors import BadInput, quoted
from controller.fields import pair_asked, size_asked, whole_asked
from controller.stops import aperture_value, parse_step, parse_time
from controller.written import bad_input

MIXED_STEP = "2/3"  # from level to level of a mixed sheet
WAYS = ("card", "window")
RIGHT_EYE = "two patches, such as F,S"
RIGHT_GREY = "a patch and the density of the reference: L=0.70"


@dataclass(frozen=True)
class AskedBox:
    """A box of paper as it was typed, field by field."""

    name: str = ""
    maker: str = ""
    type: str = ""
    surface: str = ""
    base: str = ""
    box: str = ""
    opened: str = ""
    developer: str = ""
    time: str = ""


@dataclass(frozen=True)
class NewBox:
    """A box of paper that is to be written down."""

    name: str
    maker: str
    type: str
    surface: str
    base: Base | None
    box: str
    opened: str
    developing: Developing


def box_asked(asked: AskedBox) -> NewBox:
    """Turn what was typed into a box. Raises BadInput naming the option."""
    day = asked.opened.strip()
    if day:
        try:
            day = date.fromisoformat(day).isoformat()
        except ValueError:
            right = "a day such as 2026-11-26"
            raise BadInput(f"{quoted(asked.opened)} is no day", "--opened", right) from None
    return NewBox(
        clean_name(asked.name),
        asked.maker.strip(),
        asked.type.strip(),
        asked.surface.strip(),
        _base(asked.base),
        asked.box.strip(),
        day,
        developing_asked(asked.developer, asked.time),
    )


def developing_asked(developer: str, time: str) -> Developing:
    """Read a developer and a time. Raises BadInput."""
    time_s = parse_time(time, "--time") if time else None
    return Developing(" ".join(developer.split()), time_s)


@dataclass(frozen=True)
class AskedSheet:
    """A calibration sheet as it was typed, field by field; ``tablet`` as text, not as a file."""

    filters: tuple[str, ...] = ()
    split: str = ""
    base: str = "1.2"
    hard: str = ""
    step: str = "2/5"
    patches: str = str(SPLIT_PATCHES)
    mode: str = "card"
    tablet: str = ""
    lux: str = ""
    aperture: str = ""
    size: str = ""
    developer: str = ""
    time: str = ""


def sheets_asked(batch: Batch, asked: AskedSheet) -> list[PaperSheet]:
    """Turn what was typed into sheets, one for each filter. Raises BadInput."""
    if asked.mode not in WAYS:
        raise BadInput(f"{quoted(asked.mode)} is not known", "--mode", "card or window")
    developing = batch.developing
    if asked.developer or asked.time:
        typed = developing_asked(asked.developer, asked.time)
        developing = Developing(
            typed.developer or developing.developer, typed.time_s or developing.time_s
        )
    if asked.aperture:
        aperture_value(asked.aperture, where="--aperture")
    width_mm, height_mm = size_asked(asked.size, "--size") if asked.size else (203.0, 25.0)
    common: dict[str, object] = {
        "paper": batch.handle,
        "way": asked.mode,
        "base_s": parse_time(asked.base, "--base"),
        "step": parse_step(asked.step, "--step"),
        "patches": whole_asked(asked.patches, "--patches", 5, 26),
        "lux": _lux(asked.lux),
        "developer": developing.developer,
        "time_s": developing.time_s,
        "aperture": asked.aperture,
        "width_mm": width_mm,
        "height_mm": height_mm,
    }
    if asked.split:
        if asked.filters or asked.tablet:
            right = "--split SOFT,HARD alone"
            raise BadInput("a split set has its own three sheets", "--split", right)
        return _split(asked, common)
    if asked.tablet:
        densities, _ = tablet_asked(asked.tablet)
        common |= {"kind": "tablet", "tablet": densities}
    filters = [one.strip() for one in asked.filters] or [""]
    return [_sheet(common | {"filter": "" if one == "none" else one}) for one in filters]


@dataclass(frozen=True)
class AskedEye:
    """What an eye saw of a sheet, as it was typed."""

    by_eye: str = ""  # the first grey, the first black
    grey: str = ""
    white: str = ""
    black: str = ""


def seen_asked(asked: AskedEye) -> Seen:
    """Read what an eye saw. Raises BadInput naming the option."""
    first, comma, last = (part.strip() for part in asked.by_eye.partition(","))
    if not comma:
        raise BadInput(f"{quoted(asked.by_eye)} is not understood", "--by-eye", RIGHT_EYE)
    grey, density = "", 0.0
    if asked.grey:
        grey, text = pair_asked(asked.grey, "--grey", RIGHT_GREY)
        density = _one(text, "--grey", RIGHT_GREY)
    white = _one(asked.white or f"{USUAL_WHITE:g}", "--white", f"such as {USUAL_WHITE:g}")
    black = _one(asked.black or f"{USUAL_BLACK:g}", "--black", f"such as {USUAL_BLACK:g}")
    return Seen(first, last, grey, density, white, black)


def patches_asked(typed: Mapping[str, str], sheet: PaperSheet) -> list[list[float | None]]:
    """Read densities that were typed patch by patch, by label: one, or several readings of each.

    Gives one row for each time that patches were read, as ``mean_of`` takes them; empty and a
    dash are patches that were not. Raises BadInput naming the patch.
    """
    right = "a density such as 0.35, two of them where it was read twice, or a dash for none"
    found: list[tuple[float, ...]] = []
    for label in sheet.labels():
        text = typed.get(label, "").strip()
        numbers = () if text in ("", "-") else numbers_asked(text, f"patch {label}", right)
        for value in numbers:
            require_density(value, label, "densities", right)
        found.append(numbers)
    most = max((len(numbers) for numbers in found), default=0)
    times: list[list[float | None]] = [
        [numbers[time] if time < len(numbers) else None for numbers in found]
        for time in range(most)
    ]
    for row in times:
        require_rising(sheet, row, "densities")
    return times


def limits_asked(watch: str, act: str) -> Limits:
    """Read the limits of a control chart; empty is as usual. Raises BadInput."""
    usual = Limits()
    right = "two densities, the first the smaller: 0.05 and 0.10"
    found = Limits(
        _one(watch, "watch", right) if watch else usual.watch,
        _one(act, "act", right) if act else usual.act,
    )
    require_limits(found)
    return found


# --- inside -----------------------------------------------------------------------------------


def _base(text: str) -> Base | None:
    short = {"": None, "rc": Base.RESIN_COATED, "pe": Base.RESIN_COATED, "fiber": Base.FIBRE}
    known = {**short, **{one.value: one for one in Base}}
    if text.strip().lower() not in known:
        raise BadInput(f"{quoted(text)} is not known", "--base", "fibre or resin-coated")
    return known[text.strip().lower()]


def _split(asked: AskedSheet, common: dict[str, object]) -> list[PaperSheet]:
    """Give the prescribed set: 21 soft, 21 hard, and 15 mixed patches in the middle of both."""
    soft, comma, hard = (part.strip() for part in asked.split.partition(","))
    if not comma or not soft or not hard or soft == hard:
        raise BadInput(f"{quoted(asked.split)} is no pair", "--split", "two filters, such as 00,5")
    base_s = parse_time(asked.base, "--base")
    hard_s = parse_time(asked.hard, "--hard-base") if asked.hard else base_s
    common = common | {"patches": SPLIT_PATCHES}
    wedges = [
        _sheet(common | {"filter": one, "base_s": start})
        for one, start in ((soft, base_s), (hard, hard_s))
    ]
    # together they darken more than each alone, so that they begin lower (our choice)
    begin = wedges[0].doses()[6][soft] / base_s / 3.0
    mixed = _sheet(
        common
        | {
            "kind": "mixed",
            "way": "window",
            "filter": soft,
            "hard_filter": hard,
            "base_s": round(base_s * begin, 3),
            "hard_s": round(hard_s * begin, 3),
            "step": parse_step(MIXED_STEP),
        }
    )
    return [*wedges, mixed]


def _sheet(fields: dict[str, object]) -> PaperSheet:
    """Make a sheet of what was read. Raises BadInput about the first field that cannot be."""
    try:
        return PaperSheet.model_validate(fields)
    except ValidationError as error:
        raise bad_input(error, "paper sheet", model=PaperSheet) from None


def _lux(text: str) -> float | None:
    if not text:
        return None
    try:
        value = float(text)
        if not 0.001 <= value <= 10_000:
            raise ValueError
    except ValueError:
        right = "the light at the easel in lux, such as 3.9"
        raise BadInput(f"{quoted(text)} is no light", "--lux", right) from None
    return value


def _one(text: str, where: str, right: str) -> float:
    numbers = numbers_asked(text, where, right)
    if len(numbers) != 1:
        raise BadInput(f"{quoted(text)} is no single density", where, right)
    return numbers[0]
