"""Errors are sentences."""

import pickle

from controller.errors import LONGEST_QUOTE, BadInput, DrysideError, Refused, quoted


def test_bad_input_names_what_where_and_right() -> None:
    """Bad input becomes one sentence of what, where, and what would be right."""
    error = BadInput("'pear' is not a step", "--step", "1/3, 2s or 25%")
    assert str(error) == "--step: 'pear' is not a step; right would be 1/3, 2s or 25%."
    assert isinstance(error, DrysideError)


def test_refused_names_each_variant() -> None:
    """A refusal says why, and every variant that would be accepted."""
    assert str(Refused("too short", ("4 patches",))) == "too short; try 4 patches."
    three = Refused("too short", ("4 patches", "the window", "f/11"))
    assert str(three) == "too short; try 4 patches, the window or f/11."
    assert str(Refused("too short")) == "too short."


def test_errors_survive_pickling() -> None:
    """Errors cross from one process to another whole."""
    for error in (BadInput("a", "b", "c"), Refused("a", ("b",))):
        again = pickle.loads(pickle.dumps(error))
        assert type(again) is type(error)
        assert str(again) == str(error)


def test_a_quote_is_one_short_line() -> None:
    """However long and however many lines the input has, its quote is one short line."""
    assert quoted("pear") == "'pear'"
    long = quoted("pear\n" * 100)
    assert "\n" not in long
    assert len(long.encode().decode("unicode_escape")) == LONGEST_QUOTE + 2
