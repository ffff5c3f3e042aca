"""The engine's watch over paper, through real processes."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path

import pytest

from controller.desk.orders import Order, Ordered
from controller.enlarger.lamp import ns
from controller.events import Fate, Remark, RunBegun, RunEnded, SheetBegun
from controller.exposing.bench import PaperView
from controller.exposing.told import Wish
from controller.keeper import Edge, Put
from controller.plan import Expose, Go, Plan, Sheet
from controller.ports import Cue, NewSheet
from controller.rig.file import load_rig
from controller.rig.model import BoxSwitch
from controller.room.file import save_room
from controller.room.model import Groups, Kind, Light, Place, Result, ResultKind, Room
from controller.room.stray import Began
from drivers.engine import Engine
from drivers.engine_room import Hands
from drivers.engine_words import Please, Refusal
from drivers.places import book_path, room_path, run_folder
from tests.drivers.unit_on_bench import QUICK, Bench, unit
from ui.attach import EngineClient

pytestmark = pytest.mark.real

PRINT = Plan("print", "a print", (Sheet(203, 254), Go("a", lead_in_s=0.1), Expose("A", 0.5)))


def proved(safe_s: float, **fields) -> Room:
    """Give a room with one safelight of such a safe time at easel and trays."""
    tests = tuple(
        Result(
            lights=("ceiling",),
            at=at,
            paper="",
            date=datetime(2025, 3, 1),
            kind=ResultKind.HAND,
            safe_s=safe_s,
        )
        for at in Place
    )
    light = Light(name="ceiling", kind=Kind.SAFELIGHT, relay="ceiling")
    return Room(lights=(light,), tests=tests, expiry_months=120, **fields)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    tmp_path.mkdir(exist_ok=True)
    save_room(proved(2.0), tmp_path / "room.toml")
    with unit(tmp_path) as made:
        yield made


def heard(client: EngineClient, wanted: Callable[[object], bool], wait_s: float = 30.0) -> object:
    """Wait for a message of the engine that is as wanted; gives it."""
    until_s = time.monotonic() + wait_s
    while time.monotonic() < until_s:
        for message in client.receive(0.05):
            if wanted(message):
                return message
    raise AssertionError("waited in vain")


def told(client: EngineClient, ordered: Ordered, answer: str) -> str:
    """Order something; gives what is answered, as soon as it has this word in it."""
    client.send(ordered)
    found = heard(client, lambda m: isinstance(m, Refusal | Cue) and answer in str(m))
    return found.why if isinstance(found, Refusal) else found.text  # type: ignore[union-attr]


def test_a_print_is_counted_spoken_of_and_marked_in_the_book(bench: Bench) -> None:
    """Out at its prompt, 80 percent spoken, in the stop bath by a word, and a line in the book."""
    bench.start(PRINT)
    bench.until(lambda: bench.ended is not None)
    bench.until(lambda: any("80 percent of the safe time" in cue.text for cue in bench.cues))
    mark = bench.view.mark
    said = told(bench.client, Ordered(Order.IN_STOP.value, mark), "stop bath")
    assert said.startswith(f"{mark} in the stop bath, ")
    bench.close()
    with bench.book() as book:
        page = book.record("r1")
    assert page
    assert any("% of the safe time" in remark.text for remark in page.remarks)
    assert book_path().with_name("paper.json").exists()


def test_cutting_strips_opens_the_box_and_nothing_is_begun_before_it_is_shut(
    bench: Bench,
) -> None:
    """A box that no switch watches is shut by a word."""
    told(bench.client, Ordered(Order.CUTTING.value), "when the box is shut")
    bench.start(PRINT)
    refused = heard(bench.client, lambda m: isinstance(m, Refusal))
    assert isinstance(refused, Refusal)
    assert "box shut" in refused.why
    told(bench.client, Ordered(Order.BOX_SHUT.value), "the box is shut")
    bench.start(PRINT)
    bench.until(lambda: bench.ended is not None)
    assert bench.ended
    assert bench.ended.fate is Fate.DONE


def test_a_restart_keeps_the_accounts(bench: Bench) -> None:
    """The engine ends and comes back: the sheet that lay out has what it had, and more unknown."""
    bench.start(PRINT)
    bench.until(lambda: bench.ended is not None)
    bench.until(lambda: any(sheet.where == "at the trays" for sheet in bench.paper.sheets))
    before = bench.paper.sheets[0]
    bench.close()
    bench.client = bench.attach()
    bench.paper = PaperView(0)
    bench.until(lambda: bool(bench.paper.sheets))
    after = bench.paper.sheets[0]
    assert after.mark == before.mark
    assert after.used >= before.used
    assert "unknown light" in after.words


# --- the engine in this process, with a switch that a test holds ------------------------------


class _Held:
    """A switch on the box; the test moves it."""

    def __init__(self) -> None:
        self.moved = lambda *_: None

    def open(self, _address, *, normally_closed, on_edge, options):
        self.moved = on_edge
        return self

    def close(self) -> None:
        pass


@pytest.fixture
def held(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Engine, _Held]]:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    switch = _Held()
    monkeypatch.setattr("drivers.found.find_pedal", lambda _name: switch)
    groups = Groups(composing=("ceiling",), trays=("ceiling",))
    save_room(proved(100.0, groups=groups), room_path())
    rig = load_rig("tungsten", QUICK)
    rig = rig.model_copy(update={"box": BoxSwitch(driver="test", address="box")})
    engine = Engine(rig, run=run_folder(), book=book_path(), room=room_path(), linger_s=0.0)
    try:
        yield engine, switch
    finally:
        engine.close()


def test_the_switch_on_the_box_is_heard(held: tuple[Engine, _Held]) -> None:
    """Open until it tells that it is shut; while it is open the bench lights nothing."""
    engine, switch = held
    assert engine._bench.box_open
    switch.moved(ns(1), True)
    engine._take_pedals(ns(1))
    assert not engine._bench.box_open
    assert engine._room._paper.watch.view().box_open is False
    switch.moved(ns(9), False)
    engine._take_pedals(ns(9))
    assert engine._bench.box_open
    assert engine._room._paper.watch.view().box_open is True
    assert engine._pedals.foot_down is False


def test_a_light_of_another_group_goes_out_when_a_sheet_is_asked_for(
    held: tuple[Engine, _Held],
) -> None:
    """The easel's group is empty here: the safelight is put off at the prompt, not after it."""
    engine, switch = held
    switch.moved(ns(1), True)
    engine._take_pedals(ns(1))
    engine._room._paper.step(ns(2), Edge("ceiling", lit=True, at_ns=ns(2)))
    watch = engine._room._paper.watch
    done = engine._room._paper.step(ns(3), RunBegun("r", "print", "", "{}", "{}", {}, "rig"))
    assert done == []
    done = engine._room._paper.step(ns(4), Cue(hands=NewSheet("K1", 203, 254)))
    assert done == [Put("ceiling", False)]
    assert watch.keeps_back(Put("ceiling", True))


def test_stray_light_is_told_written_down_and_paused_for(
    held: tuple[Engine, _Held], monkeypatch: pytest.MonkeyPatch
) -> None:
    """While paper is out, and only then; a room that is set so pauses the exposure."""
    engine, switch = held
    switch.moved(ns(1), True)
    engine._take_pedals(ns(1))
    told: list[Cue] = []
    wished: list[object] = []
    hands = Hands(engine._do_all, told.append, wished.append, lambda: None)
    monkeypatch.setattr(engine._room, "_hands", hands)
    turned: list[bool] = []
    monkeypatch.setattr(engine._room._stray, "turn", lambda *, on: turned.append(on))
    engine._room.hear(RunBegun("r", "print", "", "{}", "{}", {}, "rig"))
    assert turned[-1] is False
    engine._room.hear(Cue(hands=NewSheet("K1", 203, 254)))
    engine._room.hear(SheetBegun("r", "K1", 203, 254))
    assert turned[-1] is True
    seen: list[object] = [Began(3.0, 0.5)]
    monkeypatch.setattr(engine._room._stray, "take", lambda: seen)
    noted: list[object] = []
    monkeypatch.setattr(engine._writer, "write", noted.append)
    engine._room.step(ns(9))
    assert [cue.text for cue in told] == ["stray light, 3 lux where 0.5 is usual"]
    assert noted == [Remark("r", "stray light, 3 lux where 0.5 is usual", mark="K1")]
    assert wished == []
    save_room(proved(100.0, stray_light="pause"), room_path())
    engine._room.hear(RunBegun("r2", "print", "", "{}", "{}", {}, "rig"))
    engine._room.step(ns(9))
    assert wished == [Wish.PAUSE]


def test_a_sensor_of_the_imagined_room_sees_its_door(tmp_path: Path) -> None:
    """It follows the lights that the board switches, and what happens by itself."""
    from sim.sensor import ImaginedSensor

    wire = tmp_path / "wire"
    room = {
        "lights": {
            "amber": {"kind": "amber", "lux_at_1m": 1.0, "at_m": [0, 0, 1], "lit": False},
            "door": {"kind": "white", "lux_at_1m": 50.0, "at_m": [0, 0, 1]},
        },
        "events": [{"at_s": 0.0, "what": "door", "for_s": 3000}],
    }
    sensor = ImaginedSensor.open("easel", {"wire": str(wire), "room": room})
    assert sensor.read().value == pytest.approx(50.0)
    wire.write_text(f"{time.monotonic_ns()} amber 1 1\n")
    assert sensor.read().value == pytest.approx(51.0)
    room.pop("events")
    assert ImaginedSensor.open("easel", {"wire": str(wire), "room": room}).read().value > 0


def test_a_test_of_the_room_is_begun_by_an_order(bench: Bench) -> None:
    """With the caution first; and nothing is read before it was made."""
    ordered = Ordered(Order.READ_TEST.value, "before, none")
    assert "no test of the room waits" in told(bench.client, ordered, "waits")
    told(bench.client, Ordered(Order.ROOM_TEST.value, "flash strip"), "clear the floor")
    begun = heard(bench.client, lambda m: isinstance(m, RunBegun))
    assert isinstance(begun, RunBegun)
    assert begun.kind == "flash strip"
    bench.client.send(Please(Wish.ABANDON.value))
    heard(bench.client, lambda m: isinstance(m, RunEnded))


def test_a_test_without_its_flash_is_refused_in_a_sentence(bench: Bench) -> None:
    """The strip that finds it is named."""
    said = told(bench.client, Ordered(Order.ROOM_TEST.value, "fog test"), "flash")
    assert "a flash strip finds it" in said
