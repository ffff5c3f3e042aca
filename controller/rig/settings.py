"""``--set lamp.cold_lag_s=0``: one setting of a rig, overridden for one run.

A path is written as in the file, with dots: ``foot.deaf_s``, ``safelight.ceiling.warm_up_s``
(by name) or ``safelight[2].warm_up_s``, ``safelight.2.warm_up_s`` (the second). The value is read
as TOML, and as text where it is none.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from copy import deepcopy
from difflib import get_close_matches
from typing import Any, get_origin

from pydantic import BaseModel

from controller.errors import BadInput, quoted
from controller.rig.model import Rig
from controller.written import nested

OPTION = "--set"


def override(
    raw: Mapping[str, Any], settings: Sequence[str]
) -> tuple[dict[str, Any], frozenset[str]]:
    """Apply settings to the raw tables of a rig.

    Gives new tables, and the fields that were set, written as faults write them. Values are not
    judged here. Raises BadInput for a setting that does not exist.
    """
    tables: dict[str, Any] = deepcopy(dict(raw))
    fields = [_apply(tables, setting) for setting in settings]
    return tables, frozenset(fields)


def value_of(text: str) -> object:
    """Read a value as TOML, else as text."""
    try:
        read = tomllib.loads(f"value = {text}")
    except (tomllib.TOMLDecodeError, RecursionError):
        return text
    return read["value"] if len(read) == 1 else text


def _apply(tables: dict[str, Any], setting: str) -> str:
    path, equals, text = setting.partition("=")
    path = path.strip()
    if not equals or not path:
        raise BadInput(
            f"{quoted(setting)} sets nothing",
            OPTION,
            "a setting and a value, such as foot.deaf_s=1",
        )
    keys = re.sub(r"\[(\d+)\]", r".\1", path).split(".")
    where = f"{OPTION} {path}"
    at: Any = tables
    model: type[BaseModel] | None = Rig
    field = ""
    while keys:
        key = keys.pop(0)
        if not isinstance(at, dict):  # the file is wrong here, and will be told so
            return field
        listed = False
        if model is not None:
            if key == "pin" and "address" in model.model_fields:
                key = "address"
            if key == "address":
                at.pop("pin", None)
            if key not in model.model_fields:
                raise _unknown(path, where, tables)
            known = model.model_fields[key]
            model, listed = nested(known.annotation)
            if model is None and keys and get_origin(known.annotation) is not dict:
                raise _unknown(path, where, tables)
        field = f"{field}.{key}" if field else key
        if not keys:
            at[key] = value_of(text.strip())
        elif listed:
            at, number = _pick(at.get(key), keys.pop(0), field, where)
            field = f"{field}[{number}]"
            if not keys:
                raise BadInput(
                    "this is a whole table",
                    where,
                    f"one of its fields, such as {path}.{next(iter(model.model_fields))}"
                    if model
                    else "one of its fields",
                )
        else:
            at = at.setdefault(key, {})
    return field


def _pick(entries: object, key: str, field: str, where: str) -> tuple[dict[str, Any], int]:
    tables = [e for e in entries if isinstance(e, dict)] if isinstance(entries, list) else []
    for number, table in enumerate(tables, 1):
        if key in (str(number), table.get("name")):
            return table, number
    if not tables:
        raise BadInput(f"the rig has no [[{field}]]", where, "a setting of a table that it has")
    names = [str(t.get("name", n)) for n, t in enumerate(tables, 1)]
    near = get_close_matches(key, names, n=1)
    raise BadInput(
        f"the rig has no {field} {quoted(key)}", where, near[0] if near else " or ".join(names)
    )


def _unknown(path: str, where: str, tables: Mapping[str, Any]) -> BadInput:
    known = _paths(Rig, tables, "")
    near = get_close_matches(path, known, n=1, cutoff=0.6)
    if not near:
        last = path.rpartition(".")[2]
        near = [p for p in known if get_close_matches(last, [p.rpartition(".")[2]], cutoff=0.7)][:1]
    right = near[0] if near else "a field of the rig file with dots, such as lamp.cold_lag_s"
    return BadInput("there is no such setting", where, right)


def _paths(model: type[BaseModel], tables: Mapping[str, Any], before: str) -> list[str]:
    paths: list[str] = []
    for key, field in model.model_fields.items():
        inner, listed = nested(field.annotation)
        value = tables.get(key)
        if inner is None:
            paths.append(before + key)
        elif not listed:
            paths += _paths(inner, value if isinstance(value, Mapping) else {}, f"{before}{key}.")
        elif isinstance(value, list):
            for number, table in enumerate(value, 1):
                if isinstance(table, Mapping):
                    paths += _paths(inner, table, f"{before}{key}.{table.get('name', number)}.")
    return paths
