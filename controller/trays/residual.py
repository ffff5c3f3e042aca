"""Tests for what stayed in a print: guided steps, and what their outcome asks for.

Drop tests on a border or a trial piece that went along; the drops never touch the image. What they
show is read against a chart of the reagent's maker; the rules here are from memory of trade books.
"""

from __future__ import annotations

from enum import Enum

import msgspec


class Seen(Enum):
    """How strong the stain of the drop is, beside bare paper."""

    NONE = "none"
    FAINT = "faint"
    CLEAR = "clear"


class Residual(Enum):
    """What is looked for."""

    SILVER = "silver"
    HYPO = "hypo"


class Outcome(msgspec.Struct, frozen=True):
    """What a test says, and what to do. ``passed``: the batch may go on."""

    passed: bool
    says: str


CAUTION = (
    "Gloves, goggles, moving fresh air; the reagent's safety data sheet goes before this. "
    "Rinse drops off with much water, and keep them away from trays and prints."
)
_STEPS = {
    Residual.SILVER: (
        "Take a white border or a trial piece that was fixed with the batch, and washed briefly.",
        "Blot a spot dry; put one drop of fresh dilute sodium sulfide on it. Never near acid: "
        "with stop bath or fixer it sets free toxic hydrogen sulfide.",
        "Wait 3 minutes, blot, and look in white light beside bare paper.",
        "Brown or yellow: silver stayed in the paper.",
    ),
    Residual.HYPO: (
        "Take a white border or a trial piece that was washed with the batch.",
        "Blot a spot dry; put one drop of acidified silver nitrate on it. It stains skin and cloth "
        "and hurts eyes.",
        "Wait 2 minutes in weak light, rinse, and compare with the chart of the reagent's maker.",
        "The browner, the more fixer stayed; light darkens the spot by and by, so look at once.",
    ),
}


def name_of(test: Residual) -> str:
    """Give the name that a test has among the steps of a print."""
    return f"residual {test.value} test"


def steps_of(test: Residual) -> tuple[str, ...]:
    """Give what to do, in order; the waits are from memory of common practice."""
    return (*_STEPS[test], CAUTION)


def outcome_of(test: Residual, seen: Seen) -> Outcome:
    """Say what a stain asks for."""
    if test is Residual.SILVER:
        if seen is Seen.NONE:
            return Outcome(True, "no silver is seen: fixed")
        return Outcome(
            False,
            "silver stayed: fix again in fresh fixer, then rinse and wash again; do not tone",
        )
    if seen is Seen.NONE:
        return Outcome(True, "no fixer is seen: washed")
    if seen is Seen.FAINT:
        return Outcome(True, "near the chart's lightest patch is enough; else wash for longer")
    return Outcome(
        False, "fixer stayed: wash as long again, and test again, before toning or drying"
    )
