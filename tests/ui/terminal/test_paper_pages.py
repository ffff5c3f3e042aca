"""All that is done with a box of paper on the Paper page: by keys, by mouse, refusals in place."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from controller.boxes.model import How, PaperReading, Purpose
from controller.boxes.sheet import PaperSheet
from controller.desk.desk import Desk
from controller.events import RunBegun
from controller.exposing.told import Run
from controller.score.doses import exposures
from controller.score.model import Pass, Score
from tests.ui.terminal.boxes import CURVES, SHEET, write_boxes
from tests.ui.terminal.fake_unit import Tried, walk
from tests.whole.imagined_wedge import TABLET, Scanner, scan_wedge
from ui.unit import open_book

PAPER = ("7", "p")
TRUE = CURVES["pearl/13", "2"]
DENSITIES = [TRUE.density(SHEET.log_h(dose)) for dose in SHEET.doses()]
SCORE = Score(base_s=8, passes=(Pass(label="main", filter="2"),))


@pytest.fixture(scope="module")
def boxes(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A book with the boxes in it, as bytes: to measure them takes its time."""
    folder = tmp_path_factory.mktemp("boxes")
    write_boxes(folder)
    return (folder / "book.sqlite").read_bytes()


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, boxes: bytes) -> Path:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    (tmp_path / "book.sqlite").write_bytes(boxes)
    return tmp_path


def said(tried: Tried) -> str:
    """Give what is on the screen as one line."""
    return " ".join(tried.text.split())


def readings(handle: str = "pearl/13") -> list[PaperReading]:
    """Give the readings of a box, the newest first."""
    with open_book() as book:
        return book.papers.readings(book.papers.batch(handle))


def sheets_sent(tried: Tried) -> list[PaperSheet]:
    runs = [run for run in tried.unit.of(Run) if isinstance(run, Run)]
    return [PaperSheet.model_validate_json(run.spec) for run in runs]


async def into(tried: Tried, field: str, text: str) -> None:
    """Paste into a field, in place of what stands there, and have the cursor in it."""
    found = tried.app.screen.query_one(f"#{field}", Input)
    found.focus()
    found.value = text
    await tried.settle()


def test_a_new_box_is_written_down_and_shown(home: Path) -> None:
    """What is wrong stands under the form; a box that is there already is not written twice."""

    async def steps(tried: Tried) -> None:
        await tried.press(*PAPER, "a")
        await into(tried, "of-name", "lustre")
        await into(tried, "of-opened", "soon")
        assert "opened: 'soon' is no day" in said(tried)
        await into(tried, "of-opened", "2026-11-20")
        await into(tried, "of-time", "2m")
        await tried.press("ctrl+s")
        assert "box 1 of 3: lustre: opened 2026-11-20, 120 s" in said(tried)
        assert "lustre is written down; s makes a calibration sheet" in said(tried)
        await tried.press("a")
        await into(tried, "of-name", "pearl")
        await into(tried, "of-box", "13")
        await tried.press("ctrl+s")
        assert "pearl/13 is in the book already" in said(tried)

    walk(home, steps)


def test_a_set_of_sheets_is_made_one_after_the_other(home: Path) -> None:
    """The plan goes to the unit; coming back the form stands as it was, at the next sheet."""

    async def steps(tried: Tried) -> None:
        await tried.press(*PAPER, "s")
        await into(tried, "of-filters", "2, 3")
        assert "1 of 2: filter 2" in said(tried)
        await into(tried, "of-lux", "none")
        assert "light, lux: 'none' is no light" in said(tried)
        await tried.press("ctrl+s")
        assert sheets_sent(tried) == []
        await into(tried, "of-lux", "0.5")
        await tried.press("ctrl+s")
        assert tried.app.current_mode == "bench"
        await tried.press(*PAPER, "s")
        assert "2 of 2: filter 3" in said(tried)
        await tried.press("ctrl+s")
        sent = sheets_sent(tried)
        assert [(one.paper, one.filter, one.lux) for one in sent] == [
            ("pearl/13", "2", 0.5),
            ("pearl/13", "3", 0.5),
        ]
        run = tried.unit.of(Run)[0]
        assert isinstance(run, Run)
        tried.unit.tell(RunBegun("r1", run.plan.kind, "", run.spec, run.plan.to_json(), {}, ""))
        await tried.press(*PAPER, "s", "ctrl+s")
        assert "a plan is running already" in said(tried)
        assert len(sheets_sent(tried)) == 2

    walk(home, steps)


def test_densities_are_typed_patch_by_patch_and_become_a_curve(home: Path) -> None:
    """Enter goes to the next patch; what cannot be is refused where it is typed."""

    async def steps(tried: Tried) -> None:
        await tried.press(*PAPER, "r")
        assert "R1 filter 2, 9 steps of 1 from 1.2 s" in said(tried)
        await tried.press("enter", "x")
        assert "patch A: 'x' is no number" in said(tried)
        await tried.press("backspace")
        await tried.type(f"{DENSITIES[0]:.2f}")
        await tried.press("enter")
        for at, density in enumerate(DENSITIES[1:], start=1):
            assert tried.app.focused is not None
            assert at > 1 or tried.app.focused.id == "patch-1"
            await into(tried, f"patch-{at}", f"{density:.2f}")
        assert "9 of 9 patches are read" in said(tried)
        await tried.press("ctrl+s")
        assert "R1 is kept: filter 2: ISO R" in said(tried)
        await tried.press("r")
        assert "read already" in said(tried)

    walk(home, steps)
    newest = readings()[0]
    assert (newest.how, newest.purpose, newest.mark) == (How.DENSITOMETER, Purpose.CURVE, "R1")
    assert [p.density for p in newest.points] == pytest.approx(DENSITIES, abs=0.005)


def test_what_the_simulator_tells_is_kept_as_such(home: Path) -> None:
    """The fields are filled with it; one that is typed over makes it a densitometer's."""

    async def steps(tried: Tried) -> None:
        tried.unit.imagined = {"R1": DENSITIES}
        await tried.press(*PAPER, "r", "enter")
        assert "the simulator tells" in said(tried)
        await tried.press("ctrl+s")
        await tried.press("r", "enter")
        await into(tried, "patch-0", "0.08")
        await tried.press("ctrl+s")

    walk(home, steps)
    assert [one.how for one in readings()[:2]] == [How.DENSITOMETER, How.IMAGINED]
    assert readings()[1].points[3].density == DENSITIES[3]


def test_an_eye_gives_a_range_and_a_control_strip_gives_no_curve(home: Path) -> None:
    """By eye: two patches, no curve. A reading for control is charted."""

    async def steps(tried: Tried) -> None:
        await tried.press(*PAPER, "r", "enter", *(3 * ["shift+tab"]), "enter", "down", "enter")
        await into(tried, "of-light", "B")
        await into(tried, "of-dark", "A")
        assert "black comes no later" in said(tried)
        await into(tried, "of-dark", "H")
        assert "by eye the range is R" in said(tried)
        await tried.press("ctrl+s")
        assert "R1 is kept" in said(tried)
        tried.unit.imagined = {"R1": DENSITIES}
        await tried.press("r", "enter", *(2 * ["shift+tab"]), "enter", "down", "enter")
        await tried.press("ctrl+s")

    walk(home, steps)
    control, eye = readings()[:2]
    assert (eye.how, eye.note[:1]) == (How.BY_EYE, "R")
    assert control.purpose is Purpose.CONTROL


def test_a_scan_is_shown_with_its_warnings_before_it_is_kept(home: Path) -> None:
    """The first time it is read, the second time kept; another tablet is read anew."""
    path = scan_wedge(DENSITIES, home / "s.png", Scanner(falls_off=0.12))
    tablet = home / "t.txt"
    tablet.write_text(",".join(map(str, TABLET)))
    before = len(readings())

    async def steps(tried: Tried) -> None:
        await tried.press(*PAPER, "i", "enter")
        await into(tried, "of-file", str(home / "none.png"))
        await into(tried, "of-tablet", str(tablet))
        await tried.press("ctrl+s")
        assert "right would be" in said(tried)
        assert "ctrl+s again" not in said(tried)
        await into(tried, "of-file", str(path))
        await tried.press("ctrl+s")
        assert "the light falls off by" in said(tried)
        assert "ctrl+s again keeps this" in said(tried)
        assert len(readings()) == before
        await tried.press("ctrl+s")
        assert "R1 is kept" in said(tried)

    walk(home, steps)
    newest = readings()[0]
    assert newest.how is How.SCAN
    assert [p.density for p in newest.points] == pytest.approx(DENSITIES, abs=0.03)


def test_two_tones_become_a_print_that_lies_ready(home: Path) -> None:
    """What lies ready and is kept nowhere is asked about first."""

    async def steps(tried: Tried) -> None:
        await tried.press(*PAPER, "d")
        await into(tried, "of-highlight", "0.2")
        await into(tried, "of-shadow", "2=1.70")
        assert "highlight: '0.2' is no tone" in said(tried)
        await into(tried, "of-highlight", "0.2=0.12")
        await into(tried, "of-aperture", "16")
        assert "filter 2" in said(tried)
        await tried.press("ctrl+s")
        assert "kept nowhere" in said(tried)
        await tried.press("down", "enter")
        assert tried.app.current_mode == "score"
        assert tried.unit.desk is not None
        score = tried.unit.desk.score
        assert score is not None
        given = exposures(score)[0]
        light = SHEET.model_copy(update={"lux": 0.2}).log_h({"2": given.dose_s})
        assert TRUE.density(light) == pytest.approx(0.12, abs=0.01)
        assert (score.setup.aperture, score.paper.batch) == ("16", "13")

    walk(home, steps, desk=Desk(score=SCORE))


def test_boxes_are_compared_charted_drawn_and_converted_to(home: Path) -> None:
    """Each from the page of the box; the picture lies where it was said."""

    async def steps(tried: Tried) -> None:
        await tried.press(*PAPER, "m", "enter")
        assert "pearl/13 to pearl/12" in said(tried)
        assert "highlight wants" in said(tried)
        await tried.press("escape", "c")
        assert "act: speed is -0.17" in said(tried)
        await into(tried, "of-watch", "0.5")
        assert "are no limits" in said(tried)
        await into(tried, "of-act", "0.9")
        assert "all is within its limits" in said(tried)
        await tried.press("ctrl+g")
        await into(tried, "of-file", str(home / "chart.gif"))
        await tried.press("enter")
        assert "ends in .png" in said(tried)
        await into(tried, "of-file", str(home / "chart.png"))
        await tried.press("enter")
        assert "chart.png" in said(tried)
        await tried.press("escape", "escape", "v")
        assert "by the curves of pearl/12 and pearl/13" in said(tried)
        await into(tried, "of-tones", "elsewhere=0.30")
        assert "elsewhere: 0.30 to 0.30, kept" in said(tried)
        await tried.press("ctrl+s")
        assert tried.unit.desk is not None
        assert tried.unit.desk.score is not None
        assert tried.unit.desk.score.paper.batch == "13"

    used = SCORE.paper.model_copy(update={"name": "pearl", "batch": "12"})
    walk(home, steps, desk=Desk(score=SCORE.model_copy(update={"paper": used})))
    assert (home / "chart.png").read_bytes().startswith(b"\x89PNG")


DOORS = {
    "a  new box": "what you call the paper",
    "s  sheet": "ctrl+s makes it",
    "r  read": "which sheet of pearl/13",
    "i  scan": "which sheet of pearl/13",
    "d  doses": "type a light",
    "m  match": "beside which?",
    "c  control": "act: speed",
    "v  convert": "densities",
    "g  picture": "ctrl+s draws it",
}


def test_every_door_of_the_page_opens_by_mouse_and_by_the_palette(home: Path) -> None:
    """Its words can be clicked, and found in the palette."""

    async def steps(tried: Tried) -> None:
        await tried.press("7")
        await tried.click("p box")
        for words, shows in DOORS.items():
            await tried.click(words)
            assert shows in said(tried), words
            await tried.press("escape")
        for words, shows in list(DOORS.items())[:1]:
            await tried.press("ctrl+p")
            await tried.type(f"paper: {words[3:]}")
            await tried.press("enter")
            assert shows in said(tried), words
            await tried.press("escape")

    walk(home, steps, desk=Desk(score=SCORE))
