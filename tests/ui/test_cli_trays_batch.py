"""Batches on the command line: from the holding bath to the line, and what is refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.ui.command import Told


def test_a_batch_goes_from_the_holding_bath_to_the_line(dryside: Callable[..., Told]) -> None:
    """Under-fixed, fixed again, cleared, washed, toned, washed, tested."""
    assert dryside("trays", "batch", "fix", "K8", "--time", "60s")[0] == 0
    code, out, err = dryside("trays", "batch", "new", "K7", "k8", "--way", "selenium")
    assert (code, out.splitlines()[-1][:19]) == (0, "fix again first: K8")
    assert "no sheet K7, K8" in err
    assert dryside("trays", "batch", "fix", "K8")[0] == 0
    for _ in range(6):
        assert dryside("trays", "batch", "did", "1")[0] == 0
    code, out, err = dryside("trays", "batch", "test", "1", "hypo", "--seen", "none")
    assert (code, out) == (0, "no fixer is seen: washed\n")
    result = json.loads(dryside("trays", "batch", "card", "1", "--json")[1])
    assert (result["next"], result["under_fixed"]) == (None, [])
    assert [print_["mark"] for print_ in result["prints"]] == ["K7", "K8"]
    steps = json.loads(dryside("trays", "batch", "sheet", "K8", "--json")[1])
    assert [s["name"] for each in steps for s in each["steps"]][-3:-1] == [
        "second clearing bath",
        "last wash",
    ]


def test_a_sheet_s_way_through_the_trays_is_kept_step_by_step(dryside: Callable[..., Told]) -> None:
    """What the clock called on the simulator is what the book shows of the sheet."""
    code, out, _ = dryside("strip", "--json", "--set", "trays.process=fibre")
    assert code == 0
    mark = json.loads(out)["mark"]
    (way,) = json.loads(dryside("trays", "batch", "sheet", mark, "--json")[1])
    assert [step["name"] for step in way["steps"]] == ["developer", "stop", "fixer"]
    assert way["record_id"] == json.loads(out)["record_id"]
    assert not way["under_fixed"]


def test_the_time_of_a_step_is_called_and_a_try_out_keeps_nothing(
    dryside: Callable[..., Told],
) -> None:
    """Begin, one minute left, ten, lift."""
    dryside("trays", "batch", "new", "K7")
    code, out, err = dryside("trays", "batch", "time", "1", "--faster", "10000")
    assert (code, [line.split("  ")[-1] for line in out.splitlines()]) == (
        0,
        ["rinse, 5 min", "one minute left", "ten", "rinse done, lift and drain"],
    )
    assert "nothing is written down" in err
    assert json.loads(dryside("trays", "batch", "list", "--json")[1])[0]["next"] == "rinse"


def test_an_example_is_a_file_that_passes_its_check(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """It is where a way of one's own begins."""
    (tmp_path / "mine.toml").write_text(
        dryside("trays", "batch", "example", "selenium")[1], "utf-8"
    )
    code, out, _ = dryside("trays", "batch", "check", "mine.toml")
    assert (code, out.splitlines()[0][:16]) == (0, "selenium is well")
    assert dryside("trays", "batch", "new", "K7", "--way", "mine.toml")[0] == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("card", "7"),
            "batch: there is no batch 7; right would be dryside trays batch new MARKS first.",
        ),
        (("new", "K/7"), 'marks: "K/7" is no mark; right would be letters and digits, such as K7.'),
        (("fix", "K7", "--time", "soon"), "--time: 'soon' is not a time"),
        (
            ("new", "K7", "--way", "gold"),
            '--way: there is no way "gold"; right would be a file, or',
        ),
        (("check", "none.toml"), "none.toml: there is no such file"),
        (("example", "gold"), '--way: there is no way "gold"'),
    ],
)
def test_bad_input_is_one_sentence_and_exit_code_2(
    dryside: Callable[..., Told], words: tuple[str, ...], said: str
) -> None:
    """No traceback; what, where, what would be right."""
    code, out, err = dryside("trays", "batch", *words)
    assert (code, out) == (2, "")
    assert err.startswith(said)
    assert err.count("\n") == 1
