"""The baths of a print beside those that stand now: what is older, other, or used up. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from controller.book.shelf import name_key
from controller.book.whole_wet import BathThen
from controller.chemistry.freshness import State, Status
from controller.chemistry.words import last_warning, span

OLDER_H = 24.0  # a day older or younger is worth a word (common practice, no source)


def baths_since(then: Sequence[BathThen], now: Sequence[Status]) -> list[str]:
    """Tell how the baths differ from those that a print went through, and which are used up."""
    lines = []
    stand = {name_key(one.tray): one for one in now}
    for bath in then:
        found = stand.get(name_key(bath.tray))
        if found is None:
            lines.append(f"changed since: no bath stands in {bath.tray}, was {bath.product}")
            continue
        is_ = (found.bath.product, found.bath.dilution)
        if is_ != (bath.product, bath.dilution):
            was = f"{bath.product} {bath.dilution}".strip()
            lines.append(f"changed since: {bath.tray} was {was}, is {' '.join(is_).strip()}")
        elif not found.clock_behind and abs(found.age_h - bath.age_h) > OLDER_H:
            anew = ", mixed anew" if found.bath.made_at != bath.made_at else ""
            lines.append(
                f"changed since: {bath.tray} was {span(bath.age_h)} old, "
                f"is {span(found.age_h)} old{anew}"
            )
    used_up = (one for one in now if one.state in (State.LOW, State.OVER))
    return lines + [last_warning(one) for one in used_up]
