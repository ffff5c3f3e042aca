"""The engine's desk: what lies ready, kept over the night, and the menu of an idle foot."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import ValidationError

from controller.book.entries import Judged
from controller.book.faults import BookFault
from controller.cross import Cross
from controller.desk import Desk, Lying, Made
from controller.errors import BadInput
from controller.events import Fate
from controller.menu import Menu, Said
from controller.orders import Order, Ordered
from controller.rig.model import Rig
from controller.score.again import OF_A_SCORE
from controller.score.file import save_score
from controller.score.model import Score
from controller.strip import Strip
from controller.told import Run

if TYPE_CHECKING:
    from controller.book.book import Book

DESK_FILE = "desk.json"


class EngineDesk:
    """Holds the desk.

    ``do`` has something done by the book's thread, where a slow memory card holds up nothing.
    """

    def __init__(
        self, rig: Rig, folder: Path, do: Callable[[Callable[[Book], object]], None]
    ) -> None:
        self._rig = rig
        self._path = folder / DESK_FILE
        self._do = do
        self._menu = Menu(rig.foot_times())
        self.notice = ""
        self.desk = self._load()

    @property
    def next_ns(self) -> int | None:
        """When ``step`` must be called again."""
        return self._menu.next_ns

    def step(self, now_ns: int, down: bool | None = None) -> list[Said]:
        """Let the foot choose; gives what is said or ordered."""
        return self._menu.step(now_ns, self.desk, down)

    def arrange(self, text: str) -> None:
        """Lay something else ready. Raises BadInput."""
        try:
            self._put(Desk.model_validate_json(text))
        except ValidationError as error:
            what = error.errors(include_url=False)[0]["msg"]
            raise BadInput(what, "desk", "a desk as the engine tells it") from None

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
        self._do(
            lambda book: book.add_pick(
                picked.choice,
                dose_s=picked.dose_s,
                stops=picked.stops,
                judged=Judged(desk.judged),
                record_id=made.record_id,
                filter=picked.filter,
            )
        )
        return picked.said

    def _put(self, desk: Desk) -> None:
        before = self.desk
        # a file that was only opened stays as its writer left it, comments and all
        is_changed = desk.score != before.score and desk.kept_as == before.kept_as
        if desk.score is not None and desk.kept_as and is_changed:
            score, path = desk.score, Path(desk.kept_as)
            self._do(lambda _book: _written(lambda: save_score(score, path)))
        self.desk = desk
        text = desk.model_dump_json(indent=1)
        self._do(lambda _book: _written(lambda: _replace(self._path, text)))

    def _load(self) -> Desk:
        try:
            return Desk.model_validate_json(self._path.read_bytes())
        except FileNotFoundError:
            return Desk()
        except (OSError, ValidationError):
            self.notice = f"{self._path} cannot be read; the desk begins empty"
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


def _written(write: Callable[[], None]) -> None:
    """Write a file beside the book. Raises BookFault: its thread goes on after that alone."""
    try:
        write()
    except BadInput as error:
        raise BookFault(f"{error.where}: {error.what}") from None
    except OSError as error:
        raise BookFault(f"the desk cannot be kept: {error.strerror}") from None


def _replace(path: Path, text: str) -> None:
    """Replace a file in one step, durably."""
    part = path.with_name(path.name + ".part")
    with part.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)
