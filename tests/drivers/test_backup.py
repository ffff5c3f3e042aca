"""The copy of all that a unit keeps."""

from __future__ import annotations

import errno
import os
import random
import shutil
import sqlite3
import threading
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from drivers import backup
from drivers.backup import BackupFault, Places

NOW = datetime(2026, 11, 26, 2, 0, tzinfo=UTC)
TRIALS = 400 if os.environ.get("DRYSIDE_LONG") else 20


@pytest.fixture
def places(tmp_path: Path) -> Places:
    made = Places(tmp_path / "data", tmp_path / "config", tmp_path / "data" / "run")
    for folder in (made.data / "scores", made.config, made.run):
        folder.mkdir(parents=True)
    with sqlite3.connect(made.data / "book.sqlite") as db:
        db.execute("PRAGMA journal_mode=WAL")
        db.execute("CREATE TABLE sheet (mark TEXT)")
        db.execute("INSERT INTO sheet VALUES ('A1')")
    db.close()
    (made.data / "scores" / "harbour.toml").write_text("base_s = 8\n")
    (made.data / "desk.json").write_text("{}")
    (made.config / "rig.toml").write_text("name = 'mine'\n")
    (made.run / "engine.pid").write_text("1")
    return made


@pytest.fixture
def stick(tmp_path: Path) -> Path:
    folder = tmp_path / "stick"
    folder.mkdir()
    return folder


def marks(path: Path) -> list[str]:
    db = sqlite3.connect(path)
    found = [row[0] for row in db.execute("SELECT mark FROM sheet ORDER BY mark")]
    db.close()
    return found


def kept(places: Places) -> dict[str, bytes]:
    return {
        name: path.read_bytes() for name, path in places.files() if path.suffix != ".sqlite"
    } | {"marks": repr(marks(places.data / "book.sqlite")).encode()}


def test_what_was_copied_comes_back_and_what_was_there_is_aside(
    places: Places, stick: Path
) -> None:
    """A restore brings the state of the copy, and nothing of the later state is lost."""
    before = kept(places)
    path, _ = backup.make(places, stick, NOW)
    assert list(stick.iterdir()) == [path]
    (places.config / "rig.toml").write_text("name = 'spoiled'\n")
    (places.data / "scores" / "new.toml").write_text("base_s = 9\n")
    (places.data / "book.sqlite").write_bytes(b"no book")
    _, aside = backup.restore(path, places, NOW + timedelta(hours=1))
    assert kept(places) == before
    assert {each.parent for each in aside} == {places.data, places.config}
    of_data, of_config = aside
    assert (of_data / "scores" / "new.toml").read_text() == "base_s = 9\n"
    assert (of_data / "book.sqlite").read_bytes() == b"no book"
    assert (of_config / "rig.toml").read_text() == "name = 'spoiled'\n"
    assert (places.run / "engine.pid").exists()


def test_what_was_put_aside_is_not_copied_again(places: Places, stick: Path) -> None:
    """Neither run-time files nor the past of an earlier restore fill the stick."""
    path, first = backup.make(places, stick, NOW)
    backup.restore(path, places, NOW)
    _, second = backup.make(places, stick, NOW + timedelta(hours=1))
    assert set(first.files) == set(second.files)
    assert not [name for name in first.files if "run" in name or "before" in name]


def test_a_copy_without_a_rig_leaves_the_rig(places: Places, stick: Path) -> None:
    """A unit that starts by itself is not left without its wires by somebody's old book."""
    rig = (places.config / "rig.toml").read_bytes()
    (places.config / "rig.toml").unlink()
    path, _ = backup.make(places, stick, NOW)
    (places.config / "rig.toml").write_bytes(rig)
    backup.restore(path, places, NOW)
    assert (places.config / "rig.toml").read_bytes() == rig


def test_a_copy_from_one_folder_comes_back_into_two(
    tmp_path: Path, places: Places, stick: Path
) -> None:
    """The settings find their place whether or not DRYSIDE_HOME put all into one folder."""
    one = Places(tmp_path / "home", tmp_path / "home", tmp_path / "home" / "run")
    shutil.copytree(places.data, one.data)
    shutil.copy(places.config / "rig.toml", one.data)
    path, _ = backup.make(one, stick, NOW)
    before = kept(places)
    backup.restore(path, places, NOW)
    assert kept(places) == before


def test_a_book_that_is_being_written_is_copied_at_one_instant(places: Places, stick: Path) -> None:
    """Two rows that are always written together are never copied apart."""
    book = places.data / "book.sqlite"
    ends = threading.Event()
    begun = threading.Event()

    def write() -> None:
        db = sqlite3.connect(book, timeout=30)
        for count in range(1_000_000):
            if ends.is_set():
                break
            with db:
                db.executemany("INSERT INTO sheet VALUES (?)", [(f"x{count}",), (f"y{count}",)])
            begun.set()
        db.close()

    thread = threading.Thread(target=write)
    thread.start()
    try:
        assert begun.wait(30)
        path, _ = backup.make(places, stick, NOW)
    finally:
        ends.set()
        thread.join()
    backup.restore(path, places, NOW)
    found = marks(book)
    assert len(found) > 1
    assert {m[1:] for m in found if m[0] == "x"} == {m[1:] for m in found if m[0] == "y"}


def test_a_changed_or_cut_copy_is_found_or_changes_nothing(
    places: Places, stick: Path, tmp_path: Path
) -> None:
    """Whatever byte is hit: one sentence, or the very files that were copied."""
    path, _ = backup.make(places, stick, NOW)
    whole = path.read_bytes()
    before = kept(places)
    chance = random.Random(1)
    found = 0
    for trial in range(TRIALS):
        spoiled = bytearray(whole)
        if trial % 4 == 0:
            del spoiled[chance.randrange(len(whole)) :]
        else:
            spoiled[chance.randrange(len(whole))] ^= 1 << chance.randrange(8)
        path.write_bytes(spoiled)
        fresh = Places(tmp_path / "fresh", tmp_path / "fresh-config", tmp_path / "fresh-run")
        for top in (fresh.data, fresh.config):
            top.mkdir()
        try:
            backup.restore(path, fresh, NOW)
        except BackupFault:
            found += 1
            assert not list(fresh.data.iterdir())
        else:
            assert kept(fresh) == before
        for top in (fresh.data, fresh.config):
            shutil.rmtree(top)
    assert found > TRIALS / 2


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (errno.ENOSPC, "is full"),
        (errno.EROFS, "can only be read"),
        (errno.EIO, "another stick"),
    ],
)
def test_a_stick_that_takes_nothing_is_said_so(
    places: Places, stick: Path, monkeypatch: pytest.MonkeyPatch, number: int, said: str
) -> None:
    """One sentence, and no half copy is left under any name."""

    def fails(_fd: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", fails)
    with pytest.raises(BackupFault, match=said):
        backup.make(places, stick, NOW)
    assert not list(stick.iterdir())


def test_a_restore_that_fails_half_way_leaves_all_as_it_was(
    places: Places, stick: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At whichever move the disk gives up, everything goes back."""
    path, _ = backup.make(places, stick, NOW)
    (places.config / "rig.toml").write_text("name = 'later'\n")
    before = kept(places)
    rename: Callable[[Path, Path], Path] = Path.rename
    failed = 0
    for fails_at in range(1, 100):
        count = 0

        def counted(source: Path, target: Path, fails_at: int = fails_at) -> Path:
            nonlocal count
            count += 1
            if count == fails_at:
                raise OSError(errno.EIO, "Input/output error")
            return rename(source, target)

        with monkeypatch.context() as patched:
            patched.setattr(Path, "rename", counted)
            try:
                backup.restore(path, places, NOW)
            except BackupFault:
                failed += 1
                assert kept(places) == before
                assert not [p for p in places.data.iterdir() if p.name.startswith((".", "before"))]
            else:
                break
    assert failed > 4
    assert (places.config / "rig.toml").read_text() == "name = 'mine'\n"


def test_a_name_that_leads_out_is_refused(places: Places, stick: Path, tmp_path: Path) -> None:
    """A file that only looks like a backup cannot write elsewhere."""
    import hashlib
    import zipfile

    import msgspec

    path = stick / "dryside-20260101-000000.zip"
    name = "data/../../evil"
    member = backup.Member(hashlib.sha256(b"x").hexdigest(), 1)
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr(name, b"x")
        contents = backup.Contents(backup.FORMAT, NOW, {name: member})
        archive.writestr(backup.LIST, msgspec.json.encode(contents))
    with pytest.raises(BackupFault, match="none of ours"):
        backup.restore(path, places, NOW)
    assert not (tmp_path.parent / "evil").exists()
