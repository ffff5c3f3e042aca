"""The room as a file: TOML, version 1, and the published schema of it."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import BaseModel, ValidationError

from controller.errors import BadInput
from controller.room.model import Room
from controller.written import bad_input, parse, text_of

VERSION = 1
RIGHT = "a room file in TOML; `dryside room light add` writes one"


def load_room(path: Path) -> Room:
    """Read a room. Raises BadInput naming file, field and remedy."""
    file = str(path)
    return room_of(text_of(path, file, RIGHT), file)


def room_of(text: str, file: str) -> Room:
    """Read a room from text. Raises BadInput."""
    try:
        raw = parse(text, file)
    except BadInput:
        raise
    except ValueError:  # a number of thousands of digits, or a date that is none
        raise BadInput("a number or a date cannot be read", file, RIGHT) from None
    return from_tables(raw, file)


def from_tables(raw: dict[str, Any], file: str) -> Room:
    """Make a room of its tables. Raises BadInput."""
    version = raw.get("version", 1)
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise BadInput(f"{version!r} is no version", f"{file}, version", str(VERSION))
    if version > VERSION:
        raise BadInput(
            f"it was written by a newer Dryside (version {version})",
            f"{file}, version",
            f"a room of version {VERSION}",
        )
    try:
        return Room.model_validate(raw)
    except ValidationError as error:
        raise bad_input(error, file, model=Room) from None


def to_toml(room: Room) -> str:
    """Write a room for people: set values only, plain values before tables."""
    document = tomlkit.document()
    document.add("version", tomlkit.item(room.version))
    tables = _set_values(room)
    for key in sorted(tables, key=lambda key: isinstance(tables[key], dict | list)):
        value = tables[key]
        if isinstance(value, list):
            listed = tomlkit.aot()
            for entry in value:
                listed.append(_table(entry))
            document.add(key, listed)
        else:
            document.add(key, tomlkit.item(value))
    return tomlkit.dumps(document)


def save_room(room: Room, path: Path) -> None:
    """Write a room durably. Raises BadInput where that cannot be."""
    spare = path.with_name(path.name + ".new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with spare.open("w", encoding="utf-8") as file:
            file.write(to_toml(room))
            file.flush()
            os.fsync(file.fileno())
        spare.replace(path)
    except OSError as error:
        raise BadInput(
            f"it cannot be written ({error.strerror})", str(path), "a place that can be written to"
        ) from None


def schema() -> str:
    """Give the JSON Schema of a room."""
    made = Room.model_json_schema(mode="validation")
    made["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    made["title"] = "Dryside room, version 1"
    return json.dumps(made, indent=2, ensure_ascii=False) + "\n"


def _set_values(part: BaseModel) -> dict[str, Any]:
    # dates stay dates, which TOML has and JSON has not
    dumped = part.model_dump(exclude_defaults=True)
    plain: dict[str, Any] = _plain(dumped)
    plain.pop("version", None)
    return plain


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(each) for key, each in value.items() if each is not None}
    if isinstance(value, tuple | list):
        return [_plain(each) for each in value]
    return getattr(value, "value", value)  # an enum by its name


def _table(entry: dict[str, Any]) -> Any:
    """Make a table of one entry; before and after stay on a line each, lists of tables last."""
    table = tomlkit.table()
    deep = {k for k, v in entry.items() if isinstance(v, list) and v and isinstance(v[0], dict)}
    for key, value in entry.items():
        if key in deep:
            continue
        if isinstance(value, dict):
            inline = tomlkit.inline_table()
            inline.update(value)
            table.add(key, inline)
        else:
            table.add(key, value)
    for key in deep:
        listed = tomlkit.aot()
        for each in entry[key]:
            listed.append(_table(each))
        table.add(key, listed)
    return table
