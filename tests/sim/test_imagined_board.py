from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from controller.ports import Line, OutputDriver, PortFault
from sim.board import ImaginedBoard
from sim.replay import read_wire

ROOT = Path(__file__).parents[2]
LAMP = Line("lamp", 17)
SAFE = Line("safelight", 27, active_low=True, normally_closed=True)
LINES = [LAMP, SAFE]


def soon_ns() -> int:
    return time.monotonic_ns() + 200_000_000


@pytest.fixture
def wire(tmp_path: Path) -> Path:
    return tmp_path / "edges.txt"


def test_claiming_and_letting_go_make_no_edge(wire):
    """A fresh board is de-energised already: nothing is written from opening to closing."""
    driver: OutputDriver = ImaginedBoard
    outputs = driver.open(LINES, {"wire": str(wire)})
    assert outputs.read("lamp") is False
    assert outputs.read("safelight") is True
    outputs.close()
    assert wire.read_text() == ""


def test_every_edge_is_a_line_with_time_level_and_light(wire):
    """The level follows from polarity and contact; a write that changes nothing is no edge."""
    before_ns = time.monotonic_ns()
    outputs = ImaginedBoard.open(LINES, {"wire": str(wire)})
    outputs.write("lamp", True)
    outputs.write("lamp", True)
    outputs.write("safelight", False)
    outputs.write("lamp", False)
    outputs.close()
    rows = [line.split() for line in wire.read_text().splitlines()]
    assert [row[1:] for row in rows] == [
        ["lamp", "1", "1"],
        ["safelight", "0", "0"],
        ["lamp", "0", "0"],
    ]
    times = [int(row[0]) for row in rows]
    assert before_ns <= times[0] <= times[1] <= times[2] <= time.monotonic_ns()
    assert [(e.output, e.lit) for e in read_wire(wire)] == [
        ("lamp", True),
        ("safelight", False),
        ("lamp", False),
    ]


def test_a_closed_board_keeps_its_levels_and_the_next_owner_makes_them_safe(wire):
    """As a Raspberry Pi's kernel does: the lamp stays lit until someone claims the line."""
    outputs = ImaginedBoard.open(LINES, {"wire": str(wire)})
    outputs.write("lamp", True)
    outputs.close()
    assert wire.read_text().count("\n") == 1
    again = ImaginedBoard.open(LINES, {"wire": str(wire)})
    assert [line.split()[1:] for line in wire.read_text().splitlines()[1:]] == [["lamp", "0", "0"]]
    assert again.read("lamp") is False
    again.close()


def test_only_one_owner_at_a_time(wire):
    """A second owner is refused, and a rescuer waits in vain."""
    outputs = ImaginedBoard.open(LINES, {"wire": str(wire)})
    rescuer = ImaginedBoard.rescuer(LINES, {"wire": str(wire)})
    with pytest.raises(PortFault, match="another program holds"):
        ImaginedBoard.open(LINES, {"wire": str(wire)})
    outputs.write("lamp", True)
    assert rescuer.make_safe(time.monotonic_ns() + 5_000_000) is False
    outputs.close()
    assert rescuer.make_safe(soon_ns()) is True
    assert [e.lit for e in read_wire(wire)] == [True, False]
    with pytest.raises(PortFault, match="another program holds"):
        ImaginedBoard.open(LINES, {"wire": str(wire)})
    rescuer.release()
    ImaginedBoard.open(LINES, {"wire": str(wire)}).close()


@pytest.mark.real
def test_a_killed_owner_leaves_the_lamp_lit_and_the_rescuer_puts_it_out(wire):
    """The kernel frees the claim of a dead process; the level stays until it is taken."""
    code = (
        "import sys, time\n"
        "from controller.ports import Line\n"
        "from sim.board import ImaginedBoard\n"
        "board = ImaginedBoard.open([Line('lamp', 17)], {'wire': sys.argv[1]})\n"
        "board.write('lamp', True)\n"
        "print('lit', flush=True)\n"
        "time.sleep(60)\n"
    )
    rescuer = ImaginedBoard.rescuer([LAMP], {"wire": str(wire)})
    with subprocess.Popen(
        [sys.executable, "-c", code, str(wire)],
        stdout=subprocess.PIPE,
        cwd=ROOT,
        env=os.environ | {"PYTHONPATH": str(ROOT)},
    ) as owner:
        assert owner.stdout is not None
        assert owner.stdout.readline() == b"lit\n"
        owner.kill()
        owner.wait()
    assert [e.lit for e in read_wire(wire)] == [True]
    assert rescuer.make_safe(time.monotonic_ns() + 2_000_000_000)
    assert [e.lit for e in read_wire(wire)] == [True, False]


def test_writes_fail_after_so_many(wire):
    """write-fails-after=1: the first works, every other raises and makes no edge."""
    outputs = ImaginedBoard.open(LINES, {"wire": str(wire), "fail": "write-fails-after=1"})
    outputs.write("lamp", True)
    for _ in range(2):
        with pytest.raises(PortFault, match="did not answer"):
            outputs.write("lamp", False)
    assert outputs.read("lamp") is True
    assert len(read_wire(wire)) == 1
    outputs.close()


def test_a_write_fails_once(wire):
    """write-fails-once=1: the second raises, the third works."""
    outputs = ImaginedBoard.open(LINES, {"wire": str(wire), "fail": ["write-fails-once=1"]})
    outputs.write("lamp", True)
    with pytest.raises(PortFault):
        outputs.write("lamp", False)
    outputs.write("lamp", False)
    assert [e.lit for e in read_wire(wire)] == [True, False]
    outputs.close()


def test_a_stuck_contact_is_told_by_reading_back_and_a_blind_board_tells_nothing(wire):
    """Welded: writing does nothing. Blind: the state is not known."""
    stuck = ImaginedBoard.open(LINES, {"wire": str(wire), "fail": "stuck"})
    stuck.write("lamp", True)
    assert stuck.read("lamp") is False
    stuck.close()
    blind = ImaginedBoard.open(LINES, {"wire": str(wire), "fail": "blind"})
    assert blind.read("lamp") is None
    blind.close()


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({}, "needs the path"),
        ({"wire": 3}, "needs the path"),
        ({"wire": "/nowhere/at/all/edges.txt"}, "cannot be opened"),
        ({"wire": "{tmp}", "fail": "write-fails-after=x"}, "is not known"),
        ({"wire": "{tmp}", "fail": 7}, "should be words"),
        ({"wire": "{tmp}", "fail": "open-fails"}, "does not open"),
    ],
)
def test_bad_options_get_a_sentence(tmp_path, options, says):
    """What is wrong, and what would be right."""
    wire = str(tmp_path / "edges.txt")
    options = {key: wire if value == "{tmp}" else value for key, value in options.items()}
    with pytest.raises(PortFault, match=says):
        ImaginedBoard.open(LINES, options)


def test_a_name_of_two_words_is_refused(wire):
    """The file's columns are parted by blanks."""
    with pytest.raises(PortFault, match="one word"):
        ImaginedBoard.open([Line("red lamp", 1)], {"wire": str(wire)})


def test_a_wrong_line_of_the_wire_is_named(wire):
    """File, line number and the form that would be right."""
    wire.write_text("1 lamp 1 1\n2 lamp on\n")
    with pytest.raises(PortFault, match=r"edges.txt, line 2: '2 lamp on' is no edge"):
        read_wire(wire)


def test_the_board_loads_nothing_heavy():
    """The keeper's process stays small: no numpy, no scipy, no pydantic."""
    code = (
        "import sys, sim.board\n"
        "print([m for m in ('numpy', 'scipy', 'pydantic', 'textual') if m in sys.modules])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_the_operator_loads_no_numpy():
    """The hands serve beside the real keeper, in the engine, which loads no numpy."""
    code = "import sys, sim.hands\nprint([m for m in ('numpy', 'scipy') if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"
