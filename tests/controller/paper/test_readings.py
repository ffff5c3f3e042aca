"""Files of readings: what is taken, and what is said of lines that cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest

from controller.errors import BadInput
from controller.paper.readings import Reading, parse, read_curve, read_mixed


def test_columns_rows_and_comments_come_in_any_order(tmp_path: Path) -> None:
    """Columns are found by name, others passed over, comments and empty lines skipped."""
    file = tmp_path / "a.csv"
    file.write_text("\ufeff# read at noon\npatch,Density, log_exposure\n\nB,0.50,1.2\nA,0.1,0.9\n")
    assert read_curve(file) == (Reading((1.2,), 0.5, 4), Reading((0.9,), 0.1, 5))


def test_a_mixed_file_has_two_exposures_in_a_patch(tmp_path: Path) -> None:
    """A mixed patch keeps its soft and its hard exposure."""
    file = tmp_path / "m.csv"
    file.write_text("soft_log_exposure,hard_log_exposure,density\n1,0.5,0.8\n")
    assert read_mixed(file) == (Reading((1.0, 0.5), 0.8, 2),)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("1,0.2\n", r"f, line 1: there is no column 'log_exposure'"),
        ("", r"f, line 1: there is no column"),
        ("density,density,log_exposure\n", r"f, line 1: there are two columns 'density'"),
        ("log_exposure,density\n1,0.2,3\n", r"f, line 2: 3 values under 2 names"),
        ("log_exposure,density\n# no\n1,\n", r"f, line 3: density '' is no number"),
        ("log_exposure,density\n1,nan\n", r"f, line 2: density 'nan' cannot be"),
        ("log_exposure,density\n1,21\n", r"f, line 2: density '21' cannot be"),
        ("log_exposure,density\n1e9,1\n", r"f, line 2: log_exposure '1e9' cannot be"),
    ],
)
def test_a_bad_line_is_named(text: str, said: str) -> None:
    """Each bad line is told by file and line."""
    with pytest.raises(BadInput, match=said):
        parse(text, "f", ("log_exposure",))


def test_a_file_that_is_not_there_or_no_text_is_said(tmp_path: Path) -> None:
    """No file, a folder and bytes that are no text: one sentence each."""
    with pytest.raises(BadInput, match="no such file"):
        read_curve(tmp_path / "none.csv")
    with pytest.raises(BadInput, match="cannot be read"):
        read_curve(tmp_path)
    (tmp_path / "b.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(BadInput, match="not text"):
        read_curve(tmp_path / "b.csv")
