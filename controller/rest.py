"""What is left of a plan, for a sheet that was cut off."""

from __future__ import annotations

import msgspec

from controller.plan import SAME_S, Action, Confirm, Curtain, Expose, Go, Lights, Plan, Sheet


def rest_of(plan: Plan, delivered_s: dict[str, float]) -> Plan | None:
    """Give what is left of a plan on the same sheet; None when nothing is.

    ``delivered_s`` has, by an exposure's label, the dose that the paper already got. A full
    exposure is left out together with the prompts that led to it; the one that was cut short
    keeps its prompts and gets what is missing.
    """
    kept: list[Action] = []
    waiting: list[Action] = []  # prompts, which belong to the exposure that follows them
    setting: list[Action] = []  # lens, curtain and lights: needed once whatever is left out
    left = False
    for action in plan.actions:
        match action:
            case Sheet():
                continue  # it is the same sheet
            case Confirm(once_open=True) | Curtain() | Lights():
                setting.append(action)
            case Expose():
                missing_s = action.dose_s - delivered_s.get(action.label, 0.0)
                if missing_s > SAME_S:
                    pulses = max(1, round(action.pulses * missing_s / action.dose_s))
                    rest = msgspec.structs.replace(action, dose_s=missing_s, pulses=pulses)
                    # the tap that lights comes last, as it always does
                    hands = [a for a in waiting if not isinstance(a, Go)]
                    go = [a for a in waiting if isinstance(a, Go)]
                    kept += [*hands, *go, *setting, rest]
                    setting = []
                    left = True
                waiting = []
            case _:
                waiting.append(action)
    if not left:
        return None
    lens = [a for a in kept if isinstance(a, Confirm) and a.once_open]
    others = [a for a in kept if a not in lens]
    return msgspec.structs.replace(
        plan, title=f"the rest of {plan.title}", actions=(*lens, *others, *waiting)
    )
