"""Only the command that was asked for is made, and it is the same as among all."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import typer
from typer.main import get_command

from ui.cli import app
from ui.words import only_asked


def paths(command: Any, words: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    for name, each in getattr(command, "commands", {}).items():
        yield (*words, name)
        yield from paths(each, (*words, name))


def help_of(command: Any, words: tuple[str, ...]) -> str:
    """Give the help of the command at the end of these words."""
    context = typer.Context(command, info_name="dryside")
    for word in words:
        command = command.get_command(context, word)
        context = typer.Context(command, parent=context, info_name=word)
    return str(command.get_help(context))


def count(command: Any) -> int:
    return sum(1 for _ in paths(command))


def test_each_command_says_the_same_alone_as_among_all() -> None:
    """Options, texts and the way there are those of the whole program."""
    whole = get_command(app)
    every = list(paths(whole))
    assert len(every) > 100
    for words in every:
        part = get_command(only_asked(app, [*words, "--help"]))
        assert help_of(part, words) == help_of(whole, words), words
        assert count(part) < len(every) / 3, words


@pytest.mark.parametrize("words", [[], ["--help"], ["stripp"], ["-h", "strip"]])
def test_where_no_command_is_named_all_are_there(words: list[str]) -> None:
    """Help and advice know every command."""
    assert only_asked(app, words) is app


def test_a_slip_within_a_group_leaves_the_whole_group() -> None:
    """What is near is looked for among all that the group has."""
    part = get_command(only_asked(app, ["book", "lst"]))
    assert ("book", "list") in list(paths(part))
    assert ("strip",) not in list(paths(part))
