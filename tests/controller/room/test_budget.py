"""The fog budget against a brute-force integral, and what it says when."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from controller.room import budget as b
from controller.room.budget import S_IN_NS, Cue, FogBudget, Rate, Say
from controller.room.model import Place

SAFE_S = {"amber": 240.0, "red": 600.0, "screen": 60.0}
AT = {Place.EASEL: 1.0, Place.TRAYS: 2.0}


def rate_of(lit: frozenset[str], at: Place) -> Rate:
    known = sorted(lit & set(SAFE_S))
    unknown = tuple(sorted(lit - set(SAFE_S)))
    return Rate(AT[at] * math.fsum(1 / SAFE_S[one] for one in known), unknown)


def fresh(*lit: str) -> FogBudget:
    return FogBudget(rate_of, 0, frozenset(lit))


def after(budget: FogBudget, *steps: tuple[float, b.Happening | None]) -> FogBudget:
    for at_s, happening in steps:
        budget, _ = budget.step(round(at_s * S_IN_NS), happening)
    return budget


marks = st.sampled_from(["A", "B"])
lights = st.frozensets(st.sampled_from([*SAFE_S, "lamp"]))
places = st.sampled_from(Place)
happenings = st.one_of(
    st.none(),
    st.builds(b.Lights, lights, lights),
    st.builds(b.Out, marks, places),
    st.builds(b.InBox, marks),
    st.builds(b.InStop, marks),
)
evenings = st.lists(st.tuples(st.integers(0, 120), happenings), max_size=25)


def brute(evening: Sequence[tuple[int, b.Happening | None]], mark: str) -> tuple[float, int]:
    """Add up second by second what one sheet had, and the seconds under unknown light."""
    lit: frozenset[str] = frozenset(SAFE_S)
    where: str = "box"
    used, unknown_s = 0.0, 0
    for wait_s, happening in evening:
        for _ in range(wait_s):
            if where in ("easel", "trays"):
                used += (2.0 if where == "trays" else 1.0) * sum(
                    1 / SAFE_S[one] for one in lit if one in SAFE_S
                )
                unknown_s += "lamp" in lit
        match happening:
            case b.Lights(some, unsure):
                lit = some | unsure
            case b.Out(m, at) if m == mark:
                if where == "stop":
                    used, unknown_s = 0.0, 0
                where = at.value
            case b.InBox(m) if m == mark and where != "stop":
                where = "box"
            case b.InStop(m) if m == mark:
                where = "stop"
    return used, unknown_s


@settings(max_examples=80)
@given(evenings)
def test_accounts_are_the_integral(evening: list[tuple[int, b.Happening | None]]) -> None:
    """Whatever happens, each sheet has had what adding up second by second gives."""
    budget = fresh(*SAFE_S)
    now_s = 0
    cues: list[Cue] = []
    for wait_s, happening in evening:
        now_s += wait_s
        budget, said = budget.step(now_s * S_IN_NS, happening)
        cues += said
    for mark in ("A", "B"):
        used, unknown_s = brute(evening, mark)
        account = budget.account(mark)
        assert account.used == pytest.approx(used, abs=1e-9)
        assert account.unknown_ns == unknown_s * S_IN_NS
        assert (b.NEAR in account.said) == (account.used >= b.NEAR - 1e-9)
        # once for a sheet, and once more for the next that has its mark
        sheets = 1 + sum(1 for _, one in evening if isinstance(one, b.InStop) and one.mark == mark)
        for say in (Say.NEAR, Say.FULL):
            assert sum(1 for cue in cues if (cue.say, cue.name) == (say, mark)) <= sheets
    unknown = [cue for cue in cues if cue.say is Say.UNKNOWN]
    assert len(unknown) <= 1


@given(evenings, st.lists(st.integers(0, 10**12), max_size=5))
def test_counting_oftener_changes_nothing(
    evening: list[tuple[int, b.Happening | None]], ticks: list[int]
) -> None:
    """Steps in between, at whatever moment, leave the same accounts and the same cues."""
    plain, ticked = fresh(*SAFE_S), fresh(*SAFE_S)
    now_ns = 0
    first: list[Cue] = []
    second: list[Cue] = []
    for wait_s, happening in evening:
        then_ns = now_ns + wait_s * S_IN_NS
        for tick in sorted(ticks):
            if now_ns < tick < then_ns:
                ticked, said = ticked.step(tick)
                second += said
        now_ns = then_ns
        plain, said = plain.step(now_ns, happening)
        first += said
        ticked, said = ticked.step(now_ns, happening)
        second += said
    assert {(cue.say, cue.name) for cue in first} == {(cue.say, cue.name) for cue in second}
    for mark in ("A", "B"):
        assert plain.account(mark).used == pytest.approx(ticked.account(mark).used, abs=1e-9)


def test_cues_come_once_and_when_they_are_due() -> None:
    """At 80 and at 100 percent, each once, at the nanosecond at which the bar is reached."""
    budget = after(fresh("amber"), (10, b.Out("A")))
    due = budget.next_cue_ns()
    assert due == pytest.approx((10 + 0.8 * 240) * S_IN_NS, abs=2)
    assert due is not None
    budget, said = budget.step(due)
    assert said == (Cue(Say.NEAR, "A", due),)
    budget, said = budget.step(400 * S_IN_NS)
    assert [cue.say for cue in said] == [Say.FULL]
    assert said[0].at_ns == pytest.approx(250 * S_IN_NS, abs=2)
    assert budget.next_cue_ns() is None
    _, said = budget.step(900 * S_IN_NS)
    assert said == ()


@given(st.floats(1, 5000), st.integers(0, 10**9))
def test_a_caller_that_sleeps_until_the_next_cue_hears_it(safe_s: float, start_ns: int) -> None:
    """Waking at ``next_cue_ns`` gives the cue at once: no caller can spin."""
    budget = FogBudget(lambda *_: Rate(1 / safe_s), start_ns, frozenset(["x"]))
    budget, _ = budget.step(start_ns, b.Out("A"))
    for say in (Say.NEAR, Say.FULL):
        due = budget.next_cue_ns()
        assert due is not None
        budget, said = budget.step(due)
        assert [cue.say for cue in said] == [say]


def test_the_box_keeps_what_a_sheet_has_had() -> None:
    """Back in the box nothing is added, and nothing is forgotten."""
    budget = after(
        fresh("amber"),
        *((0, b.Out("A")), (60, b.InBox("A")), (600, b.Out("A", Place.TRAYS)), (630, None)),
    )
    assert budget.account("A").used == pytest.approx((60 + 2 * 30) / 240)


def test_the_dark_does_not_count() -> None:
    """With every light out paper may lie for as long as it likes."""
    budget = after(fresh("amber"), (0, b.Lights(frozenset())), (0, b.Out("A")), (9999, None))
    assert budget.account("A").used == 0
    assert budget.left_s("A") == math.inf


def test_what_may_be_lit_counts_as_lit() -> None:
    """A light whose state is not known counts."""
    sure = after(fresh(), (0, b.Lights(frozenset(["amber"]))), (0, b.Out("A")), (60, None))
    unsure = after(
        fresh(),
        *((0, b.Lights(frozenset(), frozenset(["amber"]))), (0, b.Out("A")), (60, None)),
    )
    assert unsure.account("A").used == sure.account("A").used > 0


def test_an_unknown_light_is_told_once_and_counted_as_unknown() -> None:
    """It is in no figure, but its time is in the words, and it is said once."""
    budget, said = fresh("lamp", "amber").step(0, b.Out("A"))
    assert said == (Cue(Say.UNKNOWN, "lamp", 0),)
    budget, said = budget.step(60 * S_IN_NS, b.Out("B"))
    assert said == ()
    account = budget.account("A")
    assert account.used == pytest.approx(0.25)
    assert not account.certain
    assert account.words == "25 % of the safe time, and 60 s under unknown light"


def test_unsafe_light_is_over_at_once() -> None:
    """Where no time is proved safe, paper is over its limit from the first moment, said once."""
    start = FogBudget(lambda *_: Rate(0.01, proved=False), 0, frozenset(["x"]))
    budget, said = start.step(0, b.Out("A"))
    assert said == (Cue(Say.UNSAFE, "A", 0),)
    assert budget.account("A").over
    assert budget.left_s("A") == 0
    _, said = budget.step(500 * S_IN_NS)
    assert said == ()


def test_strips_have_what_their_stock_has_had() -> None:
    """Cutting starts the count, the stock carries it, and a sheet cut up makes the stock worse."""
    budget = after(
        fresh("amber"),
        *((0, b.Out(b.STOCK)), (24, b.Cut(b.STOCK, "A")), (24, b.InBox(b.STOCK)), (48, None)),
    )
    assert budget.account(b.STOCK).used == pytest.approx(0.1)
    assert budget.account("A").used == pytest.approx(0.2)
    budget = after(budget, (48, b.Cut("A", b.STOCK)))
    assert budget.account(b.STOCK).used == pytest.approx(0.2)
    assert budget.account(b.STOCK).where is b.Where.BOX
    budget = after(budget, (60, b.NewPaper()))
    assert budget.account(b.STOCK).used == 0


def test_time_does_not_run_backwards() -> None:
    """A step into the past is a fault of the caller."""
    budget = after(fresh("amber"), (10, None))
    with pytest.raises(ValueError, match="before"):
        budget.step(9 * S_IN_NS)


def test_near_is_for_the_book() -> None:
    """From 80 percent on a print is marked, from 100 on it is over."""
    budget = after(fresh("amber"), (0, b.Out("A")), (0.79 * 240, None))
    assert not budget.account("A").near
    budget = after(budget, (0.8 * 240, None))
    assert (budget.account("A").near, budget.account("A").over) == (True, False)
    assert after(budget, (240, None)).account("A").over
    assert budget.paper_out == ("A",)
    assert after(budget, (200, b.InStop("A"))).paper_out == ()
