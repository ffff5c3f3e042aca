"""The commands that are asked for, without the hundred others.

Typer reads the options of every command before it looks at what was typed, which on a Raspberry Pi
takes longer than many a command itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy

import typer
from typer.main import get_command_name
from typer.models import CommandInfo


def only_asked(app: typer.Typer, words: Sequence[str]) -> typer.Typer:
    """Give the same app with the one command that these words begin with.

    Where the first word is none of its commands (a slip, an option, or nothing) all are there,
    so that help and advice know them.
    """
    if not words:
        return app
    word, rest = words[0], words[1:]
    commands = [info for info in app.registered_commands if _name(info) == word]
    groups = [info for info in app.registered_groups if info.name == word]
    if not commands and not groups:
        return app
    part = copy(app)
    part.registered_commands = commands
    part.registered_groups = []
    for info in groups:
        group = copy(info)
        if group.typer_instance:
            group.typer_instance = only_asked(group.typer_instance, rest)
        part.registered_groups.append(group)
    return part


def _name(info: CommandInfo) -> str:
    return info.name or get_command_name(getattr(info.callback, "__name__", ""))
