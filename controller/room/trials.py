"""The tests of "what is wrong with my print?": by word, from fields to a plan and back. Pure."""

from __future__ import annotations

from datetime import date
from typing import Any, TypeAlias

from pydantic import BaseModel, ValidationError

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import BadInput
from controller.exposing.around import Around
from controller.plan import Plan
from controller.room.change import result_of
from controller.room.fog_sheets import Switched
from controller.room.guided import By, Guided, plan_guided
from controller.room.model import Kind, Place, Result, ResultKind, Room
from controller.room.ruled_out import WORDS
from controller.room.trial_sheets import (
    BladesSheet,
    DarkStrips,
    EvennessSheet,
    LeakSheet,
    plan_blades,
    plan_dark,
    plan_evenness,
    plan_leak,
)
from controller.room.wrong import TESTS
from controller.written import bad_input

TrialSheet: TypeAlias = LeakSheet | BladesSheet | EvennessSheet | DarkStrips | Guided

BLADES = "blades"
GUIDED = tuple(one.value for one in By)
KINDS = ("leak", "evenness", "dark", BLADES, *GUIDED)
# the kind of plan that is in the book, the word that is typed, and the spec
SPECS: dict[str, tuple[str, type[LeakSheet | BladesSheet | EvennessSheet | DarkStrips | Guided]]]
SPECS = {
    "leak test": ("leak", LeakSheet),
    "evenness": ("evenness", EvennessSheet),
    "dark strips": ("dark", DarkStrips),
    "pale line": (BLADES, BladesSheet),
    **{f"{word} test": (word, Guided) for word in GUIDED},
}
GREYS = {
    "leak": "the exposure that gives a light grey: dryside room test flash finds it",
    BLADES: "the exposure that gives a light grey: dryside room test flash finds it",
    "evenness": "the exposure that gives a mid grey without a negative, such as 2s",
    "agitation": "the exposure that gives a mid grey without a negative, such as 2s",
}
LIGHT_GREY = ("leak", BLADES)  # what the flash strip finds serves them
_TIMED = {"leak": "print_s", BLADES: "time_s"}


def trial_of(word: str, fields: dict[str, Any], time_s: float | None = None) -> TrialSheet:
    """Make a trial of its word and what was typed. Raises BadInput that names the field."""
    if word in GREYS and "flash_s" not in fields:
        raise BadInput("the exposure is not given", "--flash", GREYS[word])
    given = dict(fields)
    if time_s is not None:
        if word not in _TIMED:
            raise BadInput(f"{word} has no one time", "--time", "nothing here")
        given[_TIMED[word]] = time_s
    if word in GUIDED:
        given["test"] = word
    model: type[BaseModel] = next(spec for name, spec in SPECS.values() if name == word)
    given = {key: value for key, value in given.items() if key in model.model_fields}
    try:
        made = model.model_validate(given)
    except ValidationError as error:
        raise bad_input(error, f"room test {word}", model=model) from None
    assert isinstance(made, TrialSheet)
    return made


def plan_trial(
    test: TrialSheet, lamp: Calibration, limits: LampLimits, room: Around, switched: Switched
) -> Plan:
    """Make the plan of a trial, every light that can be switched out. Raises Refused."""
    match test:
        case LeakSheet():
            return plan_leak(test, lamp, limits, room)
        case BladesSheet():
            return plan_blades(test, lamp, limits, room, switched)
        case EvennessSheet():
            return plan_evenness(test, lamp, limits, room)
        case DarkStrips():
            return plan_dark(test, room)
        case Guided():
            return plan_guided(test, lamp, limits, room)


def read_trial(kind: str, spec: str) -> tuple[str, TrialSheet]:
    """Read a trial from the book: its word and its spec; its kind must be one of ``SPECS``."""
    word, model = SPECS[kind]
    return word, model.model_validate_json(spec)


def leak_result(
    test: LeakSheet, room: Room, when: date, *, changed: bool, read: str
) -> Result | None:
    """Give what a leak test says of the room's light of that kind; None where none is listed.

    Its times are seconds for which the enlarger's lamp burns.
    """
    named = [light.name for light in room.lights if light.kind is Kind.ENLARGER_LEAK]
    if not named:
        return None
    reading = {"changed_s" if changed else "clean_s": test.leak_s}
    return result_of(
        {
            "lights": named[:1],
            "at": Place.EASEL,
            "paper": test.paper,
            "date": when,
            "kind": ResultKind.WHICH,
            "read": read,
            "after": reading,
        }
    )


def verdict_lines(word: str, *, found: bool) -> list[str]:
    """Say what follows from a trial that found its fault, or did not."""
    trial = TESTS[WORDS[word]]
    if found:
        return [f"{trial.settles.value}: {trial.verdict}"]
    return [f"{trial.settles.value}: nothing found, that cause is ruled out"]
