"""An imagined unit whose time runs faster: neither the keeper nor a person does."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from controller.enlarger.lamp import ns
from controller.events import Fate
from controller.exposing.foot import FootTimes
from controller.exposing.lit import LATE_S
from controller.keeper import (
    MS,
    Alive,
    Beat,
    Cause,
    Edge,
    Ended,
    Message,
    Pulse,
    Put,
    Refused,
    Reply,
)
from controller.rig.file import find_faults, load_rig, parse
from drivers.clock import Clock
from drivers.keeper_link import KeeperLost
from drivers.paced_link import PacedLink
from tests.drivers.test_engine import plan
from tests.drivers.unit_on_bench import QUICK, Bench, unit

PACE = 8
REAL = '[lamp]\ndriver = "gpio"\naddress = 17\n'


class FakeLink:
    """A keeper's link that keeps what it is told, and answers what it is given."""

    def __init__(self) -> None:
        self.sent: list[Message] = []
        self.replies: list[Reply] = []
        self.lost: KeeperLost | None = None
        self.until_ns = 100 * MS
        self.asked_ns: list[int] = []

    def send(self, message: Message) -> None:
        self.sent.append(message)

    def receive(self, now_ns: int) -> list[Reply]:
        self.asked_ns.append(now_ns)
        return self.replies

    def check(self, now_ns: int) -> KeeperLost | None:
        self.asked_ns.append(now_ns)
        return self.lost


@pytest.fixture
def fake() -> FakeLink:
    return FakeLink()


def paced(fake: Any) -> PacedLink:
    return PacedLink(fake, Clock(PACE))


def test_the_keeper_is_told_real_time(fake: FakeLink) -> None:
    """A pulse is shorter there, a heartbeat is now; how late a pulse may come stays as it is."""
    link, clock = paced(fake), Clock(PACE)
    now_ns = clock.now_ns()
    link.send(Pulse(1, "lamp", 8_000 * MS, now_ns + ns(LATE_S)))
    pulse = fake.sent[0]
    assert isinstance(pulse, Pulse)
    assert pulse.duration_ns == 1_000 * MS
    sent_ns = pulse.not_after_ns - ns(LATE_S)
    assert clock.real_ns(now_ns) <= sent_ns <= clock.real_ns(clock.now_ns())
    link.beat(now_ns)
    link.send(put := Put("red", lit=True))
    assert fake.sent[1:] == [Beat(now_ns // PACE), put]


def test_what_the_keeper_tells_is_heard_in_the_units_time(fake: FakeLink) -> None:
    """Edges, ends and heartbeats; a lost keeper's last words too."""
    fake.replies = [
        Edge("lamp", True, 10),
        Ended(1, "lamp", 10, 20, Cause.DEADLINE),
        Alive(30),
        Refused(2, "late"),
    ]
    link = paced(fake)
    heard = [
        Edge("lamp", True, 80),
        Ended(1, "lamp", 80, 160, Cause.DEADLINE),
        Alive(240),
        Refused(2, "late"),
    ]
    assert link.receive(400) == heard
    assert link.check(800) is None
    fake.lost = KeeperLost("silent", True, 50, tuple(fake.replies))
    assert link.check(1600) == KeeperLost("silent", True, 400, tuple(heard))
    assert fake.asked_ns == [50, 100, 200]
    assert link.until_ns == 800 * MS


def test_a_foot_is_no_faster(tmp_path: Path) -> None:
    """Long presses and deaf moments last as long for the person; the column settles by its own."""
    rig = load_rig("tungsten", [f"pace={PACE}"])
    plain = FootTimes()
    times = rig.foot_times(rig.pace)
    assert times.long_press_s == plain.long_press_s * PACE
    assert times.deaf_s == plain.deaf_s * PACE
    assert times.lead_in_s == plain.lead_in_s
    assert rig.foot_times() == plain


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("pace = 2\n" + REAL, "a real lamp burns no faster"),
        ("pace = 31\n" + REAL.replace("gpio", "sim"), "31"),
        (
            "pace = 2\n"
            + REAL.replace("gpio", "sim").replace("17", '"lamp"')
            + '[[sensor]]\nname = "house"\ndriver = "sim"\naddress = "lamp"\npurpose = "lamp"\n'
            + '[integration]\nsensor = "house"\nends_exposures = true\nfull_light = 400\n',
            "a sensor that ends exposures sees light no faster",
        ),
    ],
)
def test_what_no_pace_is_for_is_refused(text: str, what: str) -> None:
    """Light that is real, or that a sensor counts, can't be hurried."""
    faults = [str(each) for each in find_faults(parse(text, "rig.toml"), "rig.toml")]
    assert any("pace" in each and what in each for each in faults), faults


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    with unit(tmp_path, (*QUICK, f"pace={PACE}")) as made:
        yield made


@pytest.mark.real
def test_a_plan_takes_an_eighth_of_its_time_and_the_book_has_it_whole(bench: Bench) -> None:
    """The wire has real edges; what is told and kept is the unit's time."""
    bench.start(plan(8.0))
    bench.until(lambda: bench.ended is not None)
    assert bench.ended
    assert bench.ended.fate is Fate.DONE
    (on_ns, _), (off_ns, _) = bench.lamp()
    wire_s = (off_ns - on_ns) / 1e9
    assert wire_s * PACE >= 8.0 + bench.rig.lamp.cold_lag_s - 0.01
    bench.close()  # the last rows are written when the engine has ended
    with bench.book() as book:
        page = book.record("r1")
    assert page
    [exposure] = page.exposures
    [pulse] = exposure.pulses
    assert pulse.on_time_s == pytest.approx(wire_s * PACE, abs=0.01 * PACE)
    assert exposure.delivered_dose_s == pytest.approx(
        pulse.on_time_s - bench.rig.lamp.cold_lag_s, abs=0.01
    )
