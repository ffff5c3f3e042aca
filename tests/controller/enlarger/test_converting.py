"""Converting: there and back is nothing, steps compose, and each change is told in words."""

from __future__ import annotations

import math
import re
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from controller.enlarger import converting as c
from controller.enlarger.filter_table import STARTING_POINTS, FilterEntry, FilterTable, filter_name
from controller.errors import BadInput

magnifications = st.floats(0.05, 100)
pupils = st.floats(0.2, 5)
distances = st.floats(10, 20_000)
readings = st.floats(1e-4, 1e5)
speeds = st.floats(1, 10_000)
engraved = st.sampled_from(
    ["1.4", "2", "2.8", "3.5", "4", "4.8", "5.6", "8", "9.5", "11", "18", "45"]
)
filters = st.sampled_from(STARTING_POINTS.names)


def paper(from_p: float, to_p: float) -> c.Factor:
    found = c.paper_factor(from_p, to_p)
    assert isinstance(found, c.Factor)
    return found


# what changes, from which values, and does the exposure grow when the value does?
FACTORS = [
    (c.magnification_factor, magnifications, True),
    (c.distance_factor, distances, True),
    (c.reading_factor, readings, False),
    (paper, speeds, False),
    (c.aperture_factor, engraved, True),
]
COMPOSED = [*((f, values) for f, values, _ in FACTORS), (c.filter_factor, filters)]


@pytest.mark.parametrize(("factor", "values"), COMPOSED)
@given(data=st.data())
def test_there_and_back(factor, values, data):
    """A change and the change back give the exposure there was."""
    a, b = data.draw(values), data.draw(values)
    assert factor(a, b).value * factor(b, a).value == pytest.approx(1)
    assert factor(a, a).value == 1
    assert not factor(a, a).estimate


@pytest.mark.parametrize(("factor", "values"), COMPOSED)
@given(data=st.data())
def test_two_steps_are_one(factor, values, data):
    """A change by way of a third value is the change."""
    a, b, way = data.draw(values), data.draw(values), data.draw(values)
    by_way = factor(a, way).value * factor(way, b).value
    assert by_way == pytest.approx(factor(a, b).value)


@pytest.mark.parametrize(("factor", "values", "grows"), FACTORS)
@given(data=st.data())
def test_monotone(factor, values, grows, data):
    """Larger, further or closed down needs more; more light and faster paper need less."""
    start = data.draw(values)
    low, high = sorted((data.draw(values), data.draw(values)), key=float)
    small, large = factor(start, low).value, factor(start, high).value
    assert small <= large if grows else small >= large
    if float(high) > 1.01 * float(low):
        assert small != large


@given(magnifications, magnifications, pupils, pupils)
def test_a_wider_exit_pupil_makes_less_of_it(m1, m2, p1, p2):
    """The larger P, the smaller the change, and always between none and the ratio squared."""
    narrow, wide = (c.magnification_factor(m1, m2, pupil=p) for p in sorted((p1, p2)))
    assert abs(wide.stops) <= abs(narrow.stops) + 1e-9
    assert abs(narrow.stops) <= abs(2 * math.log2(m2 / m1)) + 1e-9


@given(st.lists(st.fractions(-2, 2), min_size=1, max_size=6))
def test_combining_adds_stops(stops):
    """Stops of all changes add up, and every one has its line, then the sum and the advice."""
    found = c.combine([c.told_factor(s) for s in stops])
    assert found.stops == pytest.approx(float(sum(stops)), abs=1e-9)
    assert found.lines[-1] == c.ADVICE
    assert len(found.lines) >= len(stops) + 1 + (len(stops) > 1)
    assert (c.LONG_ADVICE in found.lines) == (found.factor >= c.LONG_FACTOR)


def test_lines_tell_the_change_one_by_one():
    """A conversion reads as it would be said, the estimates and what is open marked as such."""
    found = c.combine(
        [
            c.magnification_factor(2, 4),
            c.aperture_factor("f/8", 5.6),
            c.another_lamp(),
            c.paper_factor(200, None),
        ]
    )
    assert found.lines == (
        "magnification 2 to 4: x 2.78, +1.47 stops "
        "(estimate: diffusion and condenser heads can depart from it)",
        "aperture f/8 to f/5.6: x 0.5, -1 stop",
        "another lamp: a strip on the highlight must settle it",
        "paper speed P200 to unknown: a strip on the highlight must settle it",
        "together: x 1.39, +0.47 stop",
        "make one strip on the highlight before the first sheet",
    )
    assert found.factor == pytest.approx(25 / 18)
    assert [one.change for one in found.unsettled] == [c.Change.LAMP, c.Change.PAPER]


@pytest.mark.parametrize(
    ("factor", "told"),
    [
        (c.magnification_factor(6, 6), "magnification 6 to 6: no change"),
        (c.told_factor(Fraction(1, 3)), "as a strip told: x 1.26, +1/3 stop"),
        (c.told_factor(6, "a"), "a: x 64, +6 stops"),
        (c.told_factor(10, "a"), "a: x 1024, +10 stops"),
        (c.told_factor(-6, "a"), "a: x 0.0156, -6 stops"),
    ],
)
def test_a_line_has_three_figures(factor, told):
    """Factors are told to three figures at least, without exponents."""
    assert factor.line == told


def test_only_open_changes():
    """Where nothing is known the factor is 1, and the strip is what is left."""
    found = c.combine([c.another_lamp("opal", "halogen")])
    assert found.factor == 1
    assert found.lines[0] == "lamp opal to halogen: a strip on the highlight must settle it"
    assert len(found.lines) == 2


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ([], "nothing is changed"),
        ([c.magnification_factor(2, 4)] * 2, "the magnification is changed twice"),
        ([c.magnification_factor(2, 4), c.distance_factor(450, 750)], "already holds"),
        ([c.reading_factor(4, 2), c.magnification_factor(2, 4)], "already holds"),
        ([c.reading_factor(4, 2), c.distance_factor(450, 750)], "already holds"),
        ([c.aperture_factor(8, 11), c.reading_factor(4, 2)], "already holds"),
    ],
)
def test_no_change_counts_twice(changes, why):
    """The same change in two forms is refused, as is none at all."""
    with pytest.raises(BadInput, match=why):
        c.combine(changes)


def test_a_reading_leaves_filter_and_paper_alone():
    """A light reading goes together with what it does not hold."""
    found = c.combine([c.reading_factor(4, 2), c.filter_factor("2", "5"), paper(200, 100)])
    assert found.factor == 8


NOT_NUMBERS = [math.nan, math.inf, -math.inf, 0.0, -1.0]


@pytest.mark.parametrize("bad", NOT_NUMBERS)
@pytest.mark.parametrize(
    ("call", "good", "options"),
    [
        (c.magnification_factor, 2.0, ("--from-magnification", "--to-magnification")),
        (c.distance_factor, 450.0, ("--from-distance-mm", "--to-distance-mm")),
        (c.reading_factor, 4.0, ("--from-lux", "--to-lux")),
        (c.paper_factor, 200.0, ("--from-speed", "--to-speed")),
        (c.magnification_from_print, 24.0, ("--negative-mm", "--image-mm")),
    ],
)
def test_bad_numbers_name_their_option(call, good, options, bad):
    """What is no length, light or speed is refused, and the option named."""
    for arguments, option in zip([(bad, good), (good, bad)], options, strict=True):
        with pytest.raises(BadInput) as refused:
            call(*arguments)
        assert refused.value.where == option


@pytest.mark.parametrize("bad", [*NOT_NUMBERS, 0.1, 6.0])
def test_bad_pupils(bad):
    """A pupil magnification that no lens has is refused."""
    with pytest.raises(BadInput) as refused:
        c.magnification_factor(2, 4, pupil=bad)
    assert refused.value.where == "--pupil"


def test_bad_apertures_name_their_option():
    """A number that no ring bears is refused where it stands."""
    with pytest.raises(BadInput, match=r"^--from-aperture: no ring is engraved 7;"):
        c.aperture_factor(7, 8)
    with pytest.raises(BadInput, match=r"^--to-aperture: no ring is engraved 7;"):
        c.aperture_factor(8, 7)


@pytest.mark.parametrize("bad", [math.nan, math.inf, 21, -21, Fraction(10**400)])
def test_bad_stops(bad):
    """What a strip told can be no more than 20 stops."""
    with pytest.raises(BadInput):
        c.told_factor(bad)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_no_factor_is_nothing(bad):
    """A factor that would leave no exposure, or all of it, cannot be written."""
    with pytest.raises(BadInput):
        c.Factor(c.Change.TOLD, bad, "a", "b")


# --- magnification from what was measured ------------------------------------------------------


def test_magnification_from_a_print():
    """36 mm that are 288 mm on the easel are a magnification of 8."""
    assert c.magnification_from_print(36, 288) == 8
    with pytest.raises(BadInput, match=r"36 mm from 0\.2 mm would be a magnification of 180"):
        c.magnification_from_print(0.2, 36)


@given(
    st.sets(st.integers(0, 200), min_size=2, max_size=8),
    st.sets(st.integers(1, 300), min_size=8, max_size=8),
    st.floats(0, 1),
    st.booleans(),
)
def test_between_notes(scale, tenths, part, falling):
    """Noted readings give what is noted; between them it stays between, on any kind of scale."""
    rising = zip(sorted(scale), sorted(tenths), strict=False)
    pairs = [(float(-at if falling else at), m / 10) for at, m in rising]
    for at, m in pairs:
        assert c.magnification_at(at, pairs[::-1]) == m
    (low, low_m), (high, high_m) = min(pairs), max(pairs)
    found = c.magnification_at(low + part * (high - low), pairs)
    assert min(low_m, high_m) - 1e-9 <= found <= max(low_m, high_m) + 1e-9


def test_halfway_between_notes():
    """Halfway between two notes is halfway between their magnifications."""
    assert c.magnification_at(30, [(40, 6), (20, 4), (60, 10)]) == 5


@pytest.mark.parametrize("reading", [19.9, 60.1, -1e9])
def test_nothing_is_made_up_beyond_the_notes(reading):
    """A reading beyond those noted is refused, with what to note."""
    with pytest.raises(BadInput) as refused:
        c.magnification_at(reading, [(20, 4), (60, 10)], where="--from-column")
    assert refused.value.where == "--from-column"
    assert "outside the readings noted, 20 to 60" in refused.value.what
    assert f"note the magnification at {reading:g}" in refused.value.right


@pytest.mark.parametrize(
    ("pairs", "why"),
    [
        ([], "no magnification is noted"),
        ([(20, 4)], "outside the readings noted, 20$"),
        ([(20, 4), (20, 5)], "contradict each other: 4 at 20 and 5 at 20"),
        ([(20, 4), (40, 4)], "contradict each other: 4 at 20 and 4 at 40"),
        ([(20, 4), (40, 6), (60, 5)], "contradict each other: 6 at 40 and 5 at 60"),
        ([(20, 4), (math.inf, 6)], "inf is no reading"),
        ([(20, 0), (40, 6)], "0 is not a magnification"),
    ],
)
def test_notes_that_cannot_serve(pairs, why):
    """Too few notes, and notes that contradict each other, are refused."""
    with pytest.raises(BadInput) as refused:
        c.magnification_at(30, pairs)
    assert refused.value.where == "--to-column"
    assert re.search(why, refused.value.what)


def test_one_note_serves_its_own_reading():
    """A single note is enough where the column stands just there."""
    assert c.magnification_at(20, [(20, 4)]) == 4
    with pytest.raises(BadInput, match="nan is no reading"):
        c.magnification_at(math.nan, [(20, 4)])


# --- filters -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("3½", "3 1/2"),
        ("3 ½", "3 1/2"),
        ("3.5", "3 1/2"),
        ("3 1/2", "3 1/2"),
        (" 3  1/2 ", "3 1/2"),
        ("½", "1/2"),
        ("0.5", "1/2"),
        (".5", "1/2"),
        ("00", "00"),
        ("", "none"),
        ("None", "none"),
        ("47B blue", "47B blue"),
        ("1.2", "1.2"),
    ],
)
def test_filter_names(written, name):
    """A half is the same however it is written; other names stay as they are."""
    assert filter_name(written) == name


@given(st.text(max_size=12))
def test_filter_names_settle(text):
    """A name brought to one spelling stays as it is."""
    assert filter_name(filter_name(text)) == filter_name(text)


def test_an_unknown_filter_is_a_strips_to_settle():
    """An unknown filter is refused with those known, and with the strip that settles it."""
    with pytest.raises(BadInput) as refused:
        c.filter_factor("2", "47B")
    assert refused.value.where == "--to-filter"
    assert "'47B'" in refused.value.what
    assert f"one of {', '.join(STARTING_POINTS.names)};" in refused.value.right
    assert "strip on the highlight" in refused.value.right
    with pytest.raises(BadInput) as refused:
        c.filter_factor("47B", "2")
    assert refused.value.where == "--from-filter"


def test_an_own_factor_stands_before_the_starting_point():
    """The printer's own factor replaces one and adds another, and the default stays."""
    table = STARTING_POINTS.with_own("3½", 2.4).with_own("47B", 6)
    assert table.names == (*STARTING_POINTS.names, "47B")
    assert c.filter_factor("none", "3.5", table).value == 2.4
    assert c.filter_factor("3 1/2", "47B", table).value == pytest.approx(2.5)
    assert c.filter_factor("none", "3.5").value == 2


def test_a_filter_change_says_that_the_highlight_moves():
    """Only the starting points are called so, but any other filter moves the highlight."""
    own = STARTING_POINTS.with_own("2", 2).with_own("4", 4)
    assert "starting point" in c.filter_factor("2", "4").caution
    assert "starting point" not in c.filter_factor("2", "4", own).caution
    for table in (STARTING_POINTS, own):
        assert "the highlight moves" in c.filter_factor("2", "4", table).line
    assert c.filter_factor("2", "4", own).source == "your own"


def test_a_table_of_ones_own():
    """A table without starting points knows its own filters and none."""
    table = FilterTable("head", (FilterEntry("30Y", 1.5, "your own", own=True),))
    assert c.filter_factor("", "30Y", table).value == 1.5
    with pytest.raises(BadInput, match="one of none, 30Y; or a strip"):
        c.filter_factor("30Y", "2", table)


@pytest.mark.parametrize("bad", [0.0, -2.0, math.nan, math.inf])
def test_bad_filter_factors(bad):
    """What is no factor is refused, and so is a factor for no filter."""
    with pytest.raises(BadInput, match=r"^filter 2: "):
        STARTING_POINTS.with_own("2", bad)
    with pytest.raises(BadInput, match="counted from no filter"):
        STARTING_POINTS.with_own("", 2)
