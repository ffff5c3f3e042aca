"""Scores made at random, and some made by hand, for the tests beside this."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import strategies as st

from controller.errors import Refused
from controller.score.amount import Amount, seconds, stops
from controller.score.doses import exposures
from controller.score.model import (
    ALL_PASSES,
    ELSEWHERE,
    Burn,
    Dodge,
    Flash,
    PaperUsed,
    Pass,
    Process,
    Score,
    SetUp,
)

FILTERS = ("", "00", "2", "3 1/2", "5")
LABELS = ("soft", "hard", "third", "a long one")
NAMES = {"S": "sky", "D": "door", "H": "house", "W": "water"}
texts = st.text(max_size=12)


def split() -> Score:
    """Give a score of two passes: soft 12 s, hard a stop less, and a sketch of four places."""
    return Score(
        base_s=12,
        passes=(
            Pass(label="soft", filter="00"),
            Pass(label="hard", filter="5", dose=stops(-1)),
        ),
        sketch=("SSSS", "SDD.", "HHWW"),
        regions=NAMES,
    )


def stops_up_to(most: int) -> st.SearchStrategy[Amount]:
    """Give stops of more than nothing, as printers write them and as arithmetic finds them."""
    written = st.builds(Fraction, st.integers(1, 12 * most), st.just(12))
    found = st.floats(0.05, most)
    return st.one_of(written, found).map(stops)


def seconds_up_to(most_s: float) -> st.SearchStrategy[Amount]:
    return st.floats(0.05, most_s).map(seconds)


doses = st.one_of(
    st.builds(Fraction, st.integers(-24, 24), st.just(12)).map(stops),
    st.floats(-2, 2).map(stops),
    seconds_up_to(60),
)


@st.composite
def sketches(draw: st.DrawFn) -> tuple[tuple[str, ...], dict[str, str]]:
    """Give a sketch, or none, and the names of the regions that it has."""
    letters = draw(st.lists(st.sampled_from([*NAMES, "."]), min_size=1, max_size=5, unique=True))
    wide, high = draw(st.integers(0, 5)), draw(st.integers(1, 3))
    if not wide:
        return (), {}
    cells = st.lists(st.sampled_from(letters), min_size=wide, max_size=wide).map("".join)
    rows = tuple(draw(st.lists(cells, min_size=high, max_size=high)))
    return rows, {letter: name for letter, name in NAMES.items() if letter in "".join(rows)}


@st.composite
def burns_of(draw: st.DrawFn, passes: tuple[Pass, ...], places: st.SearchStrategy) -> Burn:
    over = draw(st.sampled_from([ALL_PASSES, *(one.label for one in passes)]))
    amount = draw(st.one_of(stops_up_to(2), seconds_up_to(20)))
    through = draw(st.sampled_from(FILTERS))
    if over == ALL_PASSES and len(passes) > 1:
        # stops take the filters of all passes; seconds need one of their own
        through = "" if amount.follows else (through or "2")
    return Burn(regions=draw(places), amount=amount, over=over, filter=through, note=draw(texts))


@st.composite
def dodges_of(draw: st.DrawFn, passes: tuple[Pass, ...], places: st.SearchStrategy) -> Dodge:
    amount = draw(st.one_of(stops_up_to(2), seconds_up_to(3)))
    begin = draw(st.sampled_from(["", "", "", "start", "middle", "end", "0.5s", "2s", ".25s"]))
    within = draw(st.sampled_from([one.label for one in passes]))
    return Dodge(regions=draw(places), amount=amount, within=within, begin=begin, note=draw(texts))


@st.composite
def scores(draw: st.DrawFn, *, words: st.SearchStrategy[str] = texts) -> Score:
    """Give a valid score; that its dodges fit their passes is not asked for."""
    sketch, regions = draw(sketches())
    labels = draw(st.lists(st.sampled_from(LABELS), min_size=1, max_size=3, unique=True))
    passes = tuple(
        Pass(label=label, filter=draw(st.sampled_from(FILTERS)), dose=draw(doses), note=draw(words))
        for label in labels
    )
    known = [*regions.values(), *([ELSEWHERE] if "." in "".join(sketch) else [])]
    burns: list[Burn] = []
    dodges: list[Dodge] = []
    if known:
        places = st.lists(st.sampled_from(known), min_size=1, max_size=3, unique=True).map(tuple)
        burns = draw(st.lists(burns_of(passes, places), max_size=3))
        dodges = draw(st.lists(dodges_of(passes, places), max_size=2))
    flash = st.builds(Flash, dose_s=st.floats(0.5, 20), filter=st.sampled_from(FILTERS), note=words)
    return Score(
        title=draw(words),
        base_s=draw(st.floats(2, 100)),
        judged=draw(st.sampled_from(["wet", "dry"])),
        paper=PaperUsed(
            name=draw(words), dry_down=draw(st.sampled_from(["", "8%", "12.5%", "1/12"]))
        ),
        setup=draw(
            st.builds(
                SetUp,
                aperture=st.sampled_from(["", "5.6", "8"]),
                magnification=st.one_of(st.none(), st.floats(0.5, 20)),
                focus_note=words,
            )
        ),
        sketch=sketch,
        regions=regions,
        flash=draw(st.one_of(st.none(), flash)),
        passes=passes,
        burns=tuple(burns),
        dodges=tuple(dodges),
        process=Process(developer=draw(words)),
        came_from=tuple(draw(st.lists(words, max_size=2))),
    )


def can_be_done(score: Score) -> bool:
    """Do its dodges fit?"""
    try:
        exposures(score)
    except Refused:
        return False
    return True


doable_scores = scores(words=st.just("")).filter(can_be_done)
