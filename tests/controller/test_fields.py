"""What is typed in a field, read or refused with its option's name."""

from __future__ import annotations

import pytest

from controller.errors import BadInput
from controller.fields import pair_asked, size_asked, tones_asked, whole_asked


def test_a_whole_number_lies_within_its_bounds() -> None:
    """Both bounds are inside; signs, fractions and words are no whole numbers."""
    assert [whole_asked(text, "--patches", 2, 26) for text in ("2", " 7 ", "26")] == [2, 7, 26]
    for text in ("1", "27"):
        with pytest.raises(BadInput, match=f"--patches: {text} is out of range"):
            whole_asked(text, "--patches", 2, 26)
    for text in ("", "+3", "-3", "3.0", "three", "1234567"):
        with pytest.raises(BadInput, match="is not a whole number"):
            whole_asked(text, "--patches", 2, 26)


def test_a_size_is_in_millimetres_or_in_inches() -> None:
    """An inch is 25.4 mm by definition (international yard and pound agreement of 1959)."""
    assert size_asked("203x25", "--size") == (203.0, 25.0)
    assert size_asked(" 8 x 10 in ", "--size") == (203.2, 254.0)
    assert size_asked('11×14"', "--size") == size_asked("11*14in", "--size")  # noqa: RUF001
    for text in ("203", "4x4", "2001x25", "1.2.3x25", "8x10ft", "x"):
        with pytest.raises(BadInput, match=r"--size: .* is not a size"):
            size_asked(text, "--size")


def test_a_pair_is_a_name_and_what_it_stands_for() -> None:
    """Spaces around them do not count; the last = parts them; neither may be missing."""
    assert pair_asked(" old house = 0.8 ", "--lux", "x") == ("old house", "0.8")
    assert pair_asked("a=b=c", "--lux", "x") == ("a=b", "c")
    for text in ("", "sky", "sky=", "=0.8", " = "):
        with pytest.raises(BadInput, match=r"--lux: .* is not understood; right would be so"):
            pair_asked(text, "--lux", "so")


def test_tones_are_densities_of_regions() -> None:
    """What is no number that a densitometer could show is none."""
    assert tones_asked(["sky=0.25", "old house=0.8"]) == {"sky": 0.25, "old house": 0.8}
    for text in ("sky=light", "sky=nan", "sky=inf"):
        with pytest.raises(BadInput, match=r"--density: .* is no density"):
            tones_asked([text])
