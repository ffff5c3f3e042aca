"""Reading files that people write, and explaining what is wrong with one.

Whatever is wrong becomes a ``Fault``: file, field as the user writes it, what is wrong with the
value, and what would be right.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from controller.errors import BadInput, quoted

RIGHT_IS = "; right would be "  # parts what is wrong from what would be right, in a ValueError


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong in a file: where, what, and what would be right."""

    field: str  # as the user writes it, such as safelight[2].contact (the second)
    what: str
    right: str
    file: str = ""

    @property
    def where(self) -> str:
        """Give file and field."""
        if self.file == "--set":
            return f"--set {self.field}"
        return ", ".join(part for part in (self.file, self.field) if part)

    def __str__(self) -> str:
        return f"{self.where}: {self.what}; right would be {self.right}."


def parse(text: str, file: str) -> dict[str, Any]:
    """Parse the text of a TOML file. Raises BadInput with line and column."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        said = re.fullmatch(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", str(error))
        what, line, column = said.groups() if said else (str(error), None, None)
        place = f"line {line}, column {column}" if line else "at its end"
        what = what[:1].lower() + what[1:]
        raise BadInput(
            f"this is not TOML ({what})",
            f"{file}, {place}",
            'a line such as name = "darkroom", with text in quotes',
        ) from None
    except RecursionError:
        raise BadInput("it is nested far too deeply", file, "tables of one level") from None


def text_of(path: Path, file: str, right: str) -> str:
    """Read a text file. Raises BadInput, with what would be ``right`` where it cannot be read."""
    try:
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        what = "there is no such file"
    except IsADirectoryError:
        what = "this is a folder"
    except UnicodeDecodeError as error:
        raise BadInput(
            f"byte {error.start + 1} is not UTF-8 text", file, "a text file in UTF-8"
        ) from None
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        what = f"it cannot be read ({reason})"
    raise BadInput(what, file, right)


def nested(annotation: object) -> tuple[type[BaseModel] | None, bool]:
    """Tell the table that a field holds, and whether it holds a list of such tables."""
    if get_origin(annotation) is tuple:
        inner = get_args(annotation)[0]
        return (inner, True) if _is_table(inner) else (None, False)
    # a table that may be left out is "Table | None"
    for each in (annotation, *get_args(annotation)):
        if isinstance(each, type) and _is_table(each):
            return each, False
    return None, False


def _is_table(annotation: object) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)


def bad_input(
    error: ValidationError, file: str, *, prefix: str = "", model: type[BaseModel] | None = None
) -> BadInput:
    """Turn pydantic's error into one sentence, about its first fault.

    ``prefix`` is the table that was judged, ``model`` its class (for the nearest key, and for
    what a field means).
    """
    fault = faults_of(error, model, prefix)[0]
    where = Fault(fault.field, fault.what, fault.right, file).where
    return BadInput(fault.what, where, fault.right)


def faults_of(
    error: ValidationError, model: type[BaseModel] | None, prefix: str = ""
) -> list[Fault]:
    """Turn pydantic's errors into faults; contradictions are left to ``contradictions``."""
    details = [e for e in error.errors(include_url=False) if e["type"] != "contradiction"]
    return [_fault(detail, model, prefix) for detail in details]


def _fault(detail: ErrorDetails, model: type[BaseModel] | None, prefix: str) -> Fault:
    loc, kind, given = detail["loc"], detail["type"], detail["input"]
    table, field = _find(model, loc)
    if kind == "extra_forbidden":
        what, right = "there is no such key here", _nearest(str(loc[-1]), table)
        if table and loc[-1] == "pin" and "address" in table.model_fields:
            what, right = "the same is given as address", "either of the two"
    elif kind == "missing":
        # what is given is the table that lacks it
        what, right = "it is missing", _meaning(field, str(loc[-1]))
    elif kind == "value_error":
        said = detail["msg"].removeprefix("Value error, ")
        what, _, right = said.partition(RIGHT_IS)
        if not right:
            what, _, rest = said.partition(": ")
            right = f"a table in which {rest}" if rest else "a value that agrees with the others"
    else:
        what, right = f"{shown(given)} is not right", _right(detail, field, loc)
    return Fault(_path(prefix, loc), what, right)


def shown(value: object) -> str:
    """Write a value as a rig file does, shortly."""
    match value:
        case bool():
            return str(value).lower()
        case str():
            return f'"{quoted(value)[1:-1]}"'
        case Mapping():
            return "a table"
        case list() | tuple():
            return "a list"
    return str(value)


def _path(prefix: str, loc: Sequence[int | str]) -> str:
    path = prefix
    for step in loc:
        if isinstance(step, int):
            path += f"[{step + 1}]"
        else:
            path += f".{step}" if path else step
    return path


def _find(
    model: type[BaseModel] | None, loc: Sequence[int | str]
) -> tuple[type[BaseModel] | None, FieldInfo | None]:
    """Give the model of the table that ``loc`` lies in, and the field."""
    table, field = model, None
    names = [step for step in loc if isinstance(step, str)]
    for i, name in enumerate(names):
        field = table.model_fields.get(name) if table else None
        if i < len(names) - 1:
            table = nested(field.annotation)[0] if field else None
    return table, field


def _nearest(key: str, table: type[BaseModel] | None) -> str:
    if table is None:
        return "a key that it knows"
    known = list(table.model_fields)
    near = get_close_matches(key, known, n=1, cutoff=0.5)
    return f'"{near[0]}"' if near else f"one of {', '.join(known)}"


def _meaning(field: FieldInfo | None, key: str) -> str:
    inner, _ = nested(field.annotation) if field else (None, False)
    if inner:
        needed = [name for name, each in inner.model_fields.items() if each.is_required()]
        return f"a table [{key}] with {' and '.join(needed)}"
    if field and field.description:
        return f"{key} = {field.description}"
    return f"a value for {key}"


_KINDS = {
    "float_type": "a number",
    "float_parsing": "a number",
    "finite_number": "a number",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "int_from_float": "a whole number",
    "bool_type": "true or false",
    "bool_parsing": "true or false",
    "string_type": "text in quotes",
    "string_too_short": "some text in quotes",
    "from_root": 'a whole path, from "/" or "~", such as "~/book"',
    "one_word": "one word: a letter, then letters, digits, - and _",
    "address": "a GPIO number such as 17, or the driver's own name for the line in quotes",
}


def _right(detail: ErrorDetails, field: FieldInfo | None, loc: Sequence[int | str]) -> str:
    kind, given, context = detail["type"], detail["input"], detail.get("ctx", {})
    inner, listed = nested(field.annotation) if field else (None, False)
    if kind in ("literal_error", "enum"):
        return str(context["expected"]).replace("'", '"')
    if kind in ("model_type", "dict_type", "model_attributes_type"):
        name = ".".join(str(step) for step in loc if isinstance(step, str))
        return f"a table [[{name}]]" if listed else f"a table [{name}], in single brackets"
    if kind in ("tuple_type", "list_type"):
        if inner and isinstance(given, Mapping):
            return f"[[{loc[-1]}]], in double brackets, since there may be several"
        return "a list in square brackets"
    if bounds := _bounds(field):
        return f"{'a whole number' if field and field.annotation is int else 'a number'} {bounds}"
    if kind in _KINDS:
        return _KINDS[kind]
    if field and field.description:
        return field.description
    said = detail["msg"]
    return said[:1].lower() + said[1:]


def _bounds(field: FieldInfo | None) -> str:
    found: dict[str, Any] = {}
    for each in field.metadata if field else ():
        for name in ("gt", "ge", "lt", "le"):
            if getattr(each, name, None) is not None:
                found[name] = getattr(each, name)
    words = {"gt": "above {:g}", "ge": "from {:g}", "lt": "and below {:g}", "le": "up to {:g}"}
    return " ".join(words[name].format(found[name]) for name in words if name in found)
