"""The trays' room: lines that count down, and everything that can be asked of them."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from controller.book.book import Book
from controller.enlarger.lamp import ns
from controller.events import RunBegun, SheetBegun
from controller.trays.clock import LineView, TraysView
from controller.trays.way import OWN, SHIPPED
from drivers.engine_words import OfTrays
from drivers.places import book_path, config_folder
from tests.ui.terminal.an_evening import write_evening
from tests.ui.terminal.cells import cell_offences
from tests.ui.terminal.fake_unit import SIZES, Tried, walk
from ui.terminal.widgets.trays_clock import headline, line_of

NOW_NS = ns(1000.0)
LINES = (
    LineView("K7", "fibre", "developer", "lift", NOW_NS + ns(72), 5.0),
    LineView("K8", "fibre", "dry", "in, developer", NOW_NS + ns(125), 0.0),
    LineView("K6", "fibre", "holding bath", "", None, 0.0),
)
WARNING = "K7 lift and K8 in, developer will be 3 seconds apart"


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    write_evening(tmp_path)
    return tmp_path


def test_a_line_says_where_a_sheet_is_what_comes_and_how_late_it_is() -> None:
    """Mark, tray, time left, next move and lateness, in columns."""
    assert [line_of(line, NOW_NS) for line in LINES] == [
        "K7   developer           1:12  then lift            late 5 s",
        "K8   dry                 2:05  then in, developer",
        "K6   holding bath               stays there".replace("               ", "              "),
    ]
    view = TraysView("fibre", 21.0, LINES)
    assert headline(view, NOW_NS) == "fibre at 21 C; next K7 lift in 1:12"
    by_factor = TraysView("fibre", 21.0, factor=6.0)
    assert headline(by_factor, NOW_NS) == "fibre at 21 C, factor 6"
    assert "p chooses" in headline(TraysView(), NOW_NS)


def test_everything_of_the_trays_by_keys(home: Path) -> None:
    """Process, temperature, factor, putting in, taking off and late are each a key and answer."""

    async def steps(tried: Tried) -> None:
        await tried.press("5", "t")
        assert "choose a process first" in tried.text
        await tried.press("p", "enter")
        assert tried.unit.sent[-1] == OfTrays("choose", "fibre", 20.0)
        now_ns = time.monotonic_ns()
        lines = tuple(
            LineView(e.mark, e.process, e.where, e.then, e.due_ns and now_ns + ns(90.5), e.late_s)
            for e in LINES
        )
        tried.unit.tell(TraysView("fibre", 20.0, lines, (WARNING,)))
        await tried.settle()
        for words in ("next K7 lift in 1:", "K8   dry", "late 5 s", WARNING):
            assert words in tried.text
        await tried.press("t", "down", "enter")
        assert tried.unit.sent[-1] == OfTrays("choose", "fibre", 17.0)
        await tried.press("f", "down", "down", "enter")
        assert tried.unit.sent[-1] == OfTrays("choose", "fibre", 20.0, 6.0)
        tried.unit.tell(TraysView("fibre", 20.0, lines, factor=6.0, factor_asked=6.0))
        await tried.settle()
        await tried.press("p", "down", "enter")
        assert tried.unit.sent[-1] == OfTrays("choose", "two-bath", 20.0, 6.0)
        await tried.press("l")
        assert tried.unit.sent[-1] == OfTrays("tap")
        await tried.press("i", "enter")
        assert tried.unit.sent[-1] == OfTrays("put-in", "K8")
        await tried.press("x", "enter")
        assert tried.unit.sent[-1] == OfTrays("take-off", "K7")
        sent = len(tried.unit.sent)
        await tried.press("x", "escape")
        assert len(tried.unit.sent) == sent

    walk(home, steps)


def test_everything_of_the_trays_by_mouse(home: Path) -> None:
    """The key line and the answers can be clicked."""

    async def steps(tried: Tried) -> None:
        await tried.press("5")
        await tried.click("p process")
        await tried.click("resin-coated: developer")
        assert tried.unit.sent[-1] == OfTrays("choose", "resin-coated", 20.0)

    walk(home, steps)


@pytest.mark.parametrize("size", SIZES)
def test_the_trays_are_red_and_fit(home: Path, size: tuple[int, int]) -> None:
    """With sheets under way, and with a question over them, every cell is red and in view."""

    async def steps(tried: Tried) -> None:
        await tried.press("5")
        now_ns = time.monotonic_ns()
        lines = tuple(
            LineView(f"K{n}", "fibre", "developer", "in, holding bath", now_ns + ns(60 * n), n)
            for n in range(1, 5)
        )
        tried.unit.tell(TraysView("fibre", 20.0, lines, (WARNING, WARNING)))
        await tried.settle()
        assert cell_offences(tried.app) == []
        assert "data sheet says" in tried.text or size[1] == 24
        assert "q leave" in tried.text or size[1] == 24
        await tried.press("p")
        assert cell_offences(tried.app) == []
        assert "none: the trays are not counted" in tried.text

    walk(home, steps, size=size)


@pytest.mark.parametrize("size", SIZES[:1])
def test_a_batch_is_gathered_timed_tested_and_written(home: Path, size: tuple[int, int]) -> None:
    """Marks, a way, a timed step and one that is done afterwards, each a key; all red at 80x24."""

    async def steps(tried: Tried) -> None:
        await tried.press("5", "b")
        assert "No batch yet" in tried.text
        assert "n new  t time  d done  r rest  u undo  s test  f fix  o out" in tried.text
        await tried.press("n")
        await tried.type("k7 k8")
        await tried.press("enter")
        assert "Where do K7 K8 go on?" in tried.text
        await tried.press("down", "enter")
        assert "next rinse: K7 K8" in tried.text
        await tried.press("d")
        assert "rinse is written down" in tried.text
        assert "next clearing bath: K7 K8" in tried.text
        await tried.press("t")
        assert "clearing bath, 5 min; " in tried.text
        assert cell_offences(tried.app) == []
        await tried.press("t")
        assert "clearing bath was shorter" in tried.text
        await tried.press("s", "down", "enter")
        assert "drop of fresh dilute sodium sulfide" in tried.text
        await tried.press("down", "down", "enter")
        assert "silver stayed" in tried.text
        assert "FIX AGAIN FIRST: K7 K8" in tried.text
        await tried.press("f", "down", "enter")
        assert "fixed again" in tried.text
        assert "next rinse: K7 K8" in tried.text

    walk(home, steps, size=size)


def test_a_step_gets_its_rest_is_taken_back_and_a_short_one_is_asked_about(home: Path) -> None:
    """At the sink by keys alone: r gives what is lacking, u takes back, a wash too soon asks."""

    async def steps(tried: Tried) -> None:
        await tried.press("5", "b", "n")
        await tried.type("k7")
        await tried.press("enter", "enter", "d")
        assert "next clearing bath: K7" in tried.text
        await tried.press("t", "t")
        assert "clearing bath was shorter" in tried.text
        await tried.press("d")
        assert "clearing bath had 0 s of at least 2 min before wash." in tried.text
        await tried.press("enter")
        assert "next wash: K7" in tried.text
        await tried.press("t")
        assert "before wash." in tried.text
        await tried.press("escape", "r")
        assert "clearing bath: it had the rest, 5 min: write it down" in tried.text
        await tried.press("down", "enter")
        assert "clearing bath, the rest, 5 min; 5 min left; t ends it" in tried.text
        await tried.press("r", "down", "down", "enter")
        assert "clearing bath is written down" in tried.text
        assert "t ends it" not in tried.text
        await tried.press("r")
        assert "no step of batch 1 lacks any of its time" in tried.text
        await tried.press("u", "down", "enter")
        assert "clearing bath is taken back" in tried.text
        await tried.press("d", "down", "enter")
        assert "wash is written down; clearing bath before" in tried.text
        await tried.press("u", "down", "enter", "u", "down", "enter", "u", "down", "enter")
        assert "rinse is taken back; next rinse" in tried.text
        await tried.press("u")
        assert "nothing is written of batch 1" in tried.text
        assert cell_offences(tried.app) == []

    walk(home, steps, size=SIZES[0])


def test_a_way_of_one_s_own_is_offered_and_a_strip_is_asked_about(home: Path) -> None:
    """From the folder beside the rig file; what would be toned and is no print asks first."""
    mine = (SHIPPED / "selenium.toml").read_text().replace('"selenium"', '"warm selenium"')
    (config_folder() / OWN).mkdir()
    (config_folder() / OWN / "mine.toml").write_text(mine)
    with Book.open(book_path(), now=lambda: datetime.now(UTC)) as book:
        book.write(RunBegun("r4", "strip", "t", "{}", "{}", {}, "rig"))
        book.write(SheetBegun("r4", "Z4", 203, 254))

    async def steps(tried: Tried) -> None:
        await tried.press("5", "b", "n")
        await tried.type("z4")
        await tried.press("enter", "end")
        assert "a new batch, warm selenium" in tried.text
        await tried.press("enter")
        assert "Z4 is a sheet of a strip, no print, and warm selenium would tone it." in tried.text
        await tried.press("down", "enter")
        assert "batch 1 has 1 print" in tried.text
        assert "next rinse: Z4" in tried.text

    walk(home, steps, size=SIZES[0])
