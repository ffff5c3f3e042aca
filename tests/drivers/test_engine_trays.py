"""The trays in the engine: called on time, shown to clients, and written down."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic, monotonic_ns

import pytest

from controller.book.book import Book
from controller.book.wet import sheets_wet
from controller.chemistry import shelf
from controller.chemistry.bath import EIGHT_BY_TEN_M2
from controller.chemistry.product import shipped
from controller.enlarger.lamp import ns
from controller.errors import BadInput
from controller.exposing.told import Run
from controller.plan import Expose, Go, Plan, Sheet
from controller.ports import Cue, Sound
from controller.rig.file import load_rig
from controller.rig.model import PedalAt, Rig, TraysAt
from controller.trays.clock import TraysView
from controller.trays.side import TO_TRAYS
from drivers.book_writer import BookWriter
from drivers.desk_store import DeskStore
from drivers.engine import Engine
from drivers.engine_trays import EngineTrays
from drivers.engine_words import OfTrays
from drivers.places import book_path, room_path, run_folder
from tests.drivers.unit_on_bench import QUICK, Bench, unit

PRINT = Plan("print", "a print", (Sheet(203, 254), Go("print", lead_in_s=0.1), Expose("A", 0.5)))
QUICK_TRAYS = (*QUICK, "trays.process=fibre", "trays.count_in_s=0.5")


def rig(*pedals: str, process: str = "fibre") -> Rig:
    at = tuple(PedalAt(name=name, driver="test", address=name) for name in pedals)
    fields = {"pedal": at, "trays": TraysAt(process=process)}
    return load_rig("tungsten", QUICK).model_copy(update=fields)


class Followed(Bench):
    """A bench whose client keeps what it is shown of the trays."""

    def __init__(self, settings: tuple[str, ...]) -> None:
        super().__init__(settings)
        self.trays: list[TraysView] = []
        receive = self.client.receive

        def kept(wait_s: float) -> list[object]:
            messages = list(receive(wait_s))
            self.trays += [message for message in messages if isinstance(message, TraysView)]
            return messages

        self.client.receive = kept  # type: ignore[method-assign, assignment]


@pytest.mark.real
def test_a_print_is_called_into_its_first_tray_after_its_light(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The engine says it, shows it to its clients, and a client can take it off the clock."""
    monkeypatch.setattr("tests.drivers.unit_on_bench.Bench", Followed)
    with unit(tmp_path, QUICK_TRAYS) as bench:
        assert isinstance(bench, Followed)
        bench.start(PRINT)
        bench.until(lambda: any(" in, developer" in cue.text for cue in bench.cues))
        bench.until(lambda: any(v.lines and v.lines[0].where == "developer" for v in bench.trays))
        (line,) = bench.trays[-1].lines
        assert (line.then, line.process) == ("lift", "fibre")
        bench.client.send(OfTrays("take-off", line.mark))
        bench.until(lambda: not bench.trays[-1].lines)


class Wet:
    """The engine's trays with a book and a store of their own."""

    def __init__(self, folder: Path, asked: Rig) -> None:
        self.path = folder / "book.sqlite"
        self.store = DeskStore(folder, lambda: None)
        self.writer = BookWriter(self.path, folder, lambda: None)
        self.writer.start()
        self.trays = EngineTrays(asked, self.writer, self.store, folder=folder, wake=lambda: None)

    def close(self) -> None:
        self.trays.close(ns(400))
        self.store.close()
        self.writer.close()


@pytest.fixture
def wet(tmp_path: Path) -> Iterator[Callable[[Rig], Wet]]:
    opened: list[Wet] = []

    def of(asked: Rig) -> Wet:
        for before in opened:
            before.close()
        opened[:] = [Wet(tmp_path, asked)]
        return opened[0]

    yield of
    for each in opened:
        each.close()


def test_a_sheet_taken_from_the_fixer_is_kept_as_under_fixed(wet: Callable[[Rig], Wet]) -> None:
    """What was counted no more before its fixing waits in the book for the remedy."""
    made = wet(rig("wet"))
    trays = made.trays
    trays.asked(0, OfTrays("put-in", "K7"))
    for _ in range(5):  # up to the fixer
        assert trays.next_ns is not None
        trays.step(trays.next_ns)
    trays.asked(ns(200), OfTrays("take-off", "K7"))
    made.close()
    with Book.open(made.path, now=lambda: datetime.now(UTC)) as book:
        (kept,) = sheets_wet(book, "K7")
    assert kept.under_fixed
    assert kept.steps[-1].actual_s == 50.0  # it came in at 150 s, and was taken at 200


def test_a_sheet_counts_through_the_baths_that_are_kept(wet: Callable[[Rig], Wet]) -> None:
    """What came through is counted by its trays in the book, and a worn bath is spoken of."""
    made = wet(rig("wet"))
    with Book.open(made.path, now=lambda: datetime.now(UTC)) as book:
        product = next(each for each in shipped() if each.name == "paper developer")
        shelf.made(book, shelf.bath_of(product, 40, datetime.now(UTC), tray="developer"))
    trays = made.trays
    trays.asked(0, OfTrays("put-in", "K7"))
    while trays.is_busy:
        assert trays.next_ns is not None
        trays.step(trays.next_ns)
    trays.step(ns(1000))
    said: list[object] = []
    end_s = monotonic() + 30.0
    while not any("developer" in str(each) for each in said):
        assert monotonic() < end_s, said
        for answered in made.writer.answers():
            answered()
        said += trays.step(ns(1001))
    with Book.open(made.path, now=lambda: datetime.now(UTC)) as book:
        (bath,) = shelf.standing(book, datetime.now(UTC))
        assert bath.area_m2 == pytest.approx(EIGHT_BY_TEN_M2)
        (kept,) = sheets_wet(book, "K7")
    assert [step.name for step in kept.steps] == ["developer", "stop", "fixer"]
    assert [step.actual_s for step in kept.steps] == [120.0, 30.0, 120.0]
    assert not kept.under_fixed


def test_what_was_chosen_is_chosen_still_the_next_evening(wet: Callable[[Rig], Wet]) -> None:
    """A process from the terminal outlives the engine; one of the rig file comes first."""
    trays = wet(rig("wet", process="")).trays
    assert trays.view().process == ""
    trays.asked(0, OfTrays("choose", "resin-coated", 22.0))
    for process, expected in (("", "resin-coated"), ("fibre", "fibre")):
        assert wet(rig("wet", process=process)).trays.view().process == expected


def test_where_nothing_was_chosen_the_rig_file_says_how_warm_the_trays_are(
    wet: Callable[[Rig], Wet],
) -> None:
    """No evening before this one: the temperature is not put back to the usual one."""
    cold = rig("wet").model_copy(update={"trays": TraysAt(celsius=18.0)})
    assert wet(cold).trays.view().celsius == 18.0


def test_a_wet_tap_tells_the_first_image(wet: Callable[[Rig], Wet]) -> None:
    """With a factor chosen, a tap over the developer gives its time, also after a new start."""
    wet(rig("wet", process="")).trays.asked(0, OfTrays("choose", "fibre", 20.0, 6.0))
    trays = wet(rig("wet", process="")).trays
    assert trays.view().factor == 6.0
    trays.asked(0, OfTrays("put-in", "K7"))
    assert trays.pedal(ns(20.0), "wet", True) == []
    told = trays.pedal(ns(20.2), "wet", False)
    assert told == [Cue("K7 emerged at 20, lift at 106", Sound.PRESS)]
    with pytest.raises(BadInput, match="one edition keeps to one method"):
        trays.asked(ns(30.0), OfTrays("choose", "fibre"))


def test_a_wet_tap_says_that_a_move_was_late(wet: Callable[[Rig], Wet]) -> None:
    """The wet pedal's tap goes to the clock, and reaches nothing else."""
    trays = wet(rig("wet")).trays
    trays.asked(0, OfTrays("put-in", "K7"))
    assert trays.pedal(ns(3.0), "wet", True) == []
    assert trays.pedal(ns(3.2), "wet", False) == [Cue("K7 late 3", Sound.PRESS)]
    assert trays.is_busy
    assert trays.close(ns(400)) == []  # a sheet of no record is in no book


class Held:
    """Contacts by their addresses; the test moves them."""

    def __init__(self) -> None:
        self.moved: dict[object, Callable[[int, bool], None]] = {}

    def open(self, address, *, normally_closed, on_edge, options):
        self.moved[address] = on_edge
        return self

    def close(self) -> None:
        pass


@pytest.mark.real
def test_one_pedal_taps_for_the_trays_between_sheets(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the plan over a tap of the only pedal tells the clock; the foot's menu still opens."""
    held = Held()
    monkeypatch.setattr("drivers.found.find_pedal", lambda _name: held)
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    engine = Engine(rig("dry"), run=run_folder(), book=book_path(), room=room_path(), linger_s=0.0)
    told: list[Cue] = []
    try:
        monkeypatch.setattr(engine, "_tell", told.append)
        now_ns = monotonic_ns()
        engine._do_all(engine._trays.asked(now_ns, OfTrays("put-in", "K7")))
        engine._do_all(engine._trays._wet._owned(trays=True))
        assert TO_TRAYS in [cue.text for cue in told]
        assert not engine._left_alone(now_ns + ns(60))  # somebody must be called
        told.clear()
        for down in (True, False):
            engine._press(down)
        assert [cue.text for cue in told if cue.text.startswith("K7 late")]
        assert engine._begin(Run("r1", PRINT)) is None
        told.clear()
        for down in (True, False):
            engine._press(down)
        assert not [cue for cue in told if cue.text.startswith("K7")]
    finally:
        engine.close()
