"""Reading ``rig.toml``, and explaining what is wrong with one.

Whatever is wrong becomes a ``Fault``: file, field as the user writes it, what is wrong with the
value, and what would be right. ``load_rig`` raises the first, ``find_faults`` gives them all.
"""

from __future__ import annotations

import tomllib
from collections.abc import Collection, Mapping, Sequence
from difflib import get_close_matches
from importlib.resources import files
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from controller.errors import BadInput, quoted
from controller.rig.model import Rig
from controller.rig.rules import LISTS, contradictions, entries
from controller.rig.settings import OPTION, override
from controller.written import Fault, faults_of, parse, text_of

IMAGINED = ("tungsten", "halogen", "led")
# rig files to copy, by the board's driver
EXAMPLES = {"gpio": "example", "modbus": "modbus", "modem-lines": "modem-lines"}
ROOMS = ("bad-room",)  # imagined rigs of which the room is the point
SHIPPED = (*IMAGINED, *ROOMS)
_TABLES = "controller.rig"  # the package that holds the folder shipped/


# --- reading --------------------------------------------------------------------------------


def load_rig(asked: str | Path, settings: Sequence[str] = ()) -> Rig:
    """Load a rig: a file, or the name of an imagined one; ``settings`` override (see ``--set``).

    A ``Path`` is always a file. Raises BadInput: one sentence that names file, field and remedy.
    """
    file, raw = str(asked), read_raw(asked)
    raw, fields = override(raw, settings)
    for fault in find_faults(raw, file, fields):
        raise BadInput(fault.what, fault.where, fault.right)
    return Rig.model_validate(raw)


def read_raw(asked: str | Path) -> dict[str, Any]:
    """Read the tables of a rig file, or of an imagined rig, as they stand. Raises BadInput."""
    if isinstance(asked, str) and asked in SHIPPED:
        return tomllib.loads(_shipped(asked))
    file = str(asked)
    return parse(text_of(Path(asked), file, _not_there(file)), file)


def _not_there(file: str) -> str:
    """Say what would be right instead of a rig file that cannot be read."""
    near = get_close_matches(file, SHIPPED, n=1)
    names = f'"{near[0]}"' if near else ", ".join(f'"{name}"' for name in SHIPPED)
    return f"the path of a rig file that can be read, or an imagined rig: {names}"


def with_settings(rig: Rig, settings: Sequence[str]) -> Rig:
    """Give the rig with some settings overridden. Raises BadInput."""
    raw, fields = override(rig.model_dump(exclude_unset=True), settings)
    for fault in find_faults(raw, rig.name, fields):
        raise BadInput(fault.what, fault.where, fault.right)
    return Rig.model_validate(raw)


# --- rigs that come with Dryside ------------------------------------------------------------


def imagined_names() -> tuple[str, ...]:
    """Name the imagined rigs."""
    return IMAGINED


def imagined_rig(kind: str, settings: Sequence[str] = ()) -> Rig:
    """Give an imagined rig: "tungsten", "halogen" or "led". Raises BadInput."""
    if kind not in IMAGINED:
        raise BadInput(f"there is no imagined rig {quoted(kind)}", "rig", " or ".join(IMAGINED))
    return load_rig(kind, settings)


def example_rig(board: str = "gpio") -> str:
    """Give a commented rig file for a kind of relay board, by its driver (``EXAMPLES``).

    Raises BadInput.
    """
    if board not in EXAMPLES:
        right = " or ".join(EXAMPLES)
        raise BadInput(f"there is no example for a board {quoted(board)}", "rig example", right)
    return _shipped(EXAMPLES[board])


def _shipped(name: str) -> str:
    return (files(_TABLES) / "shipped" / f"{name}.toml").read_text(encoding="utf-8")


# --- explaining -----------------------------------------------------------------------------


def find_faults(raw: Mapping[str, Any], file: str, fields: Collection[str] = ()) -> list[Fault]:
    """Find every fault of a rig's tables; ``fields`` came from ``--set`` and are told so."""
    faults: list[Fault] = []
    try:
        Rig.model_validate(raw)
    except ValidationError as error:
        faults = faults_of(error, Rig)
    faults += contradictions(raw)
    return [
        Fault(_as_written(f.field, raw), f.what, f.right, OPTION if f.field in fields else file)
        for f in faults
    ]


def _as_written(field: str, raw: Mapping[str, Any]) -> str:
    """Name an address ``pin`` where the file does."""
    before, _, key = field.rpartition(".")
    for name in ("lamp", "box", "sounder", *LISTS):
        for path, table in entries(raw, name):
            if path == before and key == "address" and "address" not in table and "pin" in table:
                return f"{before}.pin"
    return field
