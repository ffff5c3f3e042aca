"""The engine and its pedals: which of them reaches what could light a lamp."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from time import monotonic_ns

import pytest

from controller.exposing.bench import State
from controller.exposing.told import Run
from controller.plan import Expose, Go, Plan, Sheet
from controller.ports import Cue, Sound
from controller.rig.file import load_rig
from controller.rig.model import BoxSwitch, PedalAt
from drivers.engine import Engine
from drivers.found import open_box, open_pedals
from drivers.places import book_path, room_path, run_folder
from tests.drivers.unit_on_bench import QUICK

PLAN = Plan("strip", "a strip", (Sheet(203, 25), Go("patch A", lead_in_s=0.1), Expose("A", 0.5)))


class Held:
    """Contacts by their addresses; the test moves them."""

    def __init__(self) -> None:
        self.moved: dict[object, Callable[[int, bool], None]] = {}
        self.normally_closed: dict[object, bool] = {}

        self.plugged: dict[object, Callable[[int, bool], None]] = {}

    def open(self, address, *, normally_closed, on_edge, options):
        self.moved[address] = on_edge
        self.normally_closed[address] = normally_closed
        return HeldPedal(self, address)


class HeldPedal:
    """One of them, open; it can be unplugged."""

    def __init__(self, held: Held, address: object) -> None:
        self._held = held
        self._address = address

    def watch(self, on_presence: Callable[[int, bool], None]) -> None:
        self._held.plugged[self._address] = on_presence

    def close(self) -> None:
        pass


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> Held:
    contacts = Held()
    monkeypatch.setattr("drivers.found.find_pedal", lambda _name: contacts)
    return contacts


def rig(**fields):
    return load_rig("tungsten", QUICK).model_copy(update=fields)


def pedal(name: str) -> PedalAt:
    return PedalAt(name=name, driver="test", address=name)


def test_the_box_is_opened_as_a_pedal_is(held: Held) -> None:
    """Its edges come under the name "box" and are down while the lid is shut."""
    box = BoxSwitch(driver="test", address="reed", contact="normally-closed")
    heard: list[tuple[int, str, bool]] = []
    assert open_box(rig(), lambda *edge: heard.append(edge)) is None
    assert open_box(rig(box=box), lambda *edge: heard.append(edge)) is not None
    assert open_pedals(rig(pedal=(pedal("wet"),)), lambda *edge: heard.append(edge))
    assert held.normally_closed == {"reed": True, "wet": False}
    held.moved["reed"](1, True)
    held.moved["wet"](2, True)
    assert heard == [(1, "box", True), (2, "wet", True)]


@pytest.fixture
def engine(held: Held, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Engine]:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    made = Engine(
        rig(pedal=(pedal("dry"), pedal("wet"))),
        run=run_folder(),
        book=book_path(),
        room=room_path(),
        linger_s=0.0,
    )
    try:
        yield made
    finally:
        made.close()


def tap(engine: Engine, held: Held, name: str) -> None:
    at_ns = monotonic_ns()
    for down in (True, False):
        at_ns += 100_000_000  # longer than a contact bounces
        held.moved[name](at_ns, down)
        engine._take_pedals(at_ns)


@pytest.mark.real
def test_a_wet_pedal_never_reaches_what_could_light_a_lamp(
    engine: Engine, held: Held, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At an idle bench and at every prompt a wet tap is only told not to be taken."""
    told: list[Cue] = []
    monkeypatch.setattr(engine, "_tell", told.append)
    tap(engine, held, "wet")
    assert told == [Cue(sound=Sound.NOT_TAKEN)]
    held.moved["wet"](monotonic_ns(), True)
    engine._take_pedals(monotonic_ns())
    assert engine._begin(Run("r1", PLAN)) is None
    assert engine._runner is not None
    assert not engine._runner._foot.down  # it is no foot that keeps a plan from going
    held.moved["wet"](monotonic_ns() + 1_000_000_000, False)
    engine._take_pedals(monotonic_ns() + 1_000_000_000)
    told.clear()
    at_ns = monotonic_ns() + 2_000_000_000
    for down in (True, False):
        held.moved["wet"](at_ns, down)
        engine._take_pedals(at_ns)
        at_ns += 1_000_000_000
    assert {(cue.text, cue.sound) for cue in told} == {("", Sound.NOT_TAKEN)}
    assert engine._runner.state is State.ASKING
    monkeypatch.setattr(engine._runner._foot, "_deaf_until_ns", 0)
    tap(engine, held, "dry")
    assert engine._runner.state is State.WAITING  # for the go of patch A


@pytest.mark.real
def test_with_a_wet_pedal_alone_a_plan_is_left_alone(
    held: Held, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An engine that nobody can tell to go does not wait for ever."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    for pedals, waits in (((pedal("wet"),), False), ((pedal("dry"),), True)):
        engine = Engine(
            rig(pedal=pedals), run=run_folder(), book=book_path(), room=room_path(), linger_s=0.0
        )
        try:
            engine._begin(Run("r1", PLAN))
            now_ns = monotonic_ns()
            engine._left_alone(now_ns)
            assert engine._left_alone(now_ns + 1_000_000_000) is not waits
        finally:
            engine.close()


@pytest.mark.real
def test_a_pedal_that_is_unplugged_is_told_and_made_no_tap(
    engine: Engine, held: Held, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By its name where there are two; the run hears of it, and its return is told."""
    told: list[Cue] = []
    monkeypatch.setattr(engine, "_tell", told.append)
    engine._begin(Run("r1", PLAN))
    assert engine._runner is not None
    monkeypatch.setattr(engine._runner._foot, "_deaf_until_ns", 0)
    told.clear()
    held.moved["dry"](monotonic_ns(), True)
    engine._take_pedals(monotonic_ns())
    assert engine._runner._foot.down
    held.plugged["dry"](monotonic_ns(), False)
    engine._take_pedals(monotonic_ns())
    assert not engine._runner._foot.down
    assert engine._runner._is_deserted  # the wet one that is left stops no light
    assert engine._runner.state is State.ASKING
    held.plugged["wet"](monotonic_ns(), False)
    held.plugged["dry"](monotonic_ns(), True)
    engine._take_pedals(monotonic_ns())
    assert [cue.text for cue in told] == ["", "dry pedal gone", "wet pedal gone", "dry pedal back"]
    assert {cue.sound for cue in told[1:]} == {Sound.ATTENTION}
    # under a foot while it was plugged in: nothing is taken before it came up once
    for after_s, down, taken in ((0.1, True, False), (2.0, False, False), (3.0, True, True)):
        at_ns = monotonic_ns() + int(after_s * 1e9)
        held.moved["dry"](at_ns, down)
        engine._take_pedals(at_ns)
        assert engine._runner._foot.down is taken


@pytest.mark.real
def test_a_press_in_the_menu_ends_with_its_pedal(
    engine: Engine, held: Held, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At an idle bench a pedal that goes while it is down leaves no foot behind."""
    told: list[Cue] = []
    monkeypatch.setattr(engine, "_tell", told.append)
    held.moved["dry"](monotonic_ns(), True)
    engine._take_pedals(monotonic_ns())
    held.plugged["dry"](monotonic_ns(), False)
    engine._take_pedals(monotonic_ns())
    assert not engine._pedals.foot_down
    assert engine._desk.next_ns is None
    assert [cue.sound for cue in told] == [Sound.PRESS, Sound.ATTENTION]


@pytest.mark.real
def test_a_box_whose_switch_is_unplugged_is_open(
    held: Held, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What nobody can tell to be shut counts as open, and is told so."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    switched = rig(pedal=(pedal("dry"),), box=BoxSwitch(driver="test", address="reed"))
    engine = Engine(switched, run=run_folder(), book=book_path(), room=room_path(), linger_s=0.0)
    try:
        told: list[Cue] = []
        monkeypatch.setattr(engine, "_tell", told.append)
        held.moved["reed"](monotonic_ns(), True)
        engine._take_pedals(monotonic_ns())
        assert not engine._bench.box_open
        held.plugged["reed"](monotonic_ns(), False)
        engine._take_pedals(monotonic_ns())
        assert engine._bench.box_open
        assert [cue.text for cue in told] == ["box switch gone"]
    finally:
        engine.close()
