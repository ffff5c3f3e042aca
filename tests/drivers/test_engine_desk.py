"""The engine's desk: a score that is kept in a file, files that cannot be written, the book."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

import pytest

from controller.book.book import Book
from controller.desk.desk import Desk, Made
from controller.desk.orders import Order, Ordered
from controller.events import Intended, Remark, RunBegun, SheetBegun
from controller.rig.file import load_rig
from controller.score.file import load_score, save_score
from controller.score.model import Score
from controller.score.new import demonstration
from controller.strips.strip import Strip
from drivers.book_writer import BookWriter
from drivers.desk_store import DESK_FILE, DeskStore
from drivers.engine_desk import EngineDesk
from tests.drivers.kept import wait_for

RIG = load_rig("tungsten")
ONE = Score.model_validate({"base_s": 12, "passes": [{"label": "print"}]})


@pytest.fixture
def store(tmp_path: Path) -> Iterator[DeskStore]:
    made = DeskStore(tmp_path, lambda: None)
    yield made
    made.close()


@pytest.fixture
def engine(tmp_path: Path, store: DeskStore) -> EngineDesk:
    """Give a desk whose book never answers."""
    return EngineDesk(RIG, BookWriter(tmp_path / "book", tmp_path, lambda: None), store)


@pytest.fixture
def writer(tmp_path: Path) -> Iterator[BookWriter]:
    made = BookWriter(tmp_path / "book.sqlite", tmp_path, lambda: None)
    made.start()
    yield made
    made.close()


@contextmanager
def book(tmp_path: Path) -> Iterator[Book]:
    with Book.open(tmp_path / "book.sqlite", now=lambda: datetime.now(UTC), check=False) as opened:
        yield opened


def heard(engine: EngineDesk) -> list[str]:
    """Wait for what the book's answer leads to."""
    told: list[str] = []

    def has_answered() -> bool:
        told.extend(cue.text for cue in engine.hear_book())
        return bool(told)

    wait_for(has_answered)
    return told


def test_a_change_goes_into_the_file_and_opening_does_not(
    tmp_path: Path, engine: EngineDesk, store: DeskStore
) -> None:
    """A file that is only opened keeps its comments; what is changed afterwards is written."""
    path = tmp_path / "one.toml"
    save_score(ONE, path)
    with_comment = "# mine\n" + path.read_text()
    path.write_text(with_comment)
    opened = Desk(score=load_score(path), kept_as=str(path))
    engine.arrange(opened.model_dump_json())
    assert store.flush()
    assert path.read_text() == with_comment
    changed = opened.model_copy(update={"score": ONE.model_copy(update={"base_s": 10.0})})
    engine.arrange(changed.model_dump_json())
    assert store.flush()
    assert load_score(path).base_s == 10


def test_a_pick_for_another_print_leaves_the_file_alone(
    tmp_path: Path, engine: EngineDesk, store: DeskStore
) -> None:
    """One patch without a filter is no split-contrast print: the kept one stays as it is."""
    path = tmp_path / "harbour.toml"
    save_score(demonstration(), path)
    made = Made(record_id="r1", mark="K1", strip=Strip(base_s=8))
    desk = Desk(score=demonstration(), kept_as=str(path), made=made)
    engine.arrange(desk.model_dump_json())
    engine.order(Ordered(Order.PICK.value, "C"))
    assert engine.desk.score is not None
    assert engine.desk.score.passes[0].label == "print"
    assert engine.desk.kept_as == ""
    assert store.flush()
    assert load_score(path) == demonstration()


def test_a_pick_for_the_kept_print_goes_into_its_file(
    tmp_path: Path, engine: EngineDesk, store: DeskStore
) -> None:
    """The same light as the score has: the file follows."""
    path = tmp_path / "one.toml"
    made = Made(record_id="r1", mark="K1", strip=Strip(base_s=8))
    engine.arrange(Desk(score=ONE, kept_as=str(path), made=made).model_dump_json())
    engine.order(Ordered(Order.PICK.value, "A"))
    assert store.flush()
    assert load_score(path).base_s == 8
    assert engine.desk.kept_as == str(path)


@pytest.mark.parametrize("what", ["score", "desk"])
def test_a_file_that_cannot_be_written_is_told_once_and_costs_no_other(
    what: str, tmp_path: Path, engine: EngineDesk, store: DeskStore
) -> None:
    """A folder that went, or one named desk.json.part: one sentence, and the other is written."""
    path = tmp_path / "scores" / "one.toml"
    if what == "desk":
        path.parent.mkdir()
        (tmp_path / (DESK_FILE + ".part")).mkdir()
    told = []
    for base_s in (12.0, 10.0, 9.0):
        score = ONE.model_copy(update={"base_s": base_s})
        engine.arrange(Desk(score=score, kept_as=str(path)).model_dump_json())
        assert store.flush()
        told += store.notices()
    assert len(told) == 1
    assert "cannot be written" in told[0]
    assert path.exists() is (what == "desk")
    assert (tmp_path / DESK_FILE).exists() is (what == "score")


def test_nothing_is_begun_on_the_disk_while_the_lamp_is_lit(
    tmp_path: Path, engine: EngineDesk, store: DeskStore
) -> None:
    """What is arranged between two edges of an exposure is written after the second."""
    store.hold(lit=True)
    engine.arrange(Desk(sheets=2).model_dump_json())
    engine.arrange(Desk(sheets=3).model_dump_json())
    assert not store.flush(wait_s=0.05)
    assert not (tmp_path / DESK_FILE).exists()
    store.hold(lit=False)
    assert store.flush()
    assert Desk.model_validate_json((tmp_path / DESK_FILE).read_bytes()).sheets == 3


def test_what_was_arranged_last_is_kept_when_the_engine_ends_in_the_light(
    tmp_path: Path, engine: EngineDesk, store: DeskStore
) -> None:
    """Ended while held: all that waits is written before the thread goes."""
    store.hold(lit=True)
    engine.arrange(Desk(sheets=4).model_dump_json())
    store.close()
    assert Desk.model_validate_json((tmp_path / DESK_FILE).read_bytes()).sheets == 4


def _no_space(_book: Book) -> None:
    raise OSError(28, "No space left on device")


def _slip(_book: Book) -> None:
    raise KeyError("a slip")


@pytest.mark.parametrize("job", [_no_space, _slip])
def test_whatever_one_job_raises_the_next_intention_is_acknowledged(
    job: Callable[[Book], None], writer: BookWriter, tmp_path: Path
) -> None:
    """The book's thread outlives every job; the fault is told once until something is written."""
    for _ in range(3):
        writer.ask(job, lambda _: None)
    writer.write(RunBegun("r1", "strip", "a strip", "{}", "{}", {}, "tungsten"))
    writer.write(SheetBegun("r1", "K1", 203, 25))
    writer.write(Intended("r1", 1, "K1", "A", 8.0, 1, 1))
    wait_for(writer.noted)
    told = [text for text in writer.notices() if "not kept" in text]
    assert len(told) == 1
    with book(tmp_path) as opened:
        assert opened.record("r1") is not None


def test_the_desk_is_kept_while_the_book_is_down(tmp_path: Path, store: DeskStore) -> None:
    """A book that cannot be opened takes nothing else with it."""
    (tmp_path / "book.sqlite").mkdir()
    writer = BookWriter(tmp_path / "book.sqlite", tmp_path, lambda: None)
    writer.start()
    engine = EngineDesk(RIG, writer, store)
    engine.arrange(Desk(sheets=5).model_dump_json())
    assert store.flush()
    writer.close()
    assert any("without the book" in text for text in writer.notices())
    assert Desk.model_validate_json((tmp_path / DESK_FILE).read_bytes()).sheets == 5


def test_picking_an_unsure_patch_is_warned_of(
    tmp_path: Path, writer: BookWriter, store: DeskStore
) -> None:
    """The card moved late in D: who picks it by foot or key hears so, as at the command line."""
    engine = EngineDesk(RIG, writer, store)
    for event in (
        RunBegun("r1", "strip", "a strip", "{}", "{}", {}, "tungsten"),
        SheetBegun("r1", "K1", 203, 25),
        Remark("r1", "unsure: the card moved late", "D"),
    ):
        writer.write(event)
    made = Made(record_id="r1", mark="K1", strip=Strip(base_s=8))
    engine.arrange(Desk(made=made).model_dump_json())
    engine.order(Ordered(Order.PICK.value, "D"))
    assert heard(engine) == ["patch D was marked unsure"]


def test_a_paper_s_remembered_dry_down_comes_with_its_name(
    tmp_path: Path, writer: BookWriter, store: DeskStore
) -> None:
    """Another paper written into the score that lies ready brings what the book knows of it."""
    path = tmp_path / "one.toml"
    engine = EngineDesk(RIG, writer, store)
    with book(tmp_path) as opened:
        opened.add_dry_down("pearl", 8.0)
    engine.arrange(Desk(score=ONE, kept_as=str(path)).model_dump_json())
    paper = ONE.paper.model_copy(update={"name": "pearl"})
    score = ONE.model_copy(update={"paper": paper})
    engine.arrange(Desk(score=score, kept_as=str(path)).model_dump_json())
    assert heard(engine) == ["dry-down 8 percent, remembered for pearl"]
    assert engine.desk.score is not None
    assert engine.desk.score.paper.dry_down == "8%"
    assert store.flush()
    assert load_score(path).paper.dry_down == "8%"


def test_a_score_that_is_only_opened_gets_no_dry_down(
    tmp_path: Path, writer: BookWriter, store: DeskStore
) -> None:
    """What another file says of its paper stays as its writer left it."""
    engine = EngineDesk(RIG, writer, store)
    with book(tmp_path) as opened:
        opened.add_dry_down("pearl", 8.0)
    engine.arrange(Desk(score=ONE).model_dump_json())
    paper = ONE.paper.model_copy(update={"name": "pearl"})
    other = ONE.model_copy(update={"paper": paper})
    engine.arrange(Desk(score=other, kept_as=str(tmp_path / "other.toml")).model_dump_json())
    done = threading.Event()
    writer.ask(lambda _: None, lambda _: done.set())  # answers come in their order
    wait_for(lambda: engine.hear_book() or done.is_set())
    assert engine.desk.score == other
