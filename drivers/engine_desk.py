"""The engine's desk: what lies ready, kept over the night, and the menu of an idle foot."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import ValidationError

from controller.book.entries import Judged
from controller.desk.desk import Desk, Lying, Made
from controller.desk.menu import Menu, OffersOfPaper, Said, Together
from controller.desk.orders import Order, Ordered
from controller.errors import BadInput
from controller.events import Fate, Remark
from controller.exposing.told import Run
from controller.ports import Cue, Sound
from controller.rig.model import Rig
from controller.score.again import OF_A_SCORE
from controller.score.dry_down import with_remembered
from controller.score.model import Score
from controller.strips.cross import Cross
from controller.strips.strip import Strip
from drivers.book_writer import BookWriter
from drivers.desk_store import DeskStore

if TYPE_CHECKING:
    from controller.book.entries import DryDownEntry, Pick


class EngineDesk:
    """Holds the desk. ``book`` is asked in its own thread, ``store`` writes in another.

    What the book answers is taken up by ``hear_book``.
    """

    def __init__(self, rig: Rig, book: BookWriter, store: DeskStore) -> None:
        self._rig = rig
        self._book = book
        self._store = store
        self._menu = Menu(rig.foot_times(rig.pace))
        self._told: list[Cue] = []
        self.notice = ""
        self.desk = self._load()

    @property
    def next_ns(self) -> int | None:
        """When ``step`` must be called again."""
        return self._menu.next_ns

    def step(self, now_ns: int, paper: OffersOfPaper, down: bool | None = None) -> list[Said]:
        """Let the foot choose; gives what is said or ordered. ``paper`` offers something too."""
        return self._menu.step(now_ns, Together(paper, self.desk), down)

    def pedal_gone(self, now_ns: int, paper: OffersOfPaper) -> list[Said]:
        """A pedal was unplugged while it was down; gives what is said."""
        return self._menu.gone(now_ns, Together(paper, self.desk))

    def offer(self, now_ns: int, paper: OffersOfPaper, order: Order) -> list[Said]:
        """Speak the choices of an order at once, where it has any."""
        return self._menu.offer(now_ns, Together(paper, self.desk), order)

    def arrange(self, text: str) -> None:
        """Lay something else ready. Raises BadInput."""
        before = self.desk
        try:
            self._put(Desk.model_validate_json(text))
        except ValidationError as error:
            what = error.errors(include_url=False)[0]["msg"]
            raise BadInput(what, "desk", "a desk as the engine tells it") from None
        if _is_another_paper(before, self.desk):
            self._ask_dry_down()

    def order(self, ordered: Ordered) -> Run | str:
        """Carry an order out: a run that is to begin, or what is to be said.

        Raises BadInput or Refused.
        """
        order = Order(ordered.order)
        if order is Order.PICK:
            return self._pick(ordered.choice)
        return self.desk.run(order, self._rig, ordered.choice)

    def over(self, run: Run, mark: str, number: int, fate: Fate | None) -> None:
        """Take note of a run that is over: what was made can be picked from, or added to.

        ``number`` is that of the last exposure of its record.
        """
        update: dict[str, object] = {}
        if fate is Fate.DONE:
            try:
                update = _after(run, mark, number)
            except ValidationError:
                return  # a spec of some other kind
        elif run.plan.kind in (*OF_A_SCORE, "strip", "cross"):
            update = {"lying": None}  # the sheet that lay there is gone, or spoiled
        if update:
            self._put(self.desk.model_copy(update=update))

    def _pick(self, choice: str) -> str:
        desk, picked = self.desk.pick(choice)
        made = desk.made
        assert made is not None
        self._put(desk)
        if under := self._rig.judged_under(picked.choice, Judged(desk.judged)):
            self._book.write(Remark(made.record_id, under, mark=made.mark))
        self._book.ask(
            lambda book: book.add_pick(
                picked.choice,
                dose_s=picked.dose_s,
                stops=picked.stops,
                judged=Judged(desk.judged),
                record_id=made.record_id,
                filter=picked.filter,
            ),
            self._warn,
        )
        self._ask_dry_down()
        return picked.said

    def _warn(self, pick: Pick) -> None:
        if pick.warning():
            self._told.append(Cue(pick.warning(), Sound.ATTENTION))

    def hear_book(self) -> list[Cue]:
        """Take what the book has answered; gives what is told of it. The desk may be another."""
        for answered in self._book.answers():
            answered()
        told, self._told = self._told, []
        return told

    def _ask_dry_down(self) -> None:
        """Let the book tell what the score's paper was found to need, if the score does not."""
        paper = self.desk.score.paper if self.desk.score else None
        if paper is None or paper.dry_down or not paper.name:
            return
        name, batch = paper.name, paper.batch

        def remembered(found: DryDownEntry | None) -> None:
            score = self.desk.score  # it may have become another since
            if found is None or score is None:
                return
            if (score.paper.name, score.paper.batch) != (name, batch) or score.paper.dry_down:
                return
            self._put(self.desk.model_copy(update={"score": with_remembered(score, found.percent)}))
            text = f"dry-down {found.percent:g} percent, remembered for {name}"
            self._told.append(Cue(text, Sound.ATTENTION))

        self._book.ask(lambda book: book.dry_down(name, batch), remembered)

    def _put(self, desk: Desk) -> None:
        before = self.desk
        # a file that was only opened stays as its writer left it, comments and all
        is_changed = desk.score != before.score and desk.kept_as == before.kept_as
        if desk.score is not None and desk.kept_as and is_changed:
            score, path = desk.score, Path(desk.kept_as)
            self._store.keep_score(score, path)
        self.desk = desk
        self._store.keep_desk(desk.model_dump_json(indent=1))

    def _load(self) -> Desk:
        try:
            return Desk.model_validate_json(self._store.path.read_bytes())
        except FileNotFoundError:
            return Desk()
        except (OSError, ValidationError):
            self.notice = f"{self._store.path} cannot be read; the desk begins empty"
            return Desk()


def _after(run: Run, mark: str, number: int) -> dict[str, object]:
    """Say what of the desk changes after a run that was done. Raises ValidationError."""
    match run.plan.kind:
        case "strip":
            strip = Strip.model_validate_json(run.spec)
            made = Made(record_id=run.record_id, mark=mark, strip=strip)
            return {"made": made, "strip": strip, "lying": None}
        case "cross":
            cross = Cross.model_validate_json(run.spec)
            made = Made(record_id=run.record_id, mark=mark, cross=cross)
            return {"made": made, "cross": cross, "lying": None}
        case kind if kind in OF_A_SCORE:
            score = Score.model_validate_json(run.spec)
            lying = Lying(record_id=run.record_id, mark=mark, number=number, score=score)
            return {"lying": lying}
    return {}


def _is_another_paper(before: Desk, after: Desk) -> bool:
    """Was another paper written into the score that lies ready? One just opened is as it is."""
    if before.score is None or after.score is None or before.kept_as != after.kept_as:
        return False
    had, has = before.score.paper, after.score.paper
    return (had.name, had.batch) != (has.name, has.batch)
