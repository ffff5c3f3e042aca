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
from tests.whole.imagined_sheets import Sheets, a_variable_paper, sheets_of

KEYS = {"d_min", "d_max", "iso_speed", "iso_range", "grade", "residual_rms", "outliers"}

PALE = "log_exposure,density\n" + "".join(
    f"{1.0 + 0.1 * n:.1f},{density}\n"
    for n, density in enumerate((0.06, 0.06, 0.10, 0.18, 0.30, 0.42, 0.50, 0.54, 0.55, 0.55, 0.55))
)


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
        (PALE, "full black is only 0.5"),
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


@pytest.fixture(scope="module")
def split_sheet(tmp_path_factory: pytest.TempPathFactory) -> tuple[Sheets, list[str]]:
    """Give the prescribed sheet of an imagined paper, and the words that name its files."""
    random = np.random.default_rng(4)
    sheets = sheets_of(a_variable_paper(random), random, 0.02)
    folder = tmp_path_factory.mktemp("split")
    words = []
    for name in ("soft", "hard", "mixed"):
        header = "log_exposure" if name != "mixed" else "soft_log_exposure,hard_log_exposure"
        rows = [
            ",".join(f"{value:.3f}" for value in (*each.log_exposures, each.density))
            for each in getattr(sheets, name)
        ]
        (folder / f"{name}.csv").write_text("\n".join([f"{header},density", *rows, ""]))
        words += [f"--{name}", str(folder / f"{name}.csv")]
    return sheets, words


TONES = ("--highlight", "0.2=0.12", "--shadow", "2=1.7")


def test_two_tones_are_solved_for_doses(
    dryside: Callable[..., Told], split_sheet: tuple[Sheets, list[str]]
) -> None:
    """The doses that are told give both tones on the paper itself, within 0.04."""
    sheets, words = split_sheet
    code, out, err = dryside("paper", "solve", *words, *TONES, "--json")
    assert (code, err) == (0, "")
    told = json.loads(out)
    assert set(told) == {"soft_dose_s", "hard_dose_s", "iso_range", "predicted"}
    assert told["predicted"] == pytest.approx({"highlight": 0.12, "shadow": 1.7}, abs=0.001)
    for lux, density in ((0.2, 0.12), (2.0, 1.7)):
        made = sheets.density(lux * told["soft_dose_s"], lux * told["hard_dose_s"])
        assert made == pytest.approx(density, abs=0.04)


def test_further_readings_and_a_missing_mixed_sheet_are_told(
    dryside: Callable[..., Told], split_sheet: tuple[Sheets, list[str]]
) -> None:
    """--also tells where a reading falls; without a mixed sheet a note warns."""
    _, words = split_sheet
    code, out, err = dryside("paper", "solve", *words[:4], *TONES, "--also", "0.7")
    assert code == 0
    assert "also 0.7 lux: density 0." in out
    assert "no mixed sheet" in err
    _, out, _ = dryside("paper", "solve", *words, *TONES, "--also", "0.7", "--json")
    [also] = json.loads(out)["also"]
    assert also["lux"] == 0.7
    assert 0.12 < also["density"] < 1.7


def test_tones_are_told_by_the_negative_as_well(
    dryside: Callable[..., Told], split_sheet: tuple[Sheets, list[str]]
) -> None:
    """Behind a density of 1.3 there is a twentieth of the bare easel's light: the same doses."""
    _, words = split_sheet
    by_light = ("--highlight", "0.200475=0.12", "--shadow", "2.00475=1.7", "--json")
    by_negative = ("--highlight", "D1.3=0.12", "--shadow", "d0.3=1.7", "--bare", "4", "--json")
    code, out, err = dryside("paper", "solve", *words, *by_negative)
    assert (code, err) == (0, "")
    one, other = json.loads(out), json.loads(dryside("paper", "solve", *words, *by_light)[1])
    assert one["soft_dose_s"] == pytest.approx(other["soft_dose_s"], abs=0.002)
    assert one["hard_dose_s"] == pytest.approx(other["hard_dose_s"], abs=0.002)
    code, _, err = dryside("paper", "solve", *words, *by_negative[:4])
    assert (code, err.count("\n"), "--bare" in err) == (2, 1, True)


def test_a_range_that_no_ratio_holds_is_one_sentence(
    dryside: Callable[..., Told], split_sheet: tuple[Sheets, list[str]]
) -> None:
    """A picture too long for soft light ends with exit code 2 and names a flash."""
    _, words = split_sheet
    code, out, err = dryside(
        "paper", "solve", *words, "--highlight", "0.2=0.12", "--shadow", "20=1.7", "--json"
    )
    assert (code, out) == (2, "")
    assert "no ratio of soft to hard holds both tones" in err
    assert "flash" in err
    assert err.count("\n") == 1


def test_ratios_and_filters_are_tabled(
    dryside: Callable[..., Told], split_sheet: tuple[Sheets, list[str]]
) -> None:
    """Ranges fall with the hard share; a wanted range gives its ratio; filters have factors."""
    _, words = split_sheet
    code, out, err = dryside("paper", "split", *words, "--json")
    assert code == 0, err
    ranges = [row["ler"] for row in json.loads(out)]
    assert ranges == sorted(ranges, reverse=True)
    code, out, err = dryside("paper", "split", *words, "--range", "R90", "--json")
    assert code == 0, err
    assert json.loads(out)[0]["iso_range"] == 90
    code, out, err = dryside("paper", "filters", f"00={words[1]}", f"5={words[3]}", "--json")
    assert code == 0, err
    told = json.loads(out)
    assert [each["filter"] for each in told["filters"]] == ["00", "5"]
    assert told["filters"][0]["factor"] == 1.0
    code, out, err = dryside(
        "paper", "solve", "--curve", f"00={words[1]}", "--curve", f"5={words[3]}", *TONES, "--json"
    )
    assert code == 0, err
    assert set(json.loads(out)) == {"filter", "dose_s", "iso_range", "predicted"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("solve", *TONES), "--soft: it is missing"),
        (("solve", "--highlight", "0.2", "--shadow", "2=1.7"), "--highlight: '0.2' is no tone"),
        (("solve", "--highlight", "0=0.1", "--shadow", "2=1.7"), "no light"),
        (("solve", "--highlight", "D9=0.1", "--shadow", "2=1.7"), "no density of a negative"),
        (("solve", *TONES, "--also", "much"), "--also: 'much' is no number"),
        (("solve", *TONES, "--curve", "="), "--curve: '=' names no file"),
        (("split", "--soft", "a", "--hard", "b", "--range", "9"), "--range: '9' is no ISO range"),
        (("fit", "a.csv", "--between", "0.2-2.9"), "density 2.90 is not between"),
        (("fit", "a.csv", "--between", "x"), "--between: 'x' is no pair"),
    ],
)
def test_what_cannot_be_read_is_one_sentence(
    dryside: Callable[..., Told], sheet: Path, words: tuple[str, ...], said: str
) -> None:
    """Each wrong word is told with its option, and exit code 2."""
    words = tuple(str(sheet) if word == "a.csv" else word for word in words)
    code, out, err = dryside("paper", *words)
    assert (code, out) == (2, "")
    assert said in err
    assert err.count("\n") == 1


def test_reciprocity_is_told(dryside: Callable[..., Told], tmp_path: Path) -> None:
    """Two rows of equal doses that come out alike tell no failure; dimmer ones paler tell one."""
    at = np.linspace(0.2, 1.7, 9)
    for lost, said in ((0.0, "no failure is seen"), (0.1, "40 s worked out become")):
        rows = [
            f"{lux},{10.0**x / lux:.4f},{float(Paper().density(10.0 ** (x - loss))):.3f}\n"
            for lux, loss in ((0.5, 0.0), (0.05, lost))
            for x in at
        ]
        (tmp_path / "rows.csv").write_text("lux,dose_s,density\n" + "".join(rows))
        code, out, err = dryside("paper", "reciprocity", "rows.csv")
        assert code == 0, err
        assert said in out
        code, out, err = dryside("paper", "reciprocity", "rows.csv", "--json")
        assert (code, set(json.loads(out))) == (
            0,
            {"exponent", "error", "residual_rms", "outliers"},
        )
