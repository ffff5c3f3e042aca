"""The engine's tests of the room: begun by an order, and read by answering one question at a time.

A sheet that was made and not read yet waits here; `dryside room read` reads it as well, since
the book has it.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

from pydantic import ValidationError

from controller.desk.orders import Order
from controller.errors import BadInput
from controller.events import Fate
from controller.exposing.bench import ProvingView
from controller.exposing.told import Run
from controller.rig.model import Rig
from controller.room.advice import advise
from controller.room.asking import plan_sheet
from controller.room.by_ear import SheetRead
from controller.room.change import with_flash, with_test, without_at_work
from controller.room.file import save_room
from controller.room.model import Room
from controller.room.overview import briefly
from controller.room.proving import can_be_left_out, offers, sheet_called
from controller.room.reading import SHEETS, sheet_of
from controller.room.results import predict
from controller.room.room_watch import RoomWatch
from drivers.desk_store import DeskStore

NOTHING_TO_READ = "no test of the room waits to be read"


class EngineProving:
    """Offers tests of the room beside what its watch over paper offers."""

    def __init__(
        self,
        rig: Rig,
        watch: RoomWatch,
        store: DeskStore,
        *,
        room_file: Path,
        changed: Callable[[Room], None],
    ) -> None:
        self._rig = rig
        self._watch = watch
        self._store = store
        self._room_file = room_file
        self._changed = changed
        self._reading: SheetRead | None = None

    @property
    def _room(self) -> Room:
        return self._watch.paper.room

    # -- what is offered ---------------------------------------------------------------------

    def orders(self) -> list[Order]:
        """Give what is likely to be asked for next: reading a sheet that was made."""
        return [*([Order.READ_TEST] if self._reading else []), *self._watch.orders()]

    def later_orders(self) -> list[Order]:
        """Give what else can be asked for."""
        room = self._room
        more = [Order.ROOM_TEST] if offers(room) else []
        more += [Order.LEAVE_OUT] if room.tests and can_be_left_out(room) else []
        return [*self._watch.later_orders(), *more]

    def choices(self, order: Order) -> list[str]:
        """Give what can be chosen from for an order."""
        match order:
            case Order.ROOM_TEST:
                return offers(self._room)
            case Order.READ_TEST:
                question = self._reading.question if self._reading else None
                return list(question.answers) if question else []
            case Order.LEAVE_OUT:
                return can_be_left_out(self._room)
        return self._watch.choices(order)

    def view(self) -> ProvingView:
        """Show what is offered and asked."""
        question = self._reading.question if self._reading else None
        return ProvingView(
            tuple(offers(self._room)),
            question.text if question else "",
            question.answers if question else (),
        )

    # -- what is ordered -----------------------------------------------------------------------

    def run(self, choice: str) -> Run:
        """Make the run of a test. Raises BadInput or Refused."""
        sheet = sheet_called(choice, self._room)
        plan = plan_sheet(sheet, self._rig, self._room)
        return Run(uuid.uuid4().hex, plan, sheet.model_dump_json(), self._rig.name)

    def over(self, run: Run, mark: str, fate: Fate | None) -> None:
        """Take note of a run that is over: a sheet that can be read waits for it."""
        if run.plan.kind not in SHEETS or fate is not Fate.DONE:
            return
        try:
            self._reading = SheetRead(mark, sheet_of(run.plan.kind, run.spec))
        except ValidationError:
            self._reading = None  # of another version

    def answer(self, choice: str) -> str:
        """Take an answer; gives what is told: the next question, or what follows for the room.

        Raises BadInput.
        """
        reading = self._reading
        if reading is None:
            raise BadInput(NOTHING_TO_READ, "room read", "room test first")
        reading = reading.answered(choice)
        self._reading = reading
        question = reading.question
        if question is not None:
            return question.text
        self._reading = None
        return self._settle(reading)

    def leave_out(self, name: str) -> str:
        """Leave a light dark while paper is out; gives what is told. Raises BadInput."""
        left = can_be_left_out(self._room)
        if name not in left:
            right = " or ".join(left) or "nothing now"
            raise BadInput(f"{name or 'no light'!r} is not to be left out", "room", right)
        self._keep(without_at_work(self._room, name))
        return f"{name} stays dark while paper is out"

    def _settle(self, reading: SheetRead) -> str:
        room = self._room
        flash = reading.flash()
        if flash is not None:
            self._keep(with_flash(room, flash))
            return f"the flash is {flash.exposure_s:.2g} seconds, kept"
        if reading.flash_missed:
            return reading.flash_missed
        results = reading.results(datetime.now().astimezone().replace(tzinfo=None))
        for result in results:
            room = with_test(room, result)
        self._keep(room)
        today = datetime.now().astimezone().date()
        told = []
        for result in results:
            safe = predict(room, result.lights, at=result.at, today=today).safe
            if safe is not None:
                names = " and ".join(result.lights)
                told.append(f"{names}: safe {briefly(safe)} at the {result.at.value}")
        if results:
            found = advise(room, at=results[0].at, today=today).advice
            told += [one.line.partition(";")[0] for one in found[:1]]
        return "; ".join(dict.fromkeys(told))

    def _keep(self, room: Room) -> None:
        self._store.do(self._room_file, lambda: save_room(room, self._room_file))
        self._changed(room)
