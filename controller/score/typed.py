"""What is typed about a score on the screen: lines that change it, and forms that convert it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from controller.errors import BadInput, DrysideError, quoted
from controller.fields import pair_asked, size_asked
from controller.score.change import with_burn, with_dodge, with_pass, with_settings, without
from controller.score.convert import Wanted
from controller.score.local import local_strip
from controller.score.model import ALL_PASSES, Burn, Dodge, Score
from controller.score.sketching import with_region
from controller.stops import parse_step, parse_stops
from controller.strips.strip import Strip

RIGHT = (
    "pass hard:5:-1/3, burn sky=+1@soft, dodge door=1/3@hard, drop burn:sky, "
    "region sky=1-16:1-4, or set process.time=3 min"
)
_WAYS = {
    "pass": with_pass,
    "burn": with_burn,
    "dodge": with_dodge,
    "region": with_region,
    "drop": without,
}
RIGHT_STRIP = "strip burn sky@soft, or strip dodge door@hard by 1/6"
_STRIP = re.compile(r"strip (burn|dodge) ([^@]+)@(.+?)(?: by (.+))?")


def change_typed(score: Score, line: str) -> Score:
    """Change a score by one line that begins with what is meant. Raises BadInput or Refused."""
    word, _, rest = line.strip().partition(" ")
    if word == "set":
        return with_settings(score, [rest], "")
    if word not in _WAYS or not rest.strip():
        raise BadInput(f"{quoted(line)} is not understood", "change", RIGHT)
    return _WAYS[word](score, rest.strip(), "")


def strip_typed(score: Score, line: str, size_mm: tuple[float, float]) -> Strip | None:
    """Give the burn or dodge strip that a line asks for; None where it asks for none.

    Raises BadInput.
    """
    if not line.strip().startswith("strip"):
        return None
    found = _STRIP.fullmatch(line.strip())
    if not found:
        raise BadInput(f"{quoted(line)} is not understood", "change", RIGHT_STRIP)
    return local_strip(
        score,
        "burn" if found[1] == "burn" else "dodge",
        found[2].strip(),
        found[3].strip(),
        parse_step(found[4] or "1/3"),
        5,
        way="same-spot",
        size_mm=size_mm,
    )


def lines_typed(score: Score) -> list[str]:
    """Give the line for each row of ``report.score_rows``: typed as it is, it changes nothing.

    Empty where no line can say it, as for a label with a colon in it.
    """
    lines = ["set flash.dose_s=" + f"{score.flash.dose_s:g}"] if score.flash else []
    for one in score.passes:
        lines.append(f"pass {one.label}:{one.filter}:{one.dose}")
        lines += [_dodge_line(dodge) for dodge in score.dodges if dodge.within == one.label]
    for burn in score.burns:
        each = len(score.passes) if burn.over == ALL_PASSES and burn.amount.follows else 1
        lines += [_burn_line(burn)] * each
    return [line if _says(line, score) else "" for line in lines]


def _burn_line(burn: Burn) -> str:
    through = f":{burn.filter}" if burn.filter else ""
    over = f"@{burn.over}" if burn.over != ALL_PASSES else ""
    return f"burn {'+'.join(burn.regions)}={burn.amount}{through}{over}"


def _dodge_line(dodge: Dodge) -> str:
    begin = f":{dodge.begin}" if dodge.begin else ""
    return f"dodge {'+'.join(dodge.regions)}={dodge.amount}{begin}@{dodge.within}"


def _says(line: str, score: Score) -> bool:
    try:
        return change_typed(score, line) == score
    except DrysideError:
        return False


# -- converting --------------------------------------------------------------------------------


@dataclass(frozen=True)
class AskedConversion:
    """A conversion as it was typed, field by field; what is empty stays as it is."""

    magnification: str = ""
    to_magnification: str = ""
    to_aperture: str = ""
    lux: str = ""
    to_lux: str = ""
    filters: str = ""  # old=new, several with commas
    paper: str = ""
    batch: str = ""
    speeds: str = ""  # old=new, ISO P
    lamp: str = ""
    stops: str = ""
    size: str = ""


def typed_conversion(score: Score) -> AskedConversion:
    """Give what a score knows of the enlarger as it stands."""
    known = score.setup.magnification
    return AskedConversion(magnification=f"{known:g}" if known else "")


def conversion_asked(asked: AskedConversion) -> Wanted | None:
    """Turn what was typed into what is wanted; None where nothing is. Raises BadInput."""
    speeds = pair_asked(asked.speeds, "speeds", "old=new, as 200=250") if asked.speeds else None
    wanted = Wanted(
        to_magnification=_number(asked.to_magnification, "magnification"),
        to_aperture=asked.to_aperture,
        filters=tuple(
            pair_asked(text, "filter", "old=new, as 5=4 1/2")
            for text in asked.filters.split(",")
            if text.strip()
        ),
        to_lux=_number(asked.to_lux, "lux"),
        lamp=asked.lamp,
        paper=asked.paper,
        batch=asked.batch,
        from_speed_p=_number(speeds[0], "speeds") if speeds else None,
        to_speed_p=_number(speeds[1], "speeds") if speeds else None,
        stops=parse_stops(asked.stops, "stops") if asked.stops else None,
        size_mm=size_asked(asked.size, "size") if asked.size else None,
    )
    if wanted == Wanted():
        return None
    return replace(
        wanted,
        from_magnification=_number(asked.magnification, "magnification"),
        from_lux=_number(asked.lux, "lux"),
    )


def _number(text: str, where: str) -> float | None:
    if not text.strip():
        return None
    if not re.fullmatch(r"[0-9]{1,6}(\.[0-9]{0,6})?", text.strip()) or not float(text) > 0:
        raise BadInput(f"{quoted(text)} is no number above nothing", where, "such as 3.5")
    return float(text)
