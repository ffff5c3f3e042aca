"""A score as a file: TOML or JSON, version 1, and the published schema of it."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import ValidationError

from controller.errors import BadInput, quoted
from controller.score.model import Score
from controller.written import bad_input, parse, text_of

VERSION = 1
RIGHT = "a score file in TOML or JSON; `dryside score new` writes one"

# How a score of an older version becomes one of the next: version -> what changes its tables.
# (There has been no other yet; a score that names none is of version 1.)
Change = Callable[[dict[str, Any]], dict[str, Any]]
CHANGES: dict[int, Change] = {}


def load_score(path: Path) -> Score:
    """Read a score. Raises BadInput naming file, field and remedy."""
    file = str(path)
    return score_of(text_of(path, file, RIGHT), file)


def score_of(text: str, file: str) -> Score:
    """Read a score from text, TOML or JSON by its first character. Raises BadInput."""
    raw = _json(text, file) if text.lstrip().startswith("{") else _toml(text, file)
    return from_tables(raw, file)


def from_tables(raw: dict[str, Any], file: str) -> Score:
    """Make a score of its tables, an older version brought to the present. Raises BadInput."""
    raw = brought_up(raw, file)
    try:
        return Score.model_validate(raw)
    except ValidationError as error:
        raise bad_input(error, file, model=Score) from None


def brought_up(
    raw: dict[str, Any], file: str, changes: dict[int, Change] = CHANGES
) -> dict[str, Any]:
    """Bring the tables of an older version to the present one, step by step. Raises BadInput."""
    version = raw.get("version", 1)
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise BadInput(f"{version!r} is no version", f"{file}, version", f"1 to {VERSION}")
    newest = max(changes, default=VERSION - 1) + 1
    if version > newest:
        raise BadInput(
            f"it was written by a newer Dryside (version {version})",
            f"{file}, version",
            f"a score of version {newest} or older",
        )
    for step in range(version, newest):
        raw = changes[step](dict(raw)) | {"version": step + 1}
    return raw


def tables_of(score: Score) -> dict[str, Any]:
    """Give a score as the tables of a file: set values only."""
    return {"version": score.version, **score.model_dump(mode="json", exclude_defaults=True)}


def to_toml(score: Score) -> str:
    """Write a score for people: set values only, tables in the order of the model."""
    tables = tables_of(score)
    document = tomlkit.document()
    document.add("version", tomlkit.item(score.version))
    for key in Score.model_fields:
        if key == "version" or key not in tables:
            continue
        value = tables[key]
        if key == "sketch":
            rows = tomlkit.array()
            rows.extend(value)
            document.add(key, rows.multiline(True))
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            listed = tomlkit.aot()
            for entry in value:
                listed.append(tomlkit.item(entry))
            document.add(key, listed)
        else:
            document.add(key, tomlkit.item(value))
    return _tables_last(document)


def to_json(score: Score) -> str:
    """Write a score as JSON, set values only."""
    return json.dumps(tables_of(score), indent=2, ensure_ascii=False) + "\n"


def save_score(score: Score, path: Path) -> None:
    """Write a score durably, as JSON where the name says so, else as TOML. Raises BadInput."""
    text = to_json(score) if path.suffix.lower() == ".json" else to_toml(score)
    spare = path.with_name(path.name + ".new")
    try:
        with spare.open("w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        spare.replace(path)
    except OSError as error:
        raise BadInput(
            f"it cannot be written ({error.strerror})", str(path), "a place that can be written to"
        ) from None


def schema() -> str:
    """Give the JSON Schema of a score."""
    made = Score.model_json_schema(mode="validation")
    made["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    made["title"] = "Dryside score, version 1"
    return json.dumps(made, indent=2, ensure_ascii=False) + "\n"


def _toml(text: str, file: str) -> dict[str, Any]:
    try:
        return parse(text, file)
    except ValueError:  # a number of thousands of digits
        raise BadInput("a number is far too long", file, RIGHT) from None


def _json(text: str, file: str) -> dict[str, Any]:
    try:
        raw = json.loads(text)
    except (ValueError, RecursionError) as error:  # or a number of thousands of digits
        line = f", line {error.lineno}" if isinstance(error, json.JSONDecodeError) else ""
        raise BadInput("this is not JSON", f"{file}{line}", RIGHT) from None
    if not isinstance(raw, dict):
        raise BadInput(f"{quoted(text.strip())} is not a table", file, RIGHT)
    return raw


def _tables_last(document: tomlkit.TOMLDocument) -> str:
    """Write plain values before tables, as TOML needs them."""
    ordered = tomlkit.document()
    plain = {k: v for k, v in document.items() if not isinstance(v, dict | list) or k == "sketch"}
    rows = [k for k, v in document.items() if isinstance(v, list) and not _is_tables(v)]
    for key, value in document.items():
        if key in plain or key in rows:
            ordered.add(key, value)
    for key, value in document.items():
        if key not in plain and key not in rows:
            ordered.add(key, value)
    return tomlkit.dumps(ordered)


def _is_tables(value: list[Any]) -> bool:
    return bool(value) and isinstance(value[0], dict)
