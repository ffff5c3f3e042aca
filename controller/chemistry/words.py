"""What is said of baths, for the eye and the ear."""

from __future__ import annotations

from fractions import Fraction

from controller.chemistry.amounts import litres
from controller.chemistry.bath import EIGHT_BY_TEN_M2, Base, Place, Role
from controller.chemistry.cautions import Kind
from controller.chemistry.freshness import State, Status, eights, hours_left, sheets_left
from controller.numbered import numbered

CLEAN_AFTER_M2 = 100 * EIGHT_BY_TEN_M2  # common practice, no source


def span(hours: float) -> str:
    """Write a time as one would say it."""
    if hours < 1:
        return f"{round(hours * 60)} min"
    if hours < 48:
        return f"{hours:.1f}".rstrip("0").rstrip(".") + " h"
    return f"{hours / 24:.0f} days"


def what_to_do(found: Status) -> str:
    """Say what its state calls for; empty where nothing does."""
    if found.clock_behind:
        return "the clock stands before its mixing: set the clock, its age is not known"
    match found.state:
        case State.UNKNOWN:
            return "no figures are known: its data sheet and your tests tell"
        case State.FRESH:
            return ""
        case State.LOW:
            return "have the next one ready"
        case State.OVER if found.role is Role.FIRST and not found.by_age:
            return "rotate the two baths"
        case State.OVER if found.bath.kind is Kind.FIXER:
            return "mix anew; what was fixed in it late, fix again before toning"
        case _:
            return "mix anew"


def why(found: Status) -> str:
    """Say by what a bath is used up, such as "82 % by paper"."""
    if found.share is None:
        return found.state.value
    return f"{found.share:.0%} {'by age' if found.by_age else 'by paper'}"


def last_warning(found: Status) -> str:
    """Say that a bath nears its end, in one spoken line."""
    state = "used up" if found.state is State.OVER else "nearly used up"
    todo = what_to_do(found)
    return f"{found.tray} {state}, {why(found)}" + (f": {todo}" if todo else "")


def bath_lines(found: Status) -> list[str]:
    """Write a bath for a person."""
    bath = found.bath
    head = (
        f"{found.tray}: {bath.product}, {bath.dilution}, {litres_of(bath.volume_ml)}, "
        f"{span(found.age_h)} old"
    )
    if found.place is not Place.TRAY:
        head += f", in a {found.place.value}"
    used = f"  {why(found)}, {found.state.value}"
    if found.sheets:
        used += f"; {numbered(found.sheets, 'sheet')}, {eights(found.area_m2):.3g} of 8x10"
    left = left_words(found)
    lines = [head, used + (f"; left: {left}" if left else "")]
    if todo := what_to_do(found):
        lines.append(f"  ! {todo}")
    return lines


def left_words(found: Status) -> str:
    """Say what a bath still takes, in 8x10 and hours."""
    words = []
    fibre = sheets_left(found, EIGHT_BY_TEN_M2, Base.FIBRE)
    coated = sheets_left(found, EIGHT_BY_TEN_M2, Base.RESIN_COATED)
    if fibre is not None:
        both = f" or {coated} resin-coated" if coated not in (None, fibre) else ""
        words.append(f"{fibre} fibre{both} 8x10")
    elif coated is not None:
        words.append(f"{coated} resin-coated 8x10")
    if (hours := hours_left(found)) is not None:
        words.append(span(hours))
    return ", ".join(words)


def short_left(found: Status) -> str:
    """Say the same in the room of a column: "25 fibre/50 coated, 8 h"."""
    words = left_words(found).replace(" or ", "/").replace("resin-coated", "coated")
    return words.replace(" 8x10", "")


def litres_of(volume_ml: float) -> str:
    """Write a volume."""
    return litres(Fraction(volume_ml))


def tray_words(tray: str, area_m2: float) -> str:
    """Say that a tray wants cleaning; empty where it does not."""
    if area_m2 < CLEAN_AFTER_M2:
        return ""
    return f"{tray}: {eights(area_m2):.0f} of 8x10 since it was cleaned; clean the tray"
