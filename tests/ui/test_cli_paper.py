"""Paper measured, at the command line."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from drivers.places import config_folder
from sim.paper import Paper
from tests.ui.command import Told

KEYS = {"d_min", "d_max", "iso_speed", "iso_range", "grade", "residual_rms", "outliers"}


@pytest.fixture
def sheet(tmp_path: Path) -> Path:
    """Give a file of 21 patches of the simulator's usual paper (P200, grade 2)."""
    at = np.arange(21) * 0.1 - 0.1
    densities = Paper().density(10.0**at)
    rows = [f"{x:.2f},{d:.3f}\n" for x, d in zip(at, densities, strict=True)]
    file = tmp_path / "sheet.csv"
    file.write_text("# by hand\nlog_exposure,density\n" + "".join(reversed(rows)))
    return file


def test_a_sheet_is_fitted(dryside: Callable[..., Told], sheet: Path) -> None:
    """The usual paper's figures are found, as words and as JSON with exactly its keys."""
    code, out, err = dryside("paper", "fit", str(sheet), "--json")
    assert code == 0, err
    told = json.loads(out)
    assert set(told) == KEYS
    assert (told["iso_speed"], told["grade"], told["outliers"]) == (200, 2, [])
    assert told["iso_range"] == 110  # 106 as it is
    code, out, err = dryside("paper", "fit", str(sheet), "--between", "1.6-0.2")
    assert code == 0, err
    for said in ("ISO range R110", "ISO speed P200", "grade 2, medium", "from 0.20 to 1.60: 1."):
        assert said in out


def test_relative_exposures_tell_no_speed(dryside: Callable[..., Told], sheet: Path) -> None:
    """With --relative the speed is null."""
    code, out, _ = dryside("paper", "fit", str(sheet), "--relative", "--json")
    assert code == 0
    assert json.loads(out)["iso_speed"] is None


def test_the_table_of_grades_can_be_changed(dryside: Callable[..., Told], sheet: Path) -> None:
    """grades.toml in the configuration folder takes the published table's place."""
    own = config_folder() / "grades.toml"
    own.write_text('[[grade]]\nnumber = 7\nname = "mine"\nler = [1.0, 1.2]\n')
    code, out, err = dryside("paper", "fit", str(sheet), "--json")
    assert code == 0, err
    assert json.loads(out)["grade"] == 7


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("log_exposure,density\n0.1,black\n", "sheet.csv, line 2: density 'black' is no number"),
        ("log_exposure,density\n0.1,0.1\n", "has 1 patches"),
        ("exposure,density\n0.1,0.1\n", "sheet.csv, line 1: there is no column 'log_exposure'"),
    ],
)
def test_a_bad_file_is_one_sentence(
    dryside: Callable[..., Told], sheet: Path, text: str, said: str
) -> None:
    """A file that cannot be used ends with exit code 2 and one line that says why."""
    sheet.write_text(text)
    code, out, err = dryside("paper", "fit", str(sheet), "--json")
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1
