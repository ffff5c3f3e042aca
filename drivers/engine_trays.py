"""The engine's trays: their clock, the wet pedals, and spoken notes.

Nothing in here can light a lamp: what it gives is cues and remarks. What became of a sheet goes
to the book while no lamp is lit.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from controller.errors import BadInput, DrysideError
from controller.events import Event, Remark
from controller.ports import Cue, Sound
from controller.rig.model import Rig
from controller.trays.clock import Through, TraysView
from controller.trays.side import Chosen
from drivers.book_writer import BookWriter
from drivers.desk_store import DeskStore
from drivers.engine_notes import EngineNotes
from drivers.engine_wet import WetFoot, told_of
from drivers.engine_words import OfTrays

if TYPE_CHECKING:
    from controller.book.book import Book

CHOSEN_FILE = "trays.json"  # what was chosen, in the book's folder


class EngineTrays:
    """What happens on the wet side. ``folder`` is the book's; ``wake`` is called for news."""

    def __init__(
        self,
        rig: Rig,
        book: BookWriter,
        store: DeskStore,
        *,
        folder: Path,
        wake: Callable[[], None],
    ) -> None:
        self._book = book
        self._store = store
        self._wake = wake
        self._baths: list[Cue] = []  # what is to be said of baths
        self._told: set[str] = set()  # of them, once an evening
        self._path = folder / CHOSEN_FILE
        self._pace = rig.pace
        self._notes = EngineNotes(rig, store, folder, wake)
        self._wet = rig.wet_side()
        if not rig.trays.process:
            self._choose_again()
        self._feet = {
            pedal.name: WetFoot(
                self._notes, tapped=self._tapped, mark=lambda: self._wet.mark, pace=rig.pace
            )
            for pedal in rig.pedal
            if pedal.wet
        }

    @property
    def next_ns(self) -> int | None:
        """When ``step`` must be called again."""
        times = [self._wet.next_ns, *(foot.next_ns for foot in self._feet.values())]
        return min((each for each in times if each is not None), default=None)

    @property
    def is_busy(self) -> bool:
        """Is there a sheet that must still be called?"""
        return self._wet.next_ns is not None

    @property
    def owns_pedal(self) -> bool:
        """Is the one pedal the trays' now?"""
        return self._wet.owns_pedal

    def wait_s(self, now_ns: int, busy_s: float) -> int:
        """Say how long light should wait so as not to outlast the next move; 0: not."""
        return self._wet.wait_s(now_ns, busy_s)

    def news(self) -> TraysView | None:
        """Show the trays, if something changed since the last call."""
        is_changed, self._wet.changed = self._wet.changed, False
        return self._wet.view() if is_changed else None

    def view(self) -> TraysView:
        """Show the trays."""
        return self._wet.view()

    def lit(self, *, lit: bool) -> None:
        """Light falls, or is over: nothing is written down in between."""
        self._wet.lit(lit=lit)

    def hear(self, now_ns: int, event: Event) -> list[Cue]:
        """Take note of what the runner did; gives what is heard of it."""
        return self._wet.hear(now_ns, event)

    def tap(self, now_ns: int) -> list[Cue]:
        """A tap that is the trays'."""
        return self._tapped(now_ns)

    def pedal(self, now_ns: int, name: str, down: bool) -> list[Cue]:
        """A wet pedal went down, or came up; gives what is heard of it."""
        return self._feet[name].edge(now_ns, down)

    def pedal_gone(self, name: str) -> None:
        """A wet pedal was unplugged."""
        self._feet[name].gone()

    def asked(self, now_ns: int, asked: OfTrays) -> list[Cue]:
        """Do what a client asks of the trays; gives what is heard. Raises BadInput."""
        match asked.what:
            case "choose":
                cues = self._wet.choose(Chosen(asked.name, asked.celsius, asked.factor))
                self._store.keep(self._path, msgspec.json.encode(self._wet.chosen).decode())
                return cues
            case "put-in":
                return self._wet.put_in(now_ns, asked.name)
            case "take-off":
                return self._wet.take_off(now_ns, asked.name)
            case "tap":
                return self._tapped(now_ns)
        raise BadInput(f"trays know no {asked.what!r}", "trays", "choose, put-in, take-off or tap")

    def step(self, now_ns: int) -> list[Cue | Remark]:
        """Let time pass; gives what is to be heard, and what is to be written down."""
        done: list[Cue | Remark] = [*self._wet.step(now_ns), *self._came(now_ns), *self._baths]
        self._baths.clear()
        done += [cue for foot in self._feet.values() for cue in foot.wake(now_ns)]
        done += [told_of(news) for news in self._notes.news()]
        return done

    def close(self, now_ns: int) -> list[Remark]:
        """Let go of the microphone; gives what is still to be written down."""
        self._notes.close()
        self._wet.lit(lit=False)
        for mark in self._wet.clock.marks:
            self._wet.clock.take_off(now_ns, mark)  # nobody will call it any more
        return self._came(now_ns, all_of_them=True)

    # -- inside ------------------------------------------------------------------------------

    def _came(self, now_ns: int, *, all_of_them: bool = False) -> list[Remark]:
        """Write down the sheets that came through, and count them through their baths."""
        through = self._wet.through(None if all_of_them else now_ns)
        for sheet in through:
            # it is written down some time after it came: its own times are of the clock's
            since_s = (now_ns - (now_ns if sheet.ended_ns is None else sheet.ended_ns)) / 1e9
            since_s /= self._pace
            came = datetime.now(UTC) - timedelta(seconds=since_s)
            job = partial(_keep, sheet, came, self._wet.chosen.celsius, self._told)
            self._book.ask(job, self._hear_of_baths)
        return [sheet.remark for sheet in through if sheet.remark]

    def _hear_of_baths(self, said: list[str]) -> None:
        self._baths += [Cue(each, Sound.ATTENTION) for each in said]
        self._wake()

    def _tapped(self, now_ns: int) -> list[Cue]:
        return self._wet.tap(now_ns)

    def _choose_again(self) -> None:
        """Go on with what was chosen last."""
        chosen = chosen_last(self._path.parent)
        if not chosen.process:
            return  # nothing: how warm the trays are stays as the rig file has it
        with suppress(DrysideError):  # it means nothing any more
            self._wet.choose(chosen)


def chosen_last(folder: Path) -> Chosen:
    """Give what prints went through last; nothing where that is not known."""
    try:
        return msgspec.json.decode((folder / CHOSEN_FILE).read_bytes(), type=Chosen)
    except (OSError, msgspec.DecodeError):
        return Chosen()


def _keep(sheet: Through, at: datetime, celsius: float, told: set[str], book: Book) -> list[str]:
    """Keep a sheet's way, in the book's thread; gives what is to be said of its baths."""
    from controller.trays.kept import keep_through

    return keep_through(book, sheet, at, celsius, told=told)
