"""The book on the command line: an edition from the first print to the numbers, and one again."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

from tests.ui.command import Told


def test_an_edition_from_a_score_to_its_numbers(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """Printed sheet by sheet, found, compared, signed in any order, and taken up again."""
    assert dryside("score", "new", "quay", "--demo")[0] == 0
    assert dryside("book", "edition", "new", "Quay", "--copies", "3", "--proofs", "1")[0] == 0
    code, _, err = dryside("book", "edition", "run", "quay", "--copies", "2")
    assert code == 2
    assert "has no print yet" in err
    run = ("book", "edition", "run", "quay", "--copies", "2", "--score", "quay", "--json")
    code, out, _ = dryside(*run)
    assert code == 0
    got = json.loads(out)["got"]
    assert [copy["mark"] for copy in got["copies"]] == ["K1", "K2"]
    assert 0 <= got["alike"][0]["spread_stops"] < 0.01
    assert dryside("book", "edition", "sign", "quay", "K2", "--as", "1/3")[0] == 0
    code, _, err = dryside("book", "edition", "sign", "quay", "K1", "--as", "1/3")
    assert code == 2
    assert "1/3 is K2 already" in err
    assert dryside("book", "edition", "sign", "quay", "K1", "--as", "AP")[0] == 0
    assert "AP 1/1" in dryside("book", "edition", "show", "Quay")[1]
    assert "3 copies" in dryside("book", "edition", "show")[1]

    assert dryside("score", "edit", "quay", "--set", "base_s=32")[0] == 0
    one_more = ("book", "edition", "run", "quay", "--score", "quay")
    assert "K3: done" in dryside(*one_more)[1]
    code, out, _ = dryside("book", "compare", "K1", "K3", "--json")
    assert code == 0
    stops = {one["what"]: one["stops"] for one in json.loads(out)["wanted"]}
    assert abs(stops["soft"] - 1) < 0.001
    assert "soft: " in dryside("book", "compare", "K1", "K3")[1]
    assert dryside("book", "compare", "K1", "K1")[0] == 2

    told = ("--from-aperture", "8", "--to-aperture", "11", "--to", "dark")
    code, out, _ = dryside("book", "again", "K3", *told)
    assert code == 0
    assert "soft: 29.4 s to 58.9 s" in out
    assert dryside("score", "show", "dark")[0] == 0
    assert dryside("book", "again", "K3", *told)[0] == 2
    page = json.loads(dryside("book", "again", "K3", "--json")[1])
    assert page["score"]["base_s"] == 32


def test_what_is_found_out_later_is_kept_with_a_picture(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """Rated, remarked, sent away, found by it, and a copy of the picture kept."""
    assert dryside("score", "new", "quay", "--demo")[0] == 0
    assert dryside("score", "run", "quay", "--picture", "print.png")[0] == 0
    assert dryside("book", "print", "rate", "K1", "5")[0] == 0
    assert dryside("book", "print", "remark", "K1", "the cloud holds", "--dry", "flat")[0] == 0
    assert dryside("book", "print", "went", "K1", "the framer")[0] == 0
    code, out, _ = dryside("book", "print", "attach", "K1", "--picture", "print.png", "--json")
    assert code == 0
    (picture,) = json.loads(out)["pictures"]
    kept = tmp_path / "home" / "pictures" / picture["file"]
    assert kept.read_bytes() == (tmp_path / "print.png").read_bytes()
    (found,) = json.loads(dryside("book", "find", "framer", "--rated", "5", "--json")[1])
    assert found["mark"] == "K1"
    page = json.loads(dryside("book", "print", "show", "K1", "--json")[1])
    assert page["print"]["dry_note"] == "flat"
    assert page["setup"]["aperture"] == "8"
    assert set(page["room"]["safe"].values()) == {"not proved"}
    shown = dryside("book", "print", "show", "K1")[1]
    assert "rated 5 of 5" in shown
    assert "the run that it was made in: dryside book show K1" in shown
    # the simulator's paper told its densities by itself; what is read off the print replaces one
    assert "densities, imagined paper" in shown
    assert "sky: 0.35, densitometer" in dryside("book", "print", "tones", "K1", "sky=0.35")[1]
    assert {"region": "sky", "density": 0.35, "how": "densitometer"} in json.loads(
        dryside("book", "print", "show", "K1", "--json")[1]
    )["tones"]
    code, _, err = dryside("book", "print", "tones", "K1", "sky")
    assert code == 2
    assert "sky=0.30" in err
    run = dryside("book", "show", "K1")[1]
    assert "print K1: rated 5 of 5, went to the framer" in run
    assert "all of one print: dryside book print show K1" in run
    name = ("book", "negative", "add", "T-7, frame 3", "--film", "ISO 100", "--tag", "sea")
    assert dryside(*name)[0] == 0
    assert "K1" in dryside("book", "negative", "show", "t-7, frame 3")[1]
    assert "T-7" in dryside("book", "negative", "list", "--tag", "sea")[1]
    assert "K1" in dryside("book", "find", "--burn", "cloud", "--over", "1/3", "--tag", "sea")[1]


def test_slips_are_one_sentence_with_what_would_be_right(dryside: Callable[..., Told]) -> None:
    """Nothing of it is a traceback."""
    for words in (
        ("print", "rate", "K1", "5"),
        ("print", "remark", "K1"),
        ("print", "attach", "K1"),
        ("print", "show", "#99"),
        ("find", "--since", "yesterday"),
        ("find", "--over", "1"),
        ("negative", "show", "none"),
        ("negative", "add", " "),
        ("edition", "show", "none"),
        ("edition", "new", "none", "--copies", "0"),
        ("compare", "K1", "K2"),
        ("again", "K1"),
    ):
        code, out, err = dryside("book", *words)
        assert (code, out) == (2, ""), words
        assert len(err.strip().splitlines()) == 1, words
        assert "right would be" in err, words


def test_exposing_goes_on_with_a_damaged_book(dryside: Callable[..., Told], tmp_path: Path) -> None:
    """Noise in the middle of the file: who looks is told, who exposes goes on, all is kept."""
    assert dryside("strip", "--base", "8")[0] == 0
    book = tmp_path / "home" / "book.sqlite"
    whole = book.read_bytes()
    middle, noise = len(whole) // 2, bytes(range(7, 207)) * 200
    book.write_bytes(whole[:4096] + noise[:4096] + whole[8192:middle] + noise + whole[middle:])
    damaged = book.read_bytes()
    code, _, err = dryside("book", "list")
    assert code == 2
    assert "set aside" in err
    assert book.read_bytes() == damaged
    code, _, err = dryside("strip", "--base", "8")
    assert code == 0, err
    assert "was damaged; it is kept as book.damaged-" in err
    [kept] = book.parent.glob("book.damaged-*.sqlite")
    assert kept.read_bytes() == damaged
    code, out, err = dryside("book", "list")
    assert (code, err) == (0, "")
    assert "K1" in out


def test_every_good_sheet_of_a_run_leaves_its_picture(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """On the simulator each print of an edition has what its paper became; a spoiled one none."""
    passes = ("--pass", "soft:00:+0", "--pass", "hard:5:+0")
    assert dryside("score", "new", "bay", "--base", "5", *passes)[0] == 0
    assert dryside("book", "edition", "new", "Bay", "--copies", "3")[0] == 0
    spoil = ("simulator.hands.choose_at=[12]", 'simulator.hands.take=["spoiled"]')
    run = ("book", "edition", "run", "Bay", "--copies", "2", "--score", "bay")
    code, out, err = dryside(*run, *(word for one in spoil for word in ("--set", one)))
    assert code == 0, err
    fates = dict(line.split(": ") for line in out.splitlines() if line.startswith("K"))
    assert sorted(fates.values()) == ["done", "done", "spoiled"]
    drawn = {path.name.split("-")[0] for path in (tmp_path / "home" / "pictures").glob("*.png")}
    assert drawn == {mark for mark, fate in fates.items() if fate == "done"}
    code, _, err = dryside("book", "edition", "run", "Bay")
    assert code == 0
    assert "from the score of " in err
