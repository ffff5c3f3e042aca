"""Scores, crosses and dry-down on the command line: what they promise, and what they refuse."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import pytest

from controller.events import Intended, Made, RunBegun
from controller.plan import Expose, Go, Plan
from controller.score.extra import Extra
from controller.score.file import load_score
from tests.ui.command import Told
from ui.unit import open_book


def test_from_an_unknown_negative_to_a_split_contrast_print(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """Two strips, two picks, a sketch, a burn strip and its pick, dry-down, and the print."""
    at = ("--mode", "same-spot", "--place")
    assert dryside("strip", "--filter", "00", *at, "cloud")[0] == 0
    assert dryside("pick", "E", "--into", "quay")[0] == 0
    hard = ("--filter", "5", "--base", "4", "--over", "00=20s")
    assert dryside("strip", *hard, *at, "door")[0] == 0
    assert dryside("pick", "D-E", "--into", "quay")[0] == 0
    assert dryside("score", "edit", "quay", "--sketch-of", "demo")[0] == 0
    assert dryside("score", "strip", "quay", "burn", "sky", "--in", "soft")[0] == 0
    assert dryside("pick", "C", "--into", "quay")[0] == 0
    assert dryside("score", "edit", "quay", "--set", "paper.dry_down=8%")[0] == 0
    code, out, err = dryside("score", "run", "quay", "--json", "--picture", "print.png")
    assert (code, err) == (0, "")
    result = json.loads(out)
    assert [(p["label"], p["filter"]) for p in result["passes"]] == [
        ("soft", "00"),
        ("hard", "5"),
        ("burn sky", "00"),
    ]
    sky = next(region for region in result["regions"] if region["name"] == "sky")
    assert sky["planned_dose_s"]["00"] == pytest.approx(20 * 2 ** (2 / 3) * 0.92, rel=1e-4)
    for region in result["regions"]:
        for light, dose_s in region["planned_dose_s"].items():
            got_s = region["delivered_dose_s"][light]
            assert abs(math.log2(got_s / dose_s)) < 0.02, region
        assert 0 < region["density"] < 2.2
    assert result["record_id"]
    assert all(p["on_times_s"] and p["planned_dose_s"] > 0 for p in result["passes"])
    assert (tmp_path / "print.png").read_bytes().startswith(b"\x89PNG")


def test_pauses_that_are_asked_for_happen(dryside: Callable[..., Told]) -> None:
    """Two of them in two passes: each exposure in two pulses, and the same dose."""
    dryside("score", "new", "a", "--pass", "soft:00:8s", "--pass", "hard:5:6s")
    words = ("score", "run", "a", "--json", "--pause-at", "3", "--pause-at", "10")
    code, out, _ = dryside(*words)
    assert code == 0
    result = json.loads(out)
    assert [len(p["on_times_s"]) for p in result["passes"]] == [2, 2]
    [region] = result["regions"]
    assert region["delivered_dose_s"] == pytest.approx({"00": 8, "5": 6}, rel=0.01)


def test_the_json_of_a_cross_holds_its_cells(dryside: Callable[..., Told]) -> None:
    """Row, column, both doses as planned and as delivered, and a density; picking takes both."""
    words = ("cross", "--soft", "00=8s", "--hard", "5=4s", "--columns", "3", "--rows", "2")
    code, out, _ = dryside(*words, "--json")
    assert code == 0
    cells = json.loads(out)["cells"]
    assert [(c["row"], c["column"]) for c in cells] == [
        (row, column) for row in "AB" for column in (1, 2, 3)
    ]
    for cell in cells:
        assert cell["delivered_soft_dose_s"] == pytest.approx(cell["soft_dose_s"], rel=0.007)
        assert cell["delivered_hard_dose_s"] == pytest.approx(cell["hard_dose_s"], rel=0.007)
        assert cell["density"] > 0
    code, out, _ = dryside("pick", "B2", "--into", "x", "--json")
    assert code == 0
    assert json.loads(out)["hard_dose_s"] == pytest.approx(4 * 2 ** (1 / 3))
    code, out, _ = dryside("score", "show", "x", "--json")
    doses = [one["dose_s"] for one in json.loads(out)["exposures"]]
    assert doses == pytest.approx([8 * 2 ** (1 / 3), 4 * 2 ** (1 / 3)], rel=1e-4)


def test_converting_tells_factor_stops_and_the_changed_score(dryside: Callable[..., Told]) -> None:
    """From 2x to 4x: 2.78, which is 1.47 stops (trade-facts section 2)."""
    dryside("score", "new", "a", "--base", "12", "--pass", "soft:00:+0", "--pass", "hard:5:-1")
    words = ("score", "convert", "a", "--from-magnification", "2", "--to-magnification", "4")
    code, out, _ = dryside(*words, "--json", "--to", "b")
    assert code == 0
    result = json.loads(out)
    assert result["factor"] == pytest.approx(2.7778, abs=1e-4)
    assert result["stops"] == pytest.approx(1.4739, abs=1e-4)
    doses = [one["dose_s"] for one in result["score"]["exposures"]]
    assert doses == pytest.approx([33.33, 16.67], abs=0.01)
    code, out, _ = dryside("score", "show", "b", "--json")
    assert json.loads(out)["came_from"] == result["score"]["came_from"]


def test_a_print_of_the_book_is_made_again(dryside: Callable[..., Told]) -> None:
    """As it was, with the lamp's change said first; or converted, and kept under a name."""
    dryside("score", "new", "a", "--pass", "soft:00:8s")
    _, out, _ = dryside("score", "run", "a", "--json")
    mark = json.loads(out)["mark"]
    changed = ("--set", "lamp.cold_lag_s=0.05")
    code, out, err = dryside("score", "again", mark, *changed, "--json")
    assert code == 0
    assert "cold lag of the lamp was 0.061 s, is 0.05 s" in err
    assert json.loads(out)["passes"][0]["planned_dose_s"] == 8
    code, out, _ = dryside("score", "again", mark, "--stops", "+1/2", "--to", "more", "--json")
    assert code == 0
    assert json.loads(out)["passes"][0]["planned_dose_s"] == pytest.approx(11.3137)
    assert dryside("score", "show", "more")[0] == 0


def test_an_extra_goes_into_the_record_of_its_print(dryside: Callable[..., Told]) -> None:
    """Two seconds more for the sky, under the print's own mark."""
    dryside("score", "new", "a", "--demo")
    _, out, _ = dryside("score", "run", "a", "--json")
    mark = json.loads(out)["mark"]
    assert dryside("score", "add", "2s", "--region", "sky")[0] == 0
    _, out, _ = dryside("book", "show", mark, "--json")
    page = json.loads(out)
    assert [e["mark"] for e in page["exposures"]] == [mark] * 6
    assert page["exposures"][-1]["label"].startswith("extra on sky")
    assert page["exposures"][-1]["delivered_dose_s"] == pytest.approx(2.0, abs=0.02)


def test_an_extra_is_told_and_made_again(dryside: Callable[..., Told]) -> None:
    """In the passes and the regions, on a page of the book, and in the print made again."""
    dryside("score", "new", "a", "--demo")
    _, out, _ = dryside("score", "run", "a", "--json")
    mark = json.loads(out)["mark"]
    extra = ("2s", "--region", "sky", "--filter", "5", "--note", "more cloud")
    code, out, _ = dryside("score", "add", *extra, "--json")
    assert code == 0
    result = json.loads(out)
    last = result["passes"][-1]
    assert (last["label"], last["filter"], last["note"]) == ("extra on sky (6)", "5", "more cloud")
    for region in result["regions"]:
        for light, dose_s in region["planned_dose_s"].items():
            got_s = region["delivered_dose_s"][light]
            assert abs(math.log2(got_s / dose_s)) < 0.02, region
    sky = next(region for region in result["regions"] if region["name"] == "sky")
    _, out, _ = dryside("book", "show", mark)
    for said in (
        f"{mark}: extra on sky, 2.0 s, filter 5: more cloud",
        f"{mark}  burn sky and cloud  00       3.83 s   3.83 s",
        "paper variable contrast, pearl, batch demo, fibre",
        "f/8",
        "dry-down 8%",
    ):
        assert said in out
    code, out, err = dryside("score", "again", mark, "--json")
    assert (code, err) == (0, "with its extra on sky, 2.0 s, filter 5: more cloud\n")
    again = next(one for one in json.loads(out)["regions"] if one["name"] == "sky")
    assert again["planned_dose_s"] == pytest.approx(sky["planned_dose_s"], rel=1e-4)
    code, out, err = dryside("score", "again", mark, "--no-extras", "--plan")
    assert (code, err) == (0, "without its extra on sky, 2.0 s, filter 5: more cloud\n")
    assert "expose burn sky:" not in out


def test_an_extra_that_was_cut_off_gets_its_rest(dryside: Callable[..., Told]) -> None:
    """The print stays done; nothing else is added to the sheet before the rest is given."""
    dryside("score", "new", "a", "--pass", "soft:00:8s")
    _, out, _ = dryside("score", "run", "a", "--json")
    result = json.loads(out)
    mark, record_id = result["mark"], result["record_id"]
    plan = Plan("print", "extra, 2.0 s", (Go("extra"), Expose("extra (2)", 2.0, filter="00")))
    extra = Extra(2.0).to_json()
    told = ("{}", plan.to_json(), result["lamp"], "imagined, tungsten", True, mark, extra)
    with open_book() as book:
        book.write(RunBegun(record_id, "print", plan.title, *told))
        book.write(Intended(record_id, 2, mark, "extra (2)", 2.0, 1, 2**50, filter="00"))
        book.write(Made(record_id, 2, (), 0.5, False))
    _, out, _ = dryside("book", "list")
    assert out.split()[3] == "interrupted"
    code, _, err = dryside("score", "add", "1s")
    assert code == 2
    assert f"`dryside book rest {mark}` first" in err
    code, out, _ = dryside("book", "rest", mark, "--not-moved")
    assert code == 0
    assert f"{mark}: extra (2) 0.5 of 2 s" in out
    _, out, _ = dryside("book", "show", mark, "--json")
    page = json.loads(out)
    assert page["record"]["fate"] == "done"
    assert [sheet["fate"] for sheet in page["sheets"]] == ["done"]
    assert [(run["kind"], run["fate"]) for run in page["runs"]] == [
        ("first", "done"),
        ("extra", "done"),
    ]
    given_s = [e["delivered_dose_s"] for e in page["exposures"] if e["run"] == 2]
    assert given_s == pytest.approx([0.5, 1.5], abs=0.01)
    _, out, _ = dryside("book", "list")
    assert out.split()[3] == "done"


def test_a_list_of_the_book_fits_the_terminal(
    dryside: Callable[..., Told], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A title is cut where the terminal ends; a sheet's mark never is."""
    dryside("score", "new", "a", "--demo")
    dryside("score", "run", "a")
    monkeypatch.setenv("COLUMNS", "60")
    _, out, _ = dryside("book", "list")
    assert len(out.rstrip("\n")) == 60
    assert out.endswith("…\n")
    assert out.split()[2] == "K1"


def test_an_extra_is_planned_and_kept_off_other_places(dryside: Callable[..., Told]) -> None:
    """--plan exposes nothing; on a trial piece of the door there is no sky; the edit is told."""
    dryside("score", "new", "demo", "--demo")
    dryside("score", "trial", "demo", "door")
    code, _, err = dryside("score", "add", "2s", "--region", "sky")
    assert code == 2
    assert "trial piece on door only" in err
    before = dryside("book", "list", "--json")[1]
    code, out, _ = dryside("score", "add", "2s", "--region", "door", "--plan")
    assert code == 0
    assert "extra on door, 2.0 s" in out
    assert dryside("book", "list", "--json")[1] == before
    code, out, _ = dryside("score", "add", "2s", "--region", "door")
    assert code == 0
    assert "dryside score edit NAME --burn door=2s" in out


@pytest.mark.parametrize("name", ["../evil/quay", "bad/name"])
def test_no_folder_is_made_for_a_score(
    name: str, dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """A path into nowhere is refused, by whichever command writes it."""
    dryside("strip")
    for words in (("score", "new", name), ("pick", "C", "--into", name)):
        code, _, err = dryside(*words)
        assert code == 2
        assert "there is no such folder" in err
    assert not (tmp_path / name).parent.exists()


def test_a_score_without_a_suffix_gets_one_and_json_is_listed(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """Beside the folder of scores too; a JSON score in the folder has its bare name."""
    (tmp_path / "here").mkdir()
    dryside("score", "new", "here/quay")
    assert (tmp_path / "here" / "quay.toml").exists()
    dryside("score", "show")  # makes the folder
    (folder,) = tmp_path.rglob("scores")
    dryside("score", "new", str(folder / "old.json"), "--base", "7")
    assert "old" in dryside("score", "show")[1].split()
    assert "base 7.0 s" in dryside("score", "show", "old")[1]


def test_a_paper_remembers_its_dry_down(dryside: Callable[..., Told]) -> None:
    """Seven pieces, the first kept wet; what matched is taken by scores that begin on the paper."""
    dryside("score", "new", "a", "--pass", "soft:00:16s", "--paper", "Pearl")
    code, out, _ = dryside("drydown", "test", "a", "--size", "60x25", "--json")
    assert code == 0
    pieces = json.loads(out)["pieces"]
    assert [piece["percent"] for piece in pieces] == [0, 4, 6, 8, 10, 12, 14]
    assert all(a["density"] >= b["density"] for a, b in pairwise(pieces))
    mark = pieces[3]["mark"]
    assert dryside("drydown", "set", "30", "--paper", "pearl", "--record", mark)[0] == 2
    assert dryside("drydown", "set", "9", "--paper", "pearl", "--record", mark)[0] == 0
    dryside("score", "new", "b", "--base", "10", "--paper", "PEARL")
    _, out, _ = dryside("score", "show", "b", "--json")
    assert json.loads(out)["exposures"][0]["dose_s"] == pytest.approx(9.1)


def test_another_paper_in_a_score_brings_its_dry_down(dryside: Callable[..., Told]) -> None:
    """``score edit`` asks the book as ``score new`` does; what is written beside it counts."""
    dryside("drydown", "set", "9", "--paper", "pearl")
    dryside("score", "new", "a", "--base", "10")
    _, _, err = dryside("score", "edit", "a", "--set", "paper.name=Pearl")
    assert "dry-down 9%" in err
    _, out, _ = dryside("score", "show", "a", "--json")
    assert json.loads(out)["exposures"][0]["dose_s"] == pytest.approx(9.1)
    dryside("score", "new", "b", "--base", "10")
    dryside("score", "edit", "b", "--set", "paper.name=pearl", "--set", "paper.dry_down=5%")
    _, out, _ = dryside("score", "show", "b", "--json")
    assert json.loads(out)["exposures"][0]["dose_s"] == pytest.approx(9.5)


def test_a_pick_never_takes_passes_without_a_word(dryside: Callable[..., Told]) -> None:
    """Another light than the score's is refused; with --replace it is done, and told."""
    dryside("score", "new", "a", "--base", "8", "--pass", "soft:00:8s", "--pass", "hard:5:-1/3")
    before = dryside("score", "show", "a", "--json")[1]
    dryside("strip", "--filter", "2")
    code, _, err = dryside("pick", "C", "--into", "a")
    assert code == 2
    assert "soft (filter 00) and hard (filter 5)" in err
    assert "--replace" in err
    assert dryside("score", "show", "a", "--json")[1] == before
    code, out, _ = dryside("pick", "C", "--into", "a", "--replace")
    assert code == 0
    assert "base: 8.0 s -> 12.7 s" in out
    assert "pass hard goes (-1/3, filter 5)" in out
    out = dryside("pick", "D", "--into", "a", "--json")[1]
    assert json.loads(out)["replaced"] == ["base: 12.7 s -> 16.0 s"]


def test_cut_counts_only_what_is_cut(dryside: Callable[..., Told]) -> None:
    """To ask where to cut leaves the count alone, however often."""
    for _ in range(3):
        code, out, _ = dryside("cut")
        assert code == 0
        assert "strips that are counted: 0" in out
    assert "10 counted in; 10 strips now" in dryside("cut", "--count-in")[1]
    assert "strips that are counted: 10" in dryside("cut")[1]


def test_a_contact_strip_tells_the_least_that_is_black(dryside: Callable[..., Told]) -> None:
    """Picking from it settles no print, and says what light and dark frames mean."""
    dryside("strip", "--contact")
    code, out, _ = dryside("pick", "D")
    assert code == 0
    assert "least exposure" in out
    assert dryside("pick", "D", "--into", "a")[0] == 2


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("score", "show", "nothing"), "there is no such score"),
        (("score", "new", "a", "--pass", "soft"), "LABEL:FILTER:DOSE"),
        (("score", "new", "a", "--pass", "soft:00:8"), "8s for seconds"),
        (("score", "edit", "demo"), "--burn"),
        (("score", "edit", "demo", "--burn", "lake=+1@soft"), "'lake'"),
        (("score", "edit", "demo", "--dodge", "door=30s@hard"), "longer than its pass"),
        (("score", "edit", "demo", "--drop", "burn:lake"), "burn:sky"),
        (("score", "trial", "demo", "lake"), "no region 'lake'"),
        (("score", "run", "demo", "--sheets", "0"), "1 to 200"),
        (("score", "run", "demo", "--pause-at", "soon"), "--pause-at"),
        (("score", "convert", "demo"), "--to-magnification"),
        (("score", "convert", "demo", "--filter", "3=4"), "no pass uses filter '3'"),
        (("score", "again", "Z9"), "book list"),
        (("score", "map", "demo", "--to", "map.png"), "PDF"),
        (("cross", "--hard", "5"), "a filter and a time"),
        (("cross", "--hard", "00=4s"), "harder filter"),
        (("drydown", "test", "demo", "--percent", "4,x"), "percentage"),
        (("drydown", "set", "8"), "--paper"),
        (("strip", "--over", "8s"), "--over"),
    ],
)
def test_bad_input_is_one_sentence(
    words: tuple[str, ...], said: str, dryside: Callable[..., Told]
) -> None:
    """What, where, what would be right; exit code 2; no traceback, and the score stays."""
    dryside("score", "new", "demo", "--demo")
    _, before, _ = dryside("score", "show", "demo")
    code, _, err = dryside(*words)
    assert code == 2
    assert len(err.strip().splitlines()) == 1, err
    assert said in err
    assert dryside("score", "show", "demo")[1] == before


def test_a_score_file_of_a_path_is_used_where_it_lies(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """A JSON file works as a TOML file does, and is changed in place."""
    assert dryside("score", "new", "mine.json", "--demo")[0] == 0
    assert dryside("score", "edit", "mine.json", "--set", "base_s=20")[0] == 0
    assert json.loads((tmp_path / "mine.json").read_text())["base_s"] == 20
    assert load_score(tmp_path / "mine.json").base_s == 20


QUICK_HANDS = (
    "simulator.hands.reaction_s=[0.1, 0.2]",
    "simulator.hands.move_s=[0.1, 0.2]",
    "simulator.hands.sheet_s=[0.2, 0.4]",
    "simulator.hands.filter_s=[0.2, 0.4]",
    "simulator.hands.pause_for_s=[1.2, 1.6]",
    "simulator.hands.handwork_s=[0, 0.01]",
    "foot.lead_in_s=0.6",
)


@pytest.mark.long
@pytest.mark.real
def test_through_the_real_keeper_each_region_has_its_dose(dryside: Callable[..., Told]) -> None:
    """In real time, paused in a dodge and in a burn: every region within 0.02 stop."""
    dryside("score", "new", "a", "--demo")
    shorter = ("--set", "base_s=5", "--set", "paper.dry_down=", "--drop", "burn:cloud")
    assert dryside("score", "edit", "a", *shorter, "--dodge", "rock=1s@hard")[0] == 0
    words = ["score", "run", "a", "--real-time", "--json", "--no-screen"]
    for setting in QUICK_HANDS:
        words += ["--set", setting]
    code, out, err = dryside(*words, "--pause-at", "6", "--pause-at", "11")
    assert code == 0, err
    result = json.loads(out)
    assert result["fate"] == "done"
    assert sum(len(p["on_times_s"]) for p in result["passes"]) == 6
    for region in result["regions"]:
        for light, dose_s in region["planned_dose_s"].items():
            got_s = region["delivered_dose_s"][light]
            assert abs(math.log2(got_s / dose_s)) < 0.02, region
