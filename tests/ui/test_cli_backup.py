"""dryside backup, as it is typed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from drivers.journal import only_one
from drivers.places import run_folder
from tests.ui.command import Told
from ui.unit import open_book

Run = Callable[..., Told]


def test_a_book_goes_to_a_stick_and_back(tmp_path: Path, dryside: Run) -> None:
    """make says that it was read back, list that it is whole, restore where the old one is."""
    open_book().close()
    stick = tmp_path / "stick"
    stick.mkdir()
    code, out, _ = dryside("backup", "make", "--to", str(stick))
    assert code == 0
    assert "read back and sound" in out
    code, out, _ = dryside("backup", "list", str(stick))
    assert (code, out.count("whole")) == (0, 1)
    (tmp_path / "home" / "book.sqlite").unlink()
    code, out, _ = dryside("backup", "restore", str(stick))
    assert code == 0
    assert (tmp_path / "home" / "book.sqlite").exists()
    assert dryside("book", "list")[0] == 0


def test_nothing_is_restored_under_a_running_unit(tmp_path: Path, dryside: Run) -> None:
    """It would write into what was put aside."""
    open_book().close()
    stick = tmp_path / "stick"
    stick.mkdir()
    dryside("backup", "make", "--to", str(stick))
    lock = only_one(run_folder())
    code, _, err = dryside("backup", "restore", str(stick))
    import os

    os.close(lock)
    assert code == 2
    assert "the unit runs" in err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("make", "--to", "no-stick"), "plugged in"),
        (("list", "no-stick"), "plugged in"),
        (("restore", "none.zip"), "there is no backup"),
        (("restore", "."), "there is no backup"),
    ],
)
def test_what_is_not_there_is_said_in_one_sentence(
    dryside: Run, words: tuple[str, ...], said: str
) -> None:
    """Exit code 2, no traceback."""
    code, _, err = dryside("backup", *words)
    assert code == 2
    assert said in err
    assert len(err.splitlines()) == 1


def test_a_copy_that_was_cut_is_listed_as_such(tmp_path: Path, dryside: Run) -> None:
    """list reads all of it, and exits with 2."""
    open_book().close()
    dryside("backup", "make", "--to", str(tmp_path))
    (path,) = tmp_path.glob("dryside-*.zip")
    path.write_bytes(path.read_bytes()[:-40])
    code, _, err = dryside("backup", "list", str(tmp_path))
    assert code == 2
    assert "cut or damaged" in err
