"""The Score room and its pages: nothing that is typed is lost, nothing that is kept is harmed."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from controller.desk.asked import AskedCross, cross_asked
from controller.desk.desk import Desk, Made
from controller.desk.orders import Order, Ordered
from controller.events import RunBegun
from controller.score.file import load_score
from controller.score.model import Score
from controller.score.new import demonstration
from controller.strips.cross import pick_cell
from controller.strips.strip import Strip
from drivers.engine_words import Arrange, DeskIs, Please, Say
from tests.ui.terminal.an_evening import CROSS, DESK, SPLIT, write_evening
from tests.ui.terminal.fake_unit import EDGES, SIZES, Tried, walk
from ui.scores import folder, keep, path_of
from ui.terminal.widgets.picker import Picker


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    return tmp_path


def field(tried: Tried, name: str) -> str:
    return tried.app.screen.query_one(f"#of-{name}", Input).value


async def type_into(tried: Tried, name: str, text: str) -> None:
    """Type over what stands in a field of the form."""
    tried.app.screen.query_one(f"#of-{name}", Input).focus()
    await tried.settle()
    await tried.press("end", "ctrl+u")
    await tried.type(text)


def told(tried: Tried, desk: Desk) -> None:
    tried.unit.tell(DeskIs(desk.model_dump_json()))


def with_base(base_s: float) -> Desk:
    assert DESK.score is not None
    return DESK.model_copy(update={"score": DESK.score.model_copy(update={"base_s": base_s})})


def lies_ready(tried: Tried) -> Score:
    assert tried.unit.desk is not None
    assert tried.unit.desk.score is not None
    return tried.unit.desk.score


def test_what_is_refused_stays_where_it_was_typed(home: Path) -> None:
    """Through another room, news from a foot, and back: the words stand, the rest is up to date."""

    async def steps(tried: Tried) -> None:
        await tried.press("3")
        await type_into(tried, "dry_down", "lots")
        assert "'lots' is no dry-down" in tried.text
        await tried.press("escape", "1")
        told(tried, with_base(20))
        await tried.press("3")
        assert field(tried, "dry_down") == "lots"
        assert field(tried, "base") == "20"
        await type_into(tried, "dry_down", "10%")
        assert lies_ready(tried).paper.dry_down == "10%"
        assert lies_ready(tried).base_s == 20

    walk(home, steps, desk=DESK)


def test_a_pick_by_foot_is_not_undone_by_a_cursor_in_the_form(home: Path) -> None:
    """What came from elsewhere while a field had the cursor is not sent back as it was before."""

    async def steps(tried: Tried) -> None:
        await tried.press("3")
        await type_into(tried, "title", "boats")
        sent = len(tried.unit.of(Arrange))
        titled = lies_ready(tried).model_copy(update={"base_s": 9.0})
        told(tried, DESK.model_copy(update={"score": titled}))
        await tried.settle()
        assert len(tried.unit.of(Arrange)) == sent
        assert field(tried, "base") == "9"
        await tried.type("s")
        assert (lies_ready(tried).title, lies_ready(tried).base_s) == ("boatss", 9.0)

    walk(home, steps, desk=DESK)


def test_an_echo_that_is_some_keys_behind_changes_nothing(home: Path) -> None:
    """The unit tells each step of what is typed after it was typed on: the field has the word."""

    async def steps(tried: Tried) -> None:
        await tried.press("3")
        await type_into(tried, "base", "12")
        early = [message for message in tried.unit.of(Arrange) if isinstance(message, Arrange)]
        await tried.type(".5")
        for message in early:
            told(tried, Desk.model_validate_json(message.desk))
            await tried.settle()
            assert field(tried, "base") == "12.5"
        await tried.press("escape", "slash")
        await tried.type("pass print:2:+0")
        await tried.press("enter")
        assert (lies_ready(tried).base_s, lies_ready(tried).passes[0].filter) == (12.5, "2")

    walk(home, steps, desk=DESK)


def test_a_change_of_the_head_is_seen_in_its_field(home: Path) -> None:
    """The line of changes may set what stands in the form; the form does not set it back."""

    async def steps(tried: Tried) -> None:
        await tried.press("3", "slash")
        await tried.type("set base_s=10")
        await tried.press("enter")
        assert field(tried, "base") == "10"
        assert lies_ready(tried).base_s == 10
        await tried.type("set nonsense")
        await tried.press("enter")
        assert tried.app.screen.query_one("#change", Input).value == "set nonsense"

    walk(home, steps, desk=DESK)


def test_judging_dry_holds_for_the_picks_that_follow(home: Path) -> None:
    """The choice is that of the strips too: a pick would otherwise turn it back."""

    async def steps(tried: Tried) -> None:
        await tried.press("3")
        await tried.click("wet")
        await tried.press("down", "enter")
        assert tried.unit.desk is not None
        assert (lies_ready(tried).judged, tried.unit.desk.judged) == ("dry", "dry")

    walk(home, steps, desk=DESK)


def test_a_damaged_score_is_one_sentence_and_nothing_is_lost(home: Path) -> None:
    """File and field are named; what lay ready lies there, and the file is as it was."""
    broken = folder() / "broken.toml"
    broken.write_text("base_s = 'long'\n")

    async def steps(tried: Tried) -> None:
        await tried.press("3", "o", "enter")
        words = "".join(tried.text.split())  # a long path is parted by the edge
        assert "broken.toml,base_s:" in words
        assert "Whatlayreadystillliesthere." in words
        assert tried.unit.desk == SPLIT
        assert tried.unit.of(Arrange) == []
        assert broken.read_text() == "base_s = 'long'\n"

    walk(home, steps, desk=SPLIT)


@pytest.mark.parametrize(
    ("typed", "shows"),
    [("harbour", "there is a score already"), ("../out", "is no name"), ("..", "is no name")],
)
def test_a_name_that_will_not_do_is_refused_in_place(typed: str, shows: str, home: Path) -> None:
    """It stands in its field still, no file is written, and the old one is as it was."""
    keep(demonstration(), path_of("harbour"))
    before = path_of("harbour").read_text()

    async def steps(tried: Tried) -> None:
        await tried.press("3", "o", "k")
        await tried.type(typed)
        await tried.press("enter")
        assert shows in " ".join(tried.text.split())
        assert tried.app.screen.query_one("#keep-as", Input).value == typed
        assert path_of("harbour").read_text() == before
        assert len(list(home.rglob("*.toml"))) == 1

    walk(home, steps, desk=DESK)


def test_what_is_kept_nowhere_is_not_put_away_without_a_question(home: Path) -> None:
    """The first answer leaves it, and so does escape; the second leads to the name."""

    async def steps(tried: Tried) -> None:
        await tried.press("3", "o", "n")
        assert "kept nowhere" in tried.text
        await tried.press("enter", "n", "escape", "n", "down", "enter")
        assert tried.app.focused is tried.app.screen.query_one("#keep-as", Input)
        assert tried.unit.desk == DESK

    walk(home, steps, desk=DESK)


def test_an_opened_score_takes_the_whole_form(home: Path) -> None:
    """What was typed for the print before, and refused, is not carried into another."""
    keep(demonstration(), path_of("harbour"))

    async def steps(tried: Tried) -> None:
        await tried.press("3")
        await type_into(tried, "base", "x")
        await tried.press("escape", "o", "enter", "down", "down", "enter")
        assert field(tried, "base") == "16"
        assert "kept as harbour" in " ".join(tried.text.split())

    walk(home, steps, desk=DESK)


def kept_split() -> Desk:
    keep(demonstration(), path_of("harbour"))
    return SPLIT.model_copy(update={"kept_as": str(path_of("harbour"))})


def test_a_conversion_is_shown_line_by_line_and_left_with_escape(home: Path) -> None:
    """As it is typed: refusals in place, then each exposure; escape leaves all as it was."""
    desk = kept_split()

    async def steps(tried: Tried) -> None:
        await tried.press("3", "c")
        await tried.type("big")
        assert "'big' is no number" in " ".join(tried.text.split())
        await tried.press("ctrl+u")
        await tried.type("5.2")
        for words in ("soft: 14.7 s to 26.4 s", "door held back", "burn quay: 2.8 s to 4.9 s"):
            assert words in tried.text
        await tried.press("escape")
        assert tried.unit.of(Arrange) == []

    walk(home, steps, desk=desk)


def test_a_converted_print_does_not_go_into_the_file_of_the_old(home: Path) -> None:
    """It lies ready, kept nowhere yet; the file holds the print that it came from."""
    desk = kept_split()

    async def steps(tried: Tried) -> None:
        await tried.press("3", "c")
        await tried.type("5.2")
        await tried.press("ctrl+s")
        assert "nothing yet (o keeps it)" in tried.text
        assert tried.unit.desk is not None
        assert tried.unit.desk.kept_as == ""
        assert lies_ready(tried).setup.magnification == 5.2
        assert load_score(path_of("harbour")) == demonstration()

    walk(home, steps, desk=desk)


def test_a_lens_that_the_score_does_not_know_is_asked_for_in_the_words_of_the_screen(
    home: Path,
) -> None:
    """No option of the command line is named where there are fields."""
    assert SPLIT.score is not None
    setup = SPLIT.score.setup.model_copy(update={"aperture": "", "magnification": None})
    desk = SPLIT.model_copy(update={"score": SPLIT.score.model_copy(update={"setup": setup})})

    async def steps(tried: Tried) -> None:
        await tried.press("3", "c")
        await type_into(tried, "to_aperture", "5.6")
        words = " ".join(tried.text.split())
        assert "right would be the lens in the score's own form" in words
        assert "--" not in words

    walk(home, steps, desk=desk)


def test_what_has_changed_since_is_said_before_a_print_lies_ready_again(home: Path) -> None:
    """Another lamp calibration than today's is told; the first answer changes nothing."""
    write_evening(home)

    async def steps(tried: Tried) -> None:
        await tried.press("7", "down", "enter", "n")
        words = " ".join(tried.text.split())
        assert "What lies ready is kept nowhere, and goes: soft 14.7 s" in words
        assert "changed since: rig was imagined" in words or "has changed since" in words
        await tried.press("enter")
        assert tried.unit.desk == SPLIT
        await tried.press("n", "down", "enter")
        assert lies_ready(tried).came_from == ("K3 C",)
        assert "3 Score" in tried.text

    walk(home, steps, desk=SPLIT)


def test_a_strip_is_no_print_to_be_made_again(home: Path) -> None:
    """Its page has neither the key nor the button."""
    write_evening(home)

    async def steps(tried: Tried) -> None:
        await tried.press("7", "down", "down", "enter")
        assert "sheet K3: done" in tried.text or "patch" in tried.text
        assert "print again" not in tried.text
        await tried.press("n")
        assert "lay it ready" not in tried.text

    walk(home, steps, desk=DESK)


def test_every_place_of_the_cursor_on_a_cross_is_a_choice(home: Path) -> None:
    """By half cells in both directions, from edge to edge: each is a cell or lies between two."""
    seen: set[str] = set()

    async def steps(tried: Tried) -> None:
        picker = tried.app.screen.query_one(Picker)
        picker.move(-99, -99)
        assert picker.choice == "A1"
        for _ in range(2 * CROSS.hard.steps - 1):
            for _ in range(2 * CROSS.soft.steps - 1):
                seen.add(picker.choice)
                picker.move(1)
            picker.move(-99, 1)
        picker.move(99, 99)
        assert picker.choice == "D5"

    walk(home, steps, desk=SPLIT)
    assert len(seen) == (2 * CROSS.hard.steps - 1) * (2 * CROSS.soft.steps - 1)
    assert {pick_cell(CROSS, name).name for name in seen} == seen


@pytest.mark.parametrize("size", EDGES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_the_cursor_is_in_sight_on_the_largest_cross_and_the_longest_strip(
    size: tuple[int, int], home: Path
) -> None:
    """What does not fit moves with the cursor; a click takes what is under the pointer then."""
    asked = AskedCross("00=10s", "5=10s", columns="12", rows="12", step="1/6", size="400x400")
    cross, strip = cross_asked(asked), Strip(base_s=8, step="1/12", patches=26)
    for made, last in (
        (Made(record_id="c1", mark="K5", cross=cross), "L12"),
        (Made(record_id="s1", mark="K6", strip=strip), "Z"),
    ):

        async def steps(tried: Tried, last: str = last) -> None:
            await tried.pilot.press(*(("right", "down") * 30))
            await tried.settle()
            assert f"{last}, " in tried.text
            await tried.click(f" {last} ")
            assert tried.unit.of(Ordered) == [Ordered(Order.PICK.value, last)]

        walk(home, steps, desk=Desk(made=made), size=size)


def test_a_click_between_two_cells_picks_between_them(home: Path) -> None:
    """The gap beside B3 is B3-B4; beyond the last column there is nothing."""

    async def steps(tried: Tried) -> None:
        picker = tried.app.screen.query_one(Picker)
        await tried.pilot.click(picker, offset=(17, 1))
        await tried.pilot.click(picker, offset=(29, 1))
        await tried.settle()
        assert tried.unit.of(Ordered) == [Ordered(Order.PICK.value, "B3-B4")]

    walk(home, steps, desk=SPLIT)


@pytest.mark.parametrize(
    ("key", "wish"), [("w", "wrong filter"), ("u", "unsure"), ("x", "spoiled")]
)
def test_wishes_about_a_sheet_are_for_when_one_is_in_hand(key: str, wish: str, home: Path) -> None:
    """The key does nothing on an idle bench, and tells the unit while a sheet is exposed."""

    async def steps(tried: Tried) -> None:
        await tried.press(key)
        assert tried.unit.of(Please) == []
        plan = SPLIT.plan(Order.PRINT, tried.unit.unit.rig)[0]
        tried.unit.tell(RunBegun("r9", plan.kind, plan.title, "{}", plan.to_json(), {}, "imagined"))
        await tried.settle()
        if wish == "spoiled":
            await tried.press(key)
            assert tried.unit.of(Please) == [], "it cannot be taken back: asked about first"
            assert "the same key again" in str(tried.unit.of(Say))
        await tried.press(key)
        assert tried.unit.of(Please) == [Please(wish)]
        assert "w filter" in " ".join(tried.text.split())

    walk(home, steps, desk=SPLIT)


@pytest.mark.parametrize(("key", "words"), [("t", "no print lies ready"), ("plus", "lies there")])
def test_what_cannot_be_ordered_says_so(key: str, words: str, home: Path) -> None:
    """A key that has nothing to choose from is answered by a sentence."""

    async def steps(tried: Tried) -> None:
        await tried.press(key)
        assert words in tried.text
        assert tried.unit.of(Ordered) == []

    walk(home, steps, desk=Desk())


@pytest.mark.parametrize("size", EDGES, ids=lambda size: f"{size[0]}x{size[1]}")
def test_each_row_of_a_score_is_on_the_screen(size: tuple[int, int], home: Path) -> None:
    """Every exposure and dodge with its seconds, at each size, none of them parted by the edge."""

    async def steps(tried: Tried) -> None:
        await tried.press("3")
        lines = tried.text.splitlines()
        for label, end in (
            ("soft ", "base 0"),
            ("hard ", "base -1/4"),
            ("dodge door", "from the start"),
            ("burn sky and cloud", "follows"),
            ("burn quay", "fixed"),
        ):
            assert any(label in line and end in line for line in lines), tried.text

    walk(home, steps, desk=SPLIT, size=size)


def test_what_is_held_back_has_lines_of_its_own_in_the_plan(home: Path) -> None:
    """The list of a running plan tells each dodge beneath its exposure."""

    async def steps(tried: Tried) -> None:
        plan = SPLIT.plan(Order.PRINT, tried.unit.unit.rig)[0]
        tried.unit.tell(RunBegun("r9", plan.kind, plan.title, "{}", plan.to_json(), {}, "imagined"))
        await tried.settle()
        assert "door held 0.0 to 3.6 s" in " ".join(tried.text.replace("│", " ").split())

    walk(home, steps, desk=SPLIT, size=SIZES[1])


def test_a_place_is_drawn_and_its_burn_strip_laid_ready(home: Path) -> None:
    """Two lines: a region of the sketch, then the strip that settles its burn; 2 shows it."""

    async def steps(tried: Tried) -> None:
        await tried.press("3", "slash")
        await tried.type("region sky=1-16:1-4")
        await tried.press("enter")
        assert lies_ready(tried).regions == {"S": "sky"}
        await tried.type("strip burn lake@print")
        await tried.press("enter")
        assert "no region 'lake'" in tried.text
        await tried.press("ctrl+u")
        await tried.type("strip burn sky@print by 1/2")
        await tried.press("enter")
        assert "the strip lies ready" in tried.text
        await tried.press("escape", "2")
        assert tried.unit.desk is not None
        strip = tried.unit.desk.strip
        assert strip.purpose is not None
        assert (strip.purpose.kind, strip.purpose.region, str(strip.step)) == ("burn", "sky", "1/2")
        await tried.press("escape", "1")
        assert tried.unit.desk.strip.purpose is not None

    walk(home, steps, desk=DESK)


def test_a_strip_over_other_exposures_is_typed(home: Path) -> None:
    """The field ``over`` holds what the whole piece gets first, and refuses what is none."""

    async def steps(tried: Tried) -> None:
        await tried.press("2")
        tried.app.screen.query_one("#over", Input).focus()
        await tried.settle()
        await tried.type("00=8.2")
        assert tried.unit.desk is not None
        assert [(b.filter, b.dose_s) for b in tried.unit.desk.strip.beneath] == [("00", 8.2)]
        await tried.type(", 5")
        assert "over" in tried.text
        assert "not understood" in tried.text

    walk(home, steps, desk=DESK)


def test_the_wall_map_is_written_from_the_palette(home: Path) -> None:
    """It lies beside the scores, and the room says where."""

    async def steps(tried: Tried) -> None:
        await tried.press("3")
        tried.app.screen.action_wall_map()  # type: ignore[attr-defined]
        await tried.settle()
        assert "wall map:" in tried.text

    walk(home, steps, desk=DESK)
    assert [path.suffix for path in folder().glob("*-map.pdf")] == [".pdf"]
