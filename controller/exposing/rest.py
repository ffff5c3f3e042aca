"""What is left of a plan, for a sheet that was cut off."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import msgspec

from controller.plan import SAME_S, Action, Confirm, Curtain, Dwell, Expose, Go, Lights, Plan, Sheet
from controller.ports import Carrier, Filter, Lens


def rest_of(
    plan: Plan, delivered_s: dict[str, float], finished: Collection[str] = ()
) -> Plan | None:
    """Give what is left of a plan on the sheet that lies there, and on those that follow it.

    ``delivered_s`` has, by an exposure's label, the dose that the sheet already got;
    ``finished`` names exposures of sheets before it that came out well. None when nothing is
    left. A full exposure is left out together with the prompts that led to it; the one that was
    cut short keeps its prompts and gets what is missing.
    """
    mine = _sheet_in_hand(plan, delivered_s, finished)
    left = _Left(delivered_s)
    for number, action in _numbered(plan):
        if number > mine:
            left.later(action)
        else:
            left.earlier(action, skipped=number < mine)
    if not left.exposes:
        return None
    return msgspec.structs.replace(
        plan, title=f"the rest of {plan.title}", actions=(*left.kept, *left.waiting)
    )


class _Left:
    """Gathers what is kept, action by action."""

    def __init__(self, delivered_s: dict[str, float]) -> None:
        self.kept: list[Action] = []
        self.waiting: list[Action] = []  # prompts, which belong to the exposure that follows them
        self.exposes = False
        self._delivered_s = delivered_s
        self._setting: list[Action] = []  # curtain, lights: needed whatever is left out
        self._standing: dict[type, Confirm] = {}  # what was set last at the enlarger

    def later(self, action: Action) -> None:
        """Keep an action of a sheet that follows: nothing of it has been done."""
        if isinstance(action, Sheet):
            # what was waiting belongs to the new sheet; what was to be set, it sets itself
            self.kept += [*self._needed(), *self.waiting]
            self.waiting, self._setting = [], []
        self.kept.append(action)
        self.exposes |= isinstance(action, Expose | Dwell)

    def earlier(self, action: Action, *, skipped: bool) -> None:
        """Take an action of the sheet in hand, or of one before it (``skipped``)."""
        match action:
            case Sheet():
                pass  # it is the same sheet
            case Curtain(down=False):
                self._setting = [a for a in self._setting if not isinstance(a, Curtain)]
                if self.kept:
                    self.kept.append(action)
            case Curtain() | Lights():
                self._setting.append(action)
            case Expose() | Dwell():
                missing_s = _wanted_s(action) - self._delivered_s.get(action.label, 0.0)
                if not skipped and missing_s > SAME_S:
                    self._keep(_missing(action, missing_s))
                self._stand()
            case _:
                self.waiting.append(action)

    def _keep(self, rest: Expose | Dwell) -> None:
        # the tap that lights comes last, as it always does
        hands = [a for a in self.waiting if not isinstance(a, Go)]
        go = [a for a in self.waiting if isinstance(a, Go)]
        self.kept += [*self._needed(), *hands, *go, *self._setting, rest]
        self._setting = []
        self.exposes = True

    def _needed(self) -> list[Action]:
        """Give what stood in light and lens when it was cut off, and is not asked for anew."""
        anew = {type(a.hands) for a in self.waiting if isinstance(a, Confirm)}
        needed = [ask for kind, ask in self._standing.items() if kind not in anew]
        self._standing = {}
        return list(needed)

    def _stand(self) -> None:
        """Note what the prompts so far have set, unless it has been asked for again since."""
        for action in self.waiting:
            if isinstance(action, Confirm) and isinstance(action.hands, Filter | Lens | Carrier):
                if self.exposes:
                    continue  # it stands in the rest itself
                self._standing[type(action.hands)] = action
        self.waiting = []


def _numbered(plan: Plan) -> Iterator[tuple[int, Action]]:
    """Give each action with the number of the sheet that lies there, from 1; 0 before any."""
    number = 0
    for action in plan.actions:
        number += isinstance(action, Sheet)
        yield max(number, 1), action


def _sheet_in_hand(plan: Plan, delivered_s: dict[str, float], finished: Collection[str]) -> int:
    """Say which of the plan's sheets lies there: the one that has light, else the next."""
    labels: dict[int, list[str]] = {}
    for number, action in _numbered(plan):
        if isinstance(action, Expose | Dwell):
            labels.setdefault(number, []).append(action.label)
    for number, own in labels.items():
        if any(label in delivered_s for label in own):
            return number
    unfinished = (n for n, own in labels.items() if any(one not in finished for one in own))
    return next(unfinished, max(labels, default=1))


def _wanted_s(asked: Expose | Dwell) -> float:
    return asked.dose_s if isinstance(asked, Expose) else asked.time_s


def _missing(asked: Expose | Dwell, missing_s: float) -> Expose | Dwell:
    """Give what is missing of an exposure; its handwork is counted from what it has."""
    if isinstance(asked, Dwell):
        return msgspec.structs.replace(asked, time_s=missing_s)
    had_s = asked.dose_s - missing_s
    handwork = tuple(
        msgspec.structs.replace(
            work, begin_s=max(0.0, work.begin_s - had_s), end_s=min(missing_s, work.end_s - had_s)
        )
        for work in asked.handwork
        if work.end_s - had_s > SAME_S
    )
    pulses = max(1, round(asked.pulses * missing_s / asked.dose_s))
    return msgspec.structs.replace(asked, dose_s=missing_s, pulses=pulses, handwork=handwork)
