"""The engine's desk: a score that is kept in a file, and files that cannot be written."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from controller.book.faults import BookFault
from controller.desk import Desk, Made
from controller.orders import Order, Ordered
from controller.rig.file import load_rig
from controller.score.file import load_score, save_score
from controller.score.model import Score
from controller.score.new import demonstration
from controller.strip import Strip
from drivers.engine_desk import DESK_FILE, EngineDesk

RIG = load_rig("tungsten")
ONE = Score.model_validate({"base_s": 12, "passes": [{"label": "print"}]})


class NoBook:
    """Takes picks, and keeps none."""

    def add_pick(self, *_: object, **__: object) -> None:
        return None


def at_once(job: Callable[..., object]) -> None:
    job(NoBook())


def test_a_change_goes_into_the_file_and_opening_does_not(tmp_path: Path) -> None:
    """A file that is only opened keeps its comments; what is changed afterwards is written."""
    path = tmp_path / "one.toml"
    save_score(ONE, path)
    with_comment = "# mine\n" + path.read_text()
    path.write_text(with_comment)
    engine = EngineDesk(RIG, tmp_path, at_once)
    opened = Desk(score=load_score(path), kept_as=str(path))
    engine.arrange(opened.model_dump_json())
    assert path.read_text() == with_comment
    changed = opened.model_copy(update={"score": ONE.model_copy(update={"base_s": 10.0})})
    engine.arrange(changed.model_dump_json())
    assert load_score(path).base_s == 10


def test_a_pick_for_another_print_leaves_the_file_alone(tmp_path: Path) -> None:
    """One patch without a filter is no split-contrast print: the kept one stays as it is."""
    path = tmp_path / "harbour.toml"
    save_score(demonstration(), path)
    engine = EngineDesk(RIG, tmp_path, at_once)
    made = Made(record_id="r1", mark="K1", strip=Strip(base_s=8))
    desk = Desk(score=demonstration(), kept_as=str(path), made=made)
    engine.arrange(desk.model_dump_json())
    engine.order(Ordered(Order.PICK.value, "C"))
    assert engine.desk.score is not None
    assert engine.desk.score.passes[0].label == "print"
    assert engine.desk.kept_as == ""
    assert load_score(path) == demonstration()


def test_a_pick_for_the_kept_print_goes_into_its_file(tmp_path: Path) -> None:
    """The same light as the score has: the file follows."""
    path = tmp_path / "one.toml"
    engine = EngineDesk(RIG, tmp_path, at_once)
    made = Made(record_id="r1", mark="K1", strip=Strip(base_s=8))
    engine.arrange(Desk(score=ONE, kept_as=str(path), made=made).model_dump_json())
    engine.order(Ordered(Order.PICK.value, "A"))
    assert load_score(path).base_s == 8
    assert engine.desk.kept_as == str(path)


@pytest.mark.parametrize("what", ["score", "desk"])
def test_a_file_that_cannot_be_written_is_one_sentence_for_the_book_s_thread(
    what: str, tmp_path: Path
) -> None:
    """What that thread lives through is BookFault; anything else would end it, and all light."""
    jobs: list[Callable[..., object]] = []
    engine = EngineDesk(RIG, tmp_path, jobs.append)
    kept_as = str(tmp_path / "gone" / "one.toml") if what == "score" else ""
    engine.arrange(Desk(score=None, kept_as=kept_as).model_dump_json())
    jobs.clear()
    engine.arrange(Desk(score=ONE, kept_as=kept_as).model_dump_json())
    if what == "desk":
        (tmp_path / (DESK_FILE + ".part")).mkdir()
    with pytest.raises(BookFault, match="cannot be"):
        jobs[0](NoBook())
