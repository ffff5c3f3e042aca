"""Light that is no exposure: to focus, to lay paper by, and to warm a lamp up."""

from __future__ import annotations

from controller.enlarger.lamp import LampLimits
from controller.errors import Refused
from controller.plan import Confirm, Go, Plan, Shine
from controller.ports import Lens
from controller.stops import format_time


def _require(limit_s: float, limits: LampLimits) -> None:
    if limit_s > limits.longest_on_s:
        raise Refused(
            f"{format_time(limit_s)} is longer than this lamp's limit of "
            f"{format_time(limits.longest_on_s)}",
            (f"{limits.longest_on_s:g}s",),
        )


def plan_focus(limit_s: float, aperture: str, limits: LampLimits) -> Plan:
    """Light the lamp to focus; a press ends it, and the working aperture is asked for.

    Raises Refused for more than the lamp's limit.
    """
    _require(limit_s, limits)
    where = aperture or "the working aperture"
    return Plan(
        "focus",
        f"focus light, {format_time(limit_s)} at most",
        (
            Go("no paper out; focus light", lead_in_s=0.0),
            Shine("focusing, press to end", limit_s, opens_lens=True),
            Confirm(f"lens to {where}", Lens(aperture or "working"), unless_so=True),
        ),
    )


def plan_placing(limit_s: float, limits: LampLimits) -> Plan:
    """Light the lamp through its red filter, to lay paper by; it counts as fog.

    Raises Refused for more than the lamp's limit.
    """
    _require(limit_s, limits)
    return Plan(
        "placing light",
        f"placing light, {format_time(limit_s)} at most",
        (
            Confirm("red filter in"),
            Go("placing light", lead_in_s=0.0),
            Shine("placing, press to end", limit_s),
            Confirm("red filter away"),
        ),
    )


def plan_warm_up(limits: LampLimits) -> Plan:
    """Burn the lamp until it is steady, where no paper can see it. Raises Refused."""
    warm_up_s = limits.warm_up_s or 60.0
    _require(warm_up_s, limits)
    return Plan(
        "warm-up",
        f"warm-up, {format_time(warm_up_s)}",
        (
            Confirm("no paper out, lens capped", Lens("capped")),
            Go("warm-up", lead_in_s=0.0),
            Shine("warming up", warm_up_s),
            Confirm("cap off, lens to the working aperture", Lens("working")),
        ),
    )
