"""The engine's desk: what lies ready, kept over the night, and the menu of an idle foot."""

from __future__ import annotations

import os
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from pydantic import ValidationError

from controller.desk import Desk, Made
from controller.errors import BadInput
from controller.events import Fate
from controller.menu import Menu, Said
from controller.orders import Order, Ordered
from controller.rig.model import Rig
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
        plan, spec = self.desk.plan(order, self._rig)
        return Run(uuid.uuid4().hex, plan, spec, self._rig.name)

    def over(self, run: Run, mark: str, fate: Fate | None) -> None:
        """Take note of a run that is over: a strip that was made can be picked from."""
        if run.plan.kind == "strip" and fate is Fate.DONE:
            try:
                strip = Strip.model_validate_json(run.spec)
            except ValidationError:
                return  # a strip of some other kind
            made = Made(record_id=run.record_id, mark=mark, strip=strip)
            self._put(self.desk.model_copy(update={"made": made, "strip": strip}))

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
                judged=picked.judged,
                record_id=made.record_id,
                filter=made.strip.filter,
            )
        )
        return f"picked {picked.choice.replace('-', ' ')}, {picked.dose_s:.1f} seconds"

    def _put(self, desk: Desk) -> None:
        self.desk = desk
        text = desk.model_dump_json(indent=1)
        self._do(lambda _book: _replace(self._path, text))

    def _load(self) -> Desk:
        try:
            return Desk.model_validate_json(self._path.read_bytes())
        except FileNotFoundError:
            return Desk()
        except (OSError, ValidationError):
            self.notice = f"{self._path} cannot be read; the desk begins empty"
            return Desk()


def _replace(path: Path, text: str) -> None:
    """Replace a file in one step, durably."""
    part = path.with_name(path.name + ".part")
    with part.open("w", encoding="utf-8") as file:
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    part.replace(path)
