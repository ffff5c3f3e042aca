"""Batches on the command line: from the holding bath to the line, and what is refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from drivers.places import config_folder
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


def test_a_short_step_is_given_its_rest_or_insisted_on_or_taken_back(
    dryside: Callable[..., Told],
) -> None:
    """Each in the words that the refusal before it names; undo is of what was written last."""
    dryside("trays", "batch", "new", "K7")
    did = ("trays", "batch", "did", "1")
    assert dryside(*did)[0] == 0
    assert "give it the rest" in dryside(*did, "--time", "60s")[1]
    code, out, err = dryside(*did)
    assert (code, out) == (2, "")
    assert err.startswith("clearing bath had 1 min of at least 2 min before wash; try ")
    assert dryside(*did, "--anyway")[0] == 0
    assert dryside("trays", "batch", "undo", "1")[1].startswith("taken back: wash, 20 min, of ")
    assert dryside(*did, "clearing bath")[0] == 0
    code, _, err = dryside(*did, "clearing bath")
    assert (code, "clearing bath had its usual time" in err) == (2, True)
    result = json.loads(dryside("trays", "batch", "card", "1", "--json")[1])
    assert [(step["name"], step["actual_s"]) for step in result["done"]] == [
        ("rinse", 300.0),
        ("clearing bath", 300.0),
    ]
    for due in ("wash", "clearing bath", "rinse"):
        assert json.loads(dryside("trays", "batch", "undo", "1", "--json")[1])["next"] == due
    assert "nothing is written of batch 1" in dryside("trays", "batch", "undo", "1")[2]


def test_a_way_of_one_s_own_is_known_by_its_name(dryside: Callable[..., Told]) -> None:
    """It lies in the folder ways beside the rig file, and is listed as yours."""
    text = dryside("trays", "batch", "example", "wash")[1].replace('"wash"\nabout', '"long"\nabout')
    (config_folder() / "ways").mkdir()
    (config_folder() / "ways" / "long.toml").write_text(text)
    assert "(your own)" in dryside("trays", "batch", "ways")[1]
    assert dryside("trays", "batch", "new", "K7", "--way", "long")[0] == 0


def test_a_strip_is_not_toned_by_mistake(dryside: Callable[..., Told]) -> None:
    """One sentence, and the way to insist."""
    mark = json.loads(dryside("strip", "--json")[1])["mark"]
    new = ("trays", "batch", "new", mark, "--way", "selenium")
    code, _, err = dryside(*new)
    assert (code, f"{mark} is a sheet of a strip, no print" in err) == (2, True)
    assert dryside(*new, "--anyway")[0] == 0


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
