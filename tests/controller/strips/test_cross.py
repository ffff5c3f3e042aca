"""The cross: its cells, what falls on each, and what is picked from it."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.enlarger.lamp import Calibration, LampLimits
from controller.errors import BadInput, Refused
from controller.exposing.around import Around
from controller.plan import Confirm, Curtain, Expose, Go, Lights, Plan, Sheet
from controller.ports import Filter, Move
from controller.stops import parse_step
from controller.strips.cross import (
    Cell,
    CellResult,
    Cross,
    Steps,
    cell_table,
    cells_of,
    pick_cell,
    plan_cross,
)
from tests.controller.exposing.asked import as_asked

LAMP, LIMITS = Calibration(0.1, 0.02), LampLimits()
ANYTHING = LampLimits(least_pulse_s=0.0, longest_on_s=1e6)


def steps(filter_: str = "00", base_s: float = 8, step: str = "1/3", count: int = 4) -> Steps:
    return Steps(filter=filter_, base_s=base_s, step=parse_step(step), steps=count)


def cross(columns: int = 5, rows: int = 4) -> Cross:
    return Cross(soft=steps("00", 8, "1/3", columns), hard=steps("5", 4, "1/2", rows), aperture="8")


crosses = st.builds(
    Cross,
    soft=st.builds(
        steps,
        st.just("00"),
        st.floats(1, 60),
        st.sampled_from(["1/6", "1/3", "2s", "25%"]),
        st.integers(2, 12),
    ),
    hard=st.builds(
        steps,
        st.just("5"),
        st.floats(1, 60),
        st.sampled_from(["1/6", "1/2", "1s", "10%"]),
        st.integers(2, 12),
    ),
)


def fallen_on(made: Plan, row: int, column: int) -> dict[str, float]:
    """Give what a cell gets when hands do as the plan says: the card covers what it counts."""
    doses: dict[str, float] = {}
    filter_, covered = "", {"left": 0, "top": 0}
    for action in made.actions:
        match action:
            case Confirm(hands=Filter(name=name)):
                filter_ = name
            case Go(hands=Move(tool="card", position=position, edge=edge)):
                covered = {"left": 0, "top": 0} | {edge: position}
            case Expose(dose_s=dose_s, filter=through):
                assert through == filter_
                if column >= covered["left"] and row >= covered["top"]:
                    doses[filter_] = doses.get(filter_, 0.0) + dose_s
            case _:
                pass
    return doses


@given(crosses)
def test_every_cell_gets_the_two_doses_of_its_label(wanted: Cross) -> None:
    """Pulse by pulse, under a card that comes in from both sides, each cell adds up."""
    made = plan_cross(wanted, LAMP, ANYTHING)
    cells = cells_of(wanted)
    assert len(cells) == wanted.soft.steps * wanted.hard.steps
    for cell in cells:
        assert fallen_on(made, "ABCDEFGHIJKL".index(cell.row), cell.column - 1) == {
            "00": pytest.approx(cell.soft_s),
            "5": pytest.approx(cell.hard_s),
        }


def test_cells_are_named_by_row_and_column() -> None:
    """Rows are hard steps and lettered, columns are soft ones and numbered; A1 has the least."""
    cells = cells_of(cross(3, 2))
    assert [cell.name for cell in cells] == ["A1", "A2", "A3", "B1", "B2", "B3"]
    assert cells[0] == Cell("A", 1, 8, 4)
    assert (cells[-1].soft_s, cells[-1].hard_s) == pytest.approx((8 * 2 ** (2 / 3), 4 * 2**0.5))


def test_the_order_of_a_cross() -> None:
    """Soft columns from the left, then hard rows from the top; one sheet, one curtain."""
    made = plan_cross(cross(3, 2), LAMP, LIMITS, Around(lights_off={"red": 2.0}))
    told = [a.say for a in as_asked(made) if isinstance(a, Confirm | Sheet | Go)]
    assert told == [
        "lens to 8",
        "filter 00",
        "new sheet for a cross",
        "card away, 8.0 s",
        "card over column 1, 2.1 s",
        "card over column 2, 2.6 s",
        "filter 5",
        "card away, rows from the top, 4.0 s",
        "card over row A, 1.7 s",
    ]
    moves = [a.hands for a in made.actions if isinstance(a, Go)]
    assert moves == [
        *(Move("card", n, 3, "left") for n in range(3)),
        *(Move("card", n, 2, "top") for n in range(2)),
    ]
    dark = [i for i, a in enumerate(made.actions) if isinstance(a, Curtain | Lights)]
    first = next(i for i, a in enumerate(made.actions) if isinstance(a, Go))
    assert dark == [first + 1, first + 2]
    assert [e.label for _, e in made.exposures()] == [
        "column 1",
        "column 2",
        "column 3",
        "row A",
        "row B",
    ]


def test_what_a_late_hand_spoils_is_what_should_have_been_covered() -> None:
    """Each exposure after the first of its filter casts doubt on the strip before it."""
    made = plan_cross(cross(3, 2), LAMP, LIMITS)
    assert [e.doubtful for _, e in made.exposures()] == [
        ("column 1",),
        ("column 1",),
        ("column 2",),
        ("row A",),
        ("row A",),
    ]


def test_no_filter_is_said_as_such() -> None:
    """The filter is taken away for steps that have none."""
    wanted = Cross(soft=steps("00"), hard=steps("none", 4))
    made = plan_cross(wanted, LAMP, LIMITS)
    asked = [a for a in as_asked(made) if isinstance(a, Confirm)][1:]
    assert [(a.say, a.hands) for a in asked] == [
        ("filter 00", Filter("00")),
        ("filter away", Filter("none")),
    ]


@pytest.mark.parametrize(
    ("text", "name", "soft_s", "hard_s"),
    [
        ("B3", "B3", 8 * 2 ** (2 / 3), 4 * 2**0.5),
        (" b3 ", "B3", 8 * 2 ** (2 / 3), 4 * 2**0.5),
        ("B3-B4", "B3-B4", 8 * 2 ** (5 / 6), 4 * 2**0.5),
        ("between b3 and b4", "B3-B4", 8 * 2 ** (5 / 6), 4 * 2**0.5),
        ("B4-B3", "B4-B3", 8 * 2 ** (5 / 6), 4 * 2**0.5),
        ("A1-B1", "A1-B1", 8, 4 * 2**0.25),
        ("A1 – B2", "A1-B2", 8 * 2 ** (1 / 6), 4 * 2**0.25),  # noqa: RUF001
        ("B3-B3", "B3", 8 * 2 ** (2 / 3), 4 * 2**0.5),
    ],
)
def test_a_pick_is_a_cell_or_lies_between_two(
    text: str, name: str, soft_s: float, hard_s: float
) -> None:
    """Half-way in stops, of both exposures, also cornerwise; and it is called after both."""
    found = pick_cell(cross(), text)
    assert found.name == name
    assert (found.soft_s, found.hard_s) == pytest.approx((soft_s, hard_s))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("E1", "there is no cell 'E1' on this cross; right would be A1 to D5"),
        ("A6", "there is no cell 'A6'"),
        ("3B", "there is no cell '3B'"),
        ("", "there is no cell ''"),
        ("B3 B4", "there is no cell 'B3B4'"),
        ("between B3", "only one cell is named"),
        ("A1-A3", "A1 and A3 are not neighbours"),
        ("A1-C1", "A1 and C1 are not neighbours; right would be a cell such as B3, or between"),
        ("A1-A2-A3", "'A1-A2-A3' is not a choice"),
    ],
)
def test_what_cannot_be_picked_is_told(text: str, said: str) -> None:
    """With the cells that there are."""
    with pytest.raises(BadInput) as refused:
        pick_cell(cross(), text)
    assert said in str(refused.value)


@given(st.text(max_size=12))
def test_any_text_is_a_cell_or_refused(text: str) -> None:
    """Nothing but BadInput comes of it."""
    try:
        cell = pick_cell(cross(), text)
    except BadInput:
        return
    assert cell.name


def test_what_lamp_or_hand_cannot_do_is_refused() -> None:
    """Steps too narrow to lay a card by, pulses too short for the lamp or too long."""
    narrow = cross(12, 4).model_copy(update={"width_mm": 60.0})
    with pytest.raises(Refused, match=r"12 steps along 60 mm are 5.0 mm each.*; try fewer steps"):
        plan_cross(narrow, LAMP, LIMITS)
    low = cross(4, 12).model_copy(update={"height_mm": 60.0})
    with pytest.raises(Refused, match="12 steps along 60 mm"):
        plan_cross(low, LAMP, LIMITS)
    short = Cross(soft=steps(base_s=1, step="1/6"), hard=steps("5"))
    with pytest.raises(Refused, match=r"filter 00: 0.12 s is less than this lamp can be trusted"):
        plan_cross(short, LAMP, LIMITS)
    long = Cross(soft=steps(), hard=steps("5", 200))
    with pytest.raises(Refused, match=r"filter 5: 3:20 is longer than this lamp's limit"):
        plan_cross(long, LAMP, LIMITS)


def test_a_cross_survives_being_written_down() -> None:
    """The spec comes back from its text."""
    assert Cross.model_validate_json(cross().model_dump_json()) == cross()


def test_a_table_of_cells_has_densities_only_from_paper() -> None:
    """A real cross tells doses; a simulated one what became of them as well."""
    bare = CellResult("A", 1, 8.0, 4.0)
    assert cell_table([bare]) == ["cell       soft      hard", "A1        8.0 s     4.0 s"]
    made = CellResult("A", 1, 8.0, 4.0, density=0.256)
    assert cell_table([made])[1] == "A1        8.0 s     4.0 s     0.26"


def test_a_cross_is_called_after_its_steps() -> None:
    """Both filters, where they begin and by what they grow."""
    assert plan_cross(cross(), LAMP, LIMITS).title == (
        "cross, 5 of filter 00 from 8.0 s by 1/3, 4 of filter 5 from 4.0 s by 1/2"
    )
