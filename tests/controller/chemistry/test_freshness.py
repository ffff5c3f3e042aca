"""Baths: what ages them, what fills them, and what is said of it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.chemistry.bath import EIGHT_BY_TEN_M2, Base, Bath, Entry, Figures, Place, Role, What
from controller.chemistry.cautions import Kind
from controller.chemistry.freshness import State, Status, hours_left, sheets_left, status
from controller.chemistry.tonight import Edition, need, need_lines, needs
from controller.chemistry.words import bath_lines, last_warning, what_to_do

START = datetime(2026, 5, 1, 18, tzinfo=UTC)
EIGHT = EIGHT_BY_TEN_M2
FIGURES = Figures(25 * EIGHT, 50 * EIGHT, 8, 24, 12)


def bath(figures: Figures = FIGURES, *, volume_ml: float = 1000, role: Role = Role.ALONE) -> Bath:
    """A litre of developer that was mixed at the start."""
    return Bath(1, "developer", "paper developer", Kind.DEVELOPER, "1+9", volume_ml, figures,
                Place.TRAY, START, role)  # fmt: skip


def sheet(base: Base = Base.FIBRE, area_m2: float = EIGHT) -> Entry:
    """A sheet that went through it at once."""
    return Entry(What.SHEET, START, area_m2, base)


def after(hours: float, *entries: Entry, of: Bath | None = None) -> Status:
    """The bath some hours later."""
    return status(of or bath(), entries, START + timedelta(hours=hours))


def test_fibre_and_resin_coated_fill_a_bath_by_their_own_capacities() -> None:
    """5 of 25 and 10 of 50 are two fifths; two litres take twice as much."""
    entries = [sheet()] * 5 + [sheet(Base.RESIN_COATED)] * 10
    assert after(0, *entries).capacity_share == pytest.approx(0.4)
    assert after(0, *entries, of=bath(volume_ml=2000)).capacity_share == pytest.approx(0.2)
    assert sheets_left(after(0, *entries), EIGHT, Base.FIBRE) == 15
    assert sheets_left(after(0, *entries), EIGHT, Base.RESIN_COATED) == 30


def test_a_base_without_a_figure_counts_as_fibre() -> None:
    """The more demanding one, so that nothing passes uncounted."""
    found = after(0, sheet(Base.RESIN_COATED), of=bath(Figures(fibre_m2_per_l=10 * EIGHT)))
    assert found.capacity_share == pytest.approx(0.1)


def test_hours_in_tray_and_bottle_are_shares_of_their_own_lives() -> None:
    """Two of eight hours in the tray, then six of 24 in a full bottle, are half its life."""
    bottled = Entry(What.MOVED, START + timedelta(hours=2), place=Place.FULL)
    found = after(8, bottled)
    assert found.life_share == pytest.approx(0.5)
    assert (found.place, hours_left(found)) == (Place.FULL, pytest.approx(12))
    assert after(4).life_share == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("sheets", "hours", "state"),
    [
        (19, 0, State.FRESH),
        (20, 0, State.LOW),
        (24, 0, State.LOW),
        (25, 0, State.OVER),
        (0, 6.3, State.FRESH),
        (0, 6.4, State.LOW),
        (0, 8, State.OVER),
        (20, 8, State.OVER),
    ],
)
def test_warned_at_four_fifths_and_over_at_all_of_it(
    sheets: int, hours: float, state: State
) -> None:
    """By paper or by age, whichever is further."""
    found = after(hours, *[sheet()] * sheets)
    assert found.state is state
    assert bool(what_to_do(found)) == (state is not State.FRESH)


def test_without_figures_it_says_so_and_never_that_a_bath_is_fresh() -> None:
    """An unknown is no number."""
    found = after(5, sheet(), of=bath(Figures()))
    assert (found.share, found.state) == (None, State.UNKNOWN)
    assert "data sheet" in what_to_do(found)
    assert (sheets_left(found, EIGHT, Base.FIBRE), hours_left(found)) == (None, None)


def test_a_clock_that_stands_before_the_mixing_is_told() -> None:
    """A machine without a battery starts in the past."""
    found = after(-5)
    assert (found.age_h, found.clock_behind) == (0, True)
    assert "clock" in " ".join(bath_lines(found))


def test_a_promoted_bath_counts_anew() -> None:
    """What went through it behind the first had been fixed nearly."""
    entries = [sheet()] * 30
    second = bath(role=Role.SECOND)
    assert after(0, *entries, of=second).capacity_share is None
    first = after(0, *entries, Entry(What.PROMOTED, START, tray="first"), sheet(), of=second)
    assert (first.role, first.tray, first.promotions, first.sheets) == (Role.FIRST, "first", 1, 1)
    assert first.capacity_share == pytest.approx(0.04)


def test_ageing_ends_when_it_is_poured_out() -> None:
    """A bath that is gone has the age it had."""
    found = after(100, Entry(What.DISCARDED, START + timedelta(hours=4)))
    assert (found.age_h, found.discarded) == (4, True)


def test_a_warning_is_one_line_for_the_ear() -> None:
    """Which tray, how far, by what, and what to do."""
    said = last_warning(after(0, *[sheet()] * 25))
    assert said == "developer used up, 100% by paper: mix anew"


@given(
    st.lists(st.tuples(st.sampled_from(Base), st.floats(0.001, 0.5)), max_size=12),
    st.floats(0, 30),
    st.floats(0, 30),
)
def test_nothing_makes_a_bath_fresher(
    sheets: list[tuple[Base, float]], hours: float, more: float
) -> None:
    """Neither another sheet nor more time; and what is left, used, leaves nothing."""
    entries = [sheet(base, area) for base, area in sheets]
    now, later = after(hours, *entries), after(hours + more, *entries, sheet())
    assert later.share is not None
    assert now.share is not None
    assert later.share >= now.share
    left = sheets_left(now, EIGHT, Base.FIBRE)
    assert left is not None
    if now.capacity_share is not None and now.capacity_share < 1:
        full = after(0, *entries, *[sheet()] * left)
        assert sheets_left(full, EIGHT, Base.FIBRE) == 0
        assert full.capacity_share is not None
        assert full.capacity_share <= 1 + 1e-6


# --- tonight --------------------------------------------------------------------------------


def test_enough_for_the_edition_or_how_much_to_mix() -> None:
    """20 of 25 left: 20 are enough; 60 want two fresh litres more."""
    used = after(1, *[sheet()] * 5)
    assert need(used, Edition(20, EIGHT, Base.FIBRE, 3)).enough
    found = need(used, Edition(60, EIGHT, Base.FIBRE, 3))
    assert (found.takes, found.fresh_baths) == (20, 2)
    assert found.more is not None
    assert (found.more.concentrate_ml, found.more.water_ml) == (200, 1800)
    assert need_lines(found)[1].endswith(
        "mix 2 times 1 l: 2 l in all, of 200 ml concentrate and 1800 ml water"
    )


def test_a_bath_that_will_not_last_the_evening_is_not_enough() -> None:
    """Three hours are left of it; an evening of four wants a fresh one."""
    assert need(after(5), Edition(1, EIGHT, Base.FIBRE, 3)).enough
    found = need(after(5), Edition(1, EIGHT, Base.FIBRE, 4))
    assert (found.enough, found.fresh_baths) == (False, 1)
    assert "good for 3 h more" in need_lines(found)[0]


def test_a_sheet_larger_than_a_bath_takes_has_a_bath_of_its_own() -> None:
    """Nothing is divided by nothing."""
    assert need(after(0), Edition(3, 30 * EIGHT, Base.FIBRE)).fresh_baths == 3


def test_bottles_and_the_second_bath_are_not_asked() -> None:
    """The one stands elsewhere, the other follows the first."""
    bottled = after(0, Entry(What.MOVED, START, place=Place.FULL))
    second = after(0, of=bath(role=Role.SECOND))
    edition = Edition(1, EIGHT, Base.FIBRE)
    assert [each.status for each in needs([bottled, second, after(0)], edition)] == [after(0)]


@given(
    st.integers(0, 40),
    st.integers(1, 200),
    st.sampled_from(Base),
    st.floats(0.005, 0.4),
    st.floats(200, 5000),
)
def test_what_is_to_be_mixed_is_enough_and_not_a_bath_too_much(
    before: int, sheets: int, base: Base, area_m2: float, volume_ml: float
) -> None:
    """The edition fits into what is left and what is mixed, and would not with one bath fewer."""
    fresh = after(0, of=bath(volume_ml=volume_ml))
    used = after(0, *[sheet()] * before, of=bath(volume_ml=volume_ml))
    found = need(used, Edition(sheets, area_m2, base))
    each = sheets_left(fresh, area_m2, base)
    assert each is not None
    assert found.takes is not None
    if each:
        assert found.takes + found.fresh_baths * each >= sheets
        assert not found.fresh_baths or found.takes + (found.fresh_baths - 1) * each < sheets
    if found.more is not None:
        assert float(found.more.volume_ml) == pytest.approx(found.fresh_baths * volume_ml)
