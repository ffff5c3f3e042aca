"""Printing for people and for programs."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING, Any

import msgspec

if TYPE_CHECKING:
    from controller.plan import Plan


def lines(texts: Iterable[str]) -> None:
    """Print lines."""
    for text in texts:
        print(text)


def cut(text: str) -> None:
    """Print a line of a list, cut where the terminal ends; whole into a pipe or a file."""
    import shutil

    columns = shutil.get_terminal_size((0, 0)).columns
    print(text if not columns or len(text) <= columns else text[: columns - 1] + "…")


def note(text: str) -> None:
    """Tell something beside the result; never into a pipe that carries the result."""
    if text:
        print(text, file=sys.stderr)


def as_json(value: Any) -> None:
    """Print one JSON value, as a person could still read it."""
    import json

    print(json.dumps(msgspec.to_builtins(value), indent=2, ensure_ascii=False))


def plan(one: Plan, mark: str = "", *, json_: bool = False) -> None:
    """Print a plan, of the sheet ``mark`` where it lies there already."""
    if json_:
        as_json(plan_json(one) | ({"mark": mark} if mark else {}))
        return
    print(f"{mark}: {one.title}" if mark else one.title)
    lines(f"  {line}" for line in one.lines())


def plan_json(one: Plan) -> dict[str, Any]:
    """Give a plan as data: what will be done, and the same in words."""
    told: dict[str, Any] = msgspec.to_builtins(one)
    return {**told, "lines": one.lines()}


def when(at: datetime) -> str:
    """Write a wall-clock time for a person, in local time."""
    return at.astimezone().strftime("%Y-%m-%d %H:%M")
