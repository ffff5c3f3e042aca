"""Boxes of paper on the command line: written down, exposed on, read."""

from __future__ import annotations

import io
import json
import math
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from controller.book.book import Book
from controller.errors import BadInput
from controller.ports import PortFault, Quantity, Reading
from tests.ui.command import Told
from tests.whole.imagined_wedge import TABLET, Scanner, scan_wedge
from ui.commands.paper_read import meter_patches

DIM = ("--aperture", "22", "--patches", "11", "--step", "2/3", "--base", "2")


@pytest.fixture(scope="module")
def empty_book(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A book that was just begun, as bytes: to begin one takes its time."""
    path = tmp_path_factory.mktemp("empty") / "book.sqlite"
    Book.open(path, now=lambda: datetime.now(UTC)).close()
    return path.read_bytes()


@pytest.fixture(autouse=True)
def _begun(tmp_path: Path, empty_book: bytes) -> None:
    home = tmp_path / "home"
    home.mkdir()
    (home / "book.sqlite").write_bytes(empty_book)


def boxed(dryside: Callable[..., Told]) -> None:
    """Write a box down."""
    words = ("--base", "rc", "--box", "12", "--developer", "ours 1+9", "--time", "90s")
    assert dryside("paper", "new", "pearl", *words)[0] == 0


def test_a_box_is_written_down_and_found_by_name_and_box(dryside: Callable[..., Told]) -> None:
    """Of two boxes of one paper the newest is meant, unless the box is named."""
    boxed(dryside)
    assert dryside("paper", "new", "pearl", "--box", "13", "--opened", "2026-11-20")[0] == 0
    code, out, _ = dryside("paper", "list")
    assert code == 0
    assert [line.split(":")[0] for line in out.splitlines()] == ["pearl/13", "pearl/12"]
    code, _, err = dryside("paper", "new", "PEARL", "--box", "13")
    assert (code, "already" in err) == (2, True)
    assert json.loads(dryside("paper", "show", "Pearl", "--json")[1])["batch"]["box"] == "13"
    shown = json.loads(dryside("paper", "show", "pearl/12", "--json")[1])["batch"]
    assert shown["developing"] == {"developer": "ours 1+9", "time_s": 90.0}


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("new", "pearl", "--base", "glass"), "fibre or resin-coated"),
        (("new", "pearl", "--opened", "yesterday"), "no day"),
        (("new", "a/b"), "no name"),
        (("show", "nothing"), "no paper is called"),
        (("sheet", "nothing"), "no paper is called"),
        (("read", "K1", "--densities", "1,2"), "there is no 'K1'"),
        (("read", "K1"), "not said how"),
        (("sheet", "pearl", "--base", "5000"), "base_s"),
        (("sheet", "pearl", "--aperture", "wide"), "--aperture"),
        (("sheet", "pearl", "--patches", "40"), "--patches"),
        (("sheet", "pearl", "--split", "00"), "no pair"),
        (("sheet", "pearl", "--lux", "-1"), "no light"),
        (("plot", "pearl"), "no curve yet"),
        (("strip", "pearl", "--lux", "1"), "no curve yet"),
        (("control", "pearl"), "neither control strips"),
    ],
)
def test_what_cannot_be_is_one_sentence(
    dryside: Callable[..., Told], words: tuple[str, ...], told: str
) -> None:
    """Every fault is one sentence, exit code 2."""
    if "pearl" in words and words[0] != "new":
        boxed(dryside)
    code, _, err = dryside("paper", *words)
    assert (code, err.count("\n")) == (2, 1)
    assert told in err


def test_a_sheet_is_exposed_read_and_shown(dryside: Callable[..., Told], tmp_path: Path) -> None:
    """One sheet per filter in turn, each with its picture; typed densities lie beside doses."""
    boxed(dryside)
    sheet = ("paper", "sheet", "pearl", "--filter", "00", "--filter", "5", *DIM)
    code, out, _ = dryside(*sheet, "--picture", "wedge.png", "--json")
    assert code == 0
    made = json.loads(out)
    assert [one["mark"] for one in made] == ["K1", "K2"]
    assert {p.name for p in tmp_path.glob("wedge-*.png")} == {"wedge-00.png", "wedge-5.png"}
    densities = [round(patch["density"], 2) for patch in made[0]["patches"]]
    assert densities[0] < 0.1 < 1.3 < densities[-1]
    typed = ",".join(f"{density}" for density in densities)
    assert dryside("paper", "read", "K1", "--densities", typed)[0] == 0
    [reading] = json.loads(dryside("paper", "show", "pearl", "--json")[1])["readings"]
    assert [point["density"] for point in reading["points"]] == densities
    assert (reading["filter"], reading["mark"], reading["how"]) == ("00", "K1", "densitometer")
    assert reading["points"][0]["log_h"] == pytest.approx(math.log10(2.0), abs=0.01)


def test_a_scan_of_the_sheet_is_read(dryside: Callable[..., Told], tmp_path: Path) -> None:
    """The dry strip beside a tablet gives the densities that the paper has."""
    boxed(dryside)
    code, out, _ = dryside("paper", "sheet", "pearl", *DIM, "--json")
    assert code == 0
    densities = [patch["density"] for patch in json.loads(out)[0]["patches"]]
    scan = scan_wedge(densities, tmp_path / "scan.png", Scanner(tilt_deg=1.0, specks=20))
    (tmp_path / "tablet.txt").write_text("# ours\n" + "\n".join(f"{d:g}" for d in TABLET))
    code, out, _ = dryside("paper", "scan", "K1", str(scan), "--tablet", "tablet.txt", "--json")
    assert code == 0
    points = json.loads(out)["reading"]["points"]
    assert [point["density"] for point in points] == pytest.approx(densities, abs=0.03)


def test_a_split_set_is_three_sheets(dryside: Callable[..., Told]) -> None:
    """The prescribed set has 21 soft, 21 hard and 15 mixed patches, and is kept as such."""
    boxed(dryside)
    split = ("--split", "00,5", "--hard-base", "2", "--aperture", "16", "--keep")
    assert dryside("paper", "sheet", "pearl", *split)[0] == 0
    readings = json.loads(dryside("paper", "show", "pearl", "--json")[1])["readings"]
    counts = {one["filter"]: len(one["points"]) for one in readings}
    assert counts == {"00": 21, "5": 21, "00+5": 15}


def test_a_tablet_by_contact_warns_that_it_is_nominal(dryside: Callable[..., Told]) -> None:
    """Nominal steps are used, and said to be nominal."""
    boxed(dryside)
    sheet = ("paper", "sheet", "pearl", "--tablet", "21", "--base", "30", "--keep", "--json")
    code, out, err = dryside(*sheet)
    assert code == 0
    assert "nominal" in err
    densities = [patch["density"] for patch in json.loads(out)[0]["patches"]]
    assert len(densities) == 21
    assert densities[0] < 0.1 < 1.9 < densities[-1]


def test_by_eye_tells_a_range_and_not_a_figure(dryside: Callable[..., Told]) -> None:
    """Two patches seen give bounds of the range."""
    boxed(dryside)
    assert dryside("paper", "sheet", "pearl", "--filter", "2", *DIM)[0] == 0
    code, out, _ = dryside("paper", "read", "K1", "--by-eye", "D,J")
    assert code == 0
    assert "by eye the range is R" in out


def test_a_meter_reads_patch_by_patch() -> None:
    """Each enter reads one patch, a dash leaves one out; a sensor of something else is refused."""
    values = iter([(1, 0.06), (2, 0.31)])
    lines = io.StringIO("\n-\n\n")

    def read_one() -> Reading:
        at_ns, density = next(values)
        return Reading(Quantity.DENSITY, density, at_ns)

    found = meter_patches("ABC", read_one, lambda _prompt: lines.readline())
    assert found == [0.06, None, 0.31]
    lux = Reading(Quantity.ILLUMINANCE, 3.0, 0)
    with pytest.raises(BadInput, match="density"):
        meter_patches("A", lambda: lux, lambda _prompt: "\n")


def test_no_reading_of_a_meter_counts_for_two_patches(capsys: pytest.CaptureFixture[str]) -> None:
    """The newest reading may be the last patch's, or none: the patch is asked for again."""
    asked: list[str] = []
    meter: list[Reading | None] = [Reading(Quantity.DENSITY, 0.06, 1)]

    def read_one() -> Reading:
        if meter[-1] is None:
            raise PortFault("the meter has sent nothing")
        return meter[-1]

    def ask(prompt: str) -> str:
        asked.append(prompt.split(",")[0])
        if len(asked) == 3:
            meter.append(None)
        elif len(asked) == 4:
            meter.append(Reading(Quantity.DENSITY, 0.06, 2))
        return "\n"

    assert meter_patches("AB", read_one, ask, lambda _s: None) == [0.06, 0.06]
    assert [one[-1] for one in asked] == ["A", "B", "B", "B"]
    told = capsys.readouterr().err
    assert "nothing new came" in told
    assert "has sent nothing; once more" in told


WIDE = ("--aperture", "16", "--step", "4/5", "--patches", "11", "--lux", "1.0", "--keep")


def test_curves_are_drawn_matched_and_converted(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """A paper of half the speed wants a stop more: told by match, and given by convert."""
    slow = ("--set", "simulator.paper.speed_p=100", "--set", "simulator.paper.kind=variable")
    boxed(dryside)
    assert dryside("paper", "new", "slow")[0] == 0
    assert dryside("paper", "sheet", "pearl", "--filter", "3", *WIDE)[0] == 0
    assert dryside("paper", "sheet", "slow", "--filter", "3", *WIDE, *slow)[0] == 0
    code, out, _ = dryside("paper", "plot", "pearl", "--picture", "curve.svg")
    assert code == 0
    assert "ISO R" in out
    assert (tmp_path / "curve.svg").read_text().lstrip().startswith("<?xml")
    [found] = json.loads(dryside("paper", "match", "pearl", "slow", "--json")[1])
    assert found["highlight_stops"] == pytest.approx(-1.0, abs=0.05)
    main = ("--base", "12", "--pass", "main:3:+0", "--paper", "pearl")
    assert dryside("score", "new", "bay", *main)[0] == 0
    onto = ("paper", "convert", "bay", "--onto", "slow", "--to", "bay-slow", "--json")
    code, _, err = dryside("paper", "convert", "bay", "--onto", "slow", "--filter", "3=5")
    assert (code, "slow has no curve of filter 5" in err) == (2, True)
    code, out, _ = dryside(*onto)
    assert code == 0
    assert json.loads(out)["score"]["base_s"] == pytest.approx(24.0, rel=0.05)
    code, _, err = dryside("paper", "plot", "pearl", "--picture", "curve.txt")
    assert (code, "png" in err) == (2, True)


def test_a_box_of_the_book_is_solved_and_its_print_has_both_tones(
    dryside: Callable[..., Told],
) -> None:
    """Without a file: filter and dose for two tones, which the curve itself then foretells."""
    boxed(dryside)
    for name in ("2", "3"):
        assert dryside("paper", "sheet", "pearl", "--filter", name, *WIDE)[0] == 0
    tones = ("--highlight", "0.3=0.15", "--shadow", "1.5=1.6")
    code, out, _ = dryside("paper", "solve", "--on", "pearl", *tones, "--json")
    assert code == 0
    found = json.loads(out)
    assert found["predicted"]["highlight"] == pytest.approx(0.15, abs=0.02)
    lit = ("--base", str(found["dose_s"]), "--patches", "2", "--lux", "0.3", "--json")
    _, out, _ = dryside("paper", "strip", "pearl", "--filter", found["filter"], *lit)
    foretold = json.loads(out)[0]["density"]
    assert foretold == pytest.approx(found["predicted"]["highlight"], abs=0.01)
    # the print itself, on its first sheet: 4 lux at f/8, and a negative that leaves 1.5 and 0.3
    one_pass = ("--base", str(found["dose_s"]), "--pass", f"main:{found['filter']}:+0")
    assert dryside("score", "new", "first", *one_pass, "--aperture", "8")[0] == 0
    halves = ("--region", "dark=1-8:1-12", "--region", "light=9-16:1-12")
    assert dryside("score", "edit", "first", *halves)[0] == 0
    _, out, _ = dryside("score", "run", "first", "--set", "simulator.tones=[0.426,1.125]", "--json")
    became = {one["name"]: one["density"] for one in json.loads(out)["regions"]}
    wanted = {"dark": found["predicted"]["shadow"], "light": 0.15}
    assert {name: became[name] for name in wanted} == pytest.approx(wanted, abs=0.04)
    rows = json.loads(dryside("paper", "filters", "--on", "pearl", "--json")[1])["filters"]
    assert [row["filter"] for row in rows] == ["2", "3"]
    code, _, err = dryside("paper", "split", "--on", "pearl")
    assert code == 2
    assert "pearl has no split sheets" in err
    code, _, err = dryside("paper", "solve", "--on", "pearl", "--soft", "soft.csv", *tones)
    assert (code, "either a box" in err) == (2, True)


def test_a_weaker_developer_is_seen_by_control_strips(
    dryside: Callable[..., Told], tmp_path: Path
) -> None:
    """Strips of paper that gets slower are charted, and the last asks for action."""
    boxed(dryside)
    sheet = ("paper", "sheet", "pearl", "--aperture", "16", "--control", "--keep")
    for speed in (200, 200, 150):
        assert dryside(*sheet, "--set", f"simulator.paper.speed_p={speed}")[0] == 0
    code, out, _ = dryside("paper", "control", "pearl", "--json", "--picture", "chart.pdf")
    assert code == 0
    result = json.loads(out)
    assert [one["state"] for one in result["strips"]] == ["good", "good", "act"]
    assert result["strips"][-1]["speed"] < -0.10
    assert (tmp_path / "chart.pdf").read_bytes().startswith(b"%PDF")


def test_a_strip_comes_out_as_it_was_foretold(dryside: Callable[..., Told]) -> None:
    """Tones told by curve and light agree with the strip on imagined paper to within 0.05."""
    boxed(dryside)
    assert dryside("paper", "sheet", "pearl", *WIDE, "--base", "1")[0] == 0
    lux = f"{4.0 * 10.0**-0.9:.4f}"  # the imagined easel's light through its usual tone
    code, out, _ = dryside("paper", "strip", "pearl", "--lux", lux, "--json")
    assert code == 0
    foretold = [tone["density"] for tone in json.loads(out)]
    made = json.loads(dryside("strip", "--json")[1])
    assert foretold == pytest.approx([patch["density"] for patch in made["patches"]], abs=0.05)
    known = f"B={made['patches'][1]['density']:.3f}"
    told = json.loads(dryside("paper", "strip", "pearl", "--known", known, "--json")[1])
    assert [tone["density"] for tone in told] == pytest.approx(foretold, abs=0.05)


def test_a_score_is_foretold_region_by_region(dryside: Callable[..., Told]) -> None:
    """Twice the light is what a stop more gives; light that is not told is asked for."""
    boxed(dryside)
    assert dryside("paper", "sheet", "pearl", *WIDE, "--base", "1")[0] == 0
    for name, base in (("bay", "8"), ("long", "16")):
        words = ("--base", base, "--pass", "main:none:+0", "--paper", "pearl")
        assert dryside("score", "new", name, *words)[0] == 0
    told = [
        json.loads(dryside("paper", "preview", name, "--lux", f"elsewhere={lux}", "--json")[1])
        for name, lux in (("bay", 0.8), ("long", 0.4))
    ]
    assert told[0][0]["density"] == pytest.approx(told[1][0]["density"], abs=1e-3)
    code, _, err = dryside("paper", "preview", "bay")
    assert (code, "no light was read" in err) == (2, True)
    code, _, err = dryside("paper", "strip", "pearl")
    assert (code, "--known" in err) == (2, True)
