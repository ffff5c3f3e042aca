"""Copy six, a year later: another box of paper, calibrated, and a larger sheet, right at once."""

from __future__ import annotations

import json
from collections.abc import Callable

import pytest

from tests.ui.command import Told

OLD = ("--set", "simulator.paper.kind=variable")
NEW = (*OLD, "--set", "simulator.paper.speed_p=140", "--set", "simulator.paper.part_gamma=3.2")
SCENE = ("--set", "simulator.negative=scene", "--set", "simulator.easel_magnification=3")
SMALL, LARGE = ("--set", "simulator.magnification=3"), ("--set", "simulator.magnification=4.5")
# of one tone each in this picture; the others are of several, and their median moves with the size
EVEN = ("sky", "cloud", "tower", "rock", "house", "roof", "door")


def tones(dryside: Callable[..., Told], mark: str) -> dict[str, float]:
    """Give the densities that the imagined paper has got."""
    told = json.loads(dryside("book", "print", "show", mark, "--json")[1])
    return {one["region"]: one["density"] for one in told["tones"]}


def split_print(dryside: Callable[..., Told]) -> None:
    """The demonstration: soft and hard, burns and dodges."""
    assert dryside("score", "new", "quay", "--demo")[0] == 0
    box = ("--set", "paper.name=pearl", "--set", "paper.batch=12", "--set", "setup.magnification=3")
    assert dryside("score", "edit", "quay", *box)[0] == 0


def plain_print(dryside: Callable[..., Told]) -> None:
    """One filter, with a burn and a dodge."""
    box = ("--paper", "pearl", "--batch", "12", "--aperture", "8", "--size", "254x203.2")
    assert dryside("score", "new", "quay", "--base", "20", "--pass", "main:2:+0", *box)[0] == 0
    for change in (
        ("--sketch-of", "demo", "--set", "setup.magnification=3"),
        ("--burn", "sky=+1/3@main", "--dodge", "door=1/3@main"),
    ):
        assert dryside("score", "edit", "quay", *change)[0] == 0


@pytest.mark.parametrize(
    ("sheets", "print_", "spoil_at_s"),
    [
        pytest.param(("--filter", "2"), plain_print, 30, id="one filter"),
        pytest.param(
            ("--split", "00,5", "--hard-base", "2"),
            split_print,
            60,
            id="split",
            marks=pytest.mark.long,
        ),
    ],
)
def test_an_edition_with_a_spoiled_sheet_and_a_copy_a_year_later(
    dryside: Callable[..., Told],
    sheets: tuple[str, ...],
    print_: Callable[[Callable[..., Told]], None],
    spoil_at_s: int,
) -> None:
    """Two good sheets and a spoiled one; then, on another box and size, every region is there."""
    measured = (*sheets, "--aperture", "16", "--lux", "1", "--keep")
    assert dryside("paper", "new", "pearl", "--box", "12")[0] == 0
    assert dryside("paper", "sheet", "pearl/12", *measured, *OLD)[0] == 0
    print_(dryside)
    assert dryside("book", "edition", "new", "Harbour", "--copies", "3")[0] == 0
    # the second sheet has its first exposures when the foot stays down, and is called spoiled
    spoil = (
        *("--set", f"simulator.hands.choose_at=[{spoil_at_s}]"),
        *("--set", 'simulator.hands.take=["spoiled"]'),
    )
    run = ("book", "edition", "run", "harbour", "--copies", "2", "--score", "quay")
    code, out, _ = dryside(*run, *OLD, *SCENE, *SMALL, *spoil)
    assert code == 0
    fates = dict(line.split(": ") for line in out.splitlines() if line.startswith("K"))
    assert list(fates.values()) == ["done", "spoiled", "done"]
    first, spoiled, last = fates
    assert dryside("book", "edition", "sign", "harbour", last, "--as", "1/3")[0] == 0
    code, _, err = dryside("book", "edition", "sign", "harbour", spoiled)
    assert (code, err.count("\n")) == (2, 1)

    assert dryside("paper", "new", "pearl", "--box", "31")[0] == 0
    assert dryside("paper", "sheet", "pearl/31", *measured, *NEW)[0] == 0
    changed = ("--batch", "31", "--to-magnification", "4.5", "--size", "12x15in", "--to", "later")
    code, out, _ = dryside("book", "again", first, *changed)
    assert code == 0
    assert "laid as the old one: 381 x 304.8 mm" in out
    assert "by the curves of pearl/12 and pearl/31:" in out
    code, out, _ = dryside(
        *("book", "edition", "run", "harbour", "--copies", "1", "--score", "later"),
        *(*NEW, *SCENE, *LARGE, "--json"),
    )
    assert code == 0
    groups = json.loads(out)["got"]["alike"]
    assert [(one["batch"], len(one["marks"])) for one in groups] == [("12", 2), ("31", 1)]
    mark = groups[1]["marks"][0]
    before, after = tones(dryside, first), tones(dryside, mark)
    for name in EVEN:
        assert after[name] == pytest.approx(before[name], abs=0.05), name
    told = json.loads(dryside("book", "compare", first, mark, "--json")[1])["wanted"]
    assert {"paper batch", "magnification", "paper size"} <= {one["what"] for one in told}
