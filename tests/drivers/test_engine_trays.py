"""The trays in the engine: called on time, shown to clients, and written down."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from time import monotonic_ns

import pytest

from controller.lamp import ns
from controller.plan import Expose, Go, Plan, Sheet
from controller.ports import Cue, Sound
from controller.rig.file import load_rig
from controller.rig.model import PedalAt, Rig, TraysAt
from controller.told import Run
from controller.wet.clock import TraysView
from controller.wet.side import TO_TRAYS
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


def trays_of(tmp_path: Path, asked: Rig) -> tuple[EngineTrays, Callable[[], None]]:
    store = DeskStore(tmp_path, lambda: None)
    trays = EngineTrays(asked, store, folder=tmp_path, wake=lambda: None)
    return trays, store.close


def test_what_was_chosen_is_chosen_still_the_next_evening(tmp_path: Path) -> None:
    """A process from the terminal outlives the engine; one of the rig file comes first."""
    trays, close = trays_of(tmp_path, rig("wet", process=""))
    assert trays.view().process == ""
    trays.asked(0, OfTrays("choose", "resin-coated", 22.0))
    trays.close()
    close()
    for process, expected in (("", "resin-coated"), ("fibre", "fibre")):
        again, close = trays_of(tmp_path, rig("wet", process=process))
        assert again.view().process == expected
        again.close()
        close()


def test_a_wet_tap_says_that_a_move_was_late(tmp_path: Path) -> None:
    """The wet pedal's tap goes to the clock, and reaches nothing else."""
    trays, close = trays_of(tmp_path, rig("wet"))
    trays.asked(0, OfTrays("put-in", "K7"))
    assert trays.pedal(ns(3.0), "wet", True) == []
    assert trays.pedal(ns(3.2), "wet", False) == [Cue("K7 late 3", Sound.PRESS)]
    assert trays.is_busy
    assert trays.close() == []  # a sheet of no record is in no book
    close()


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
