"""A copy of all that a unit keeps, book, settings, scores, pictures, in a file that proves itself.

The file is a zip with a list of its members' SHA-256 sums (``backup.json``). It appears under its
name only when it is whole and on the disk, and is then read back from the disk, not from memory.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import sqlite3
import zipfile
import zlib
from collections.abc import Iterator, Mapping, Set
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path, PurePosixPath

import msgspec

from controller.errors import DrysideError

LIST = "backup.json"
FORMAT = 1
RIG = "config/rig.toml"
ASIDE = "before-restore-"  # folders that hold what a restore put aside; no backup takes them along
STAGE = ".restoring"
_NAME = "dryside-%Y%m%d-%H%M%S.zip"
_PIECE = 1 << 20
_FOREIGN = "lost+found"  # of the file system, where the folder is a partition of its own
_NOT_KEPT = ("-wal", "-shm", "-journal", ".part")  # a database's own, and what was never finished


# what comes of reading a damaged zip; RuntimeError: it seems to be encrypted, or compressed oddly
_DAMAGES = (
    zipfile.BadZipFile,
    zlib.error,
    EOFError,
    KeyError,
    ValueError,
    RuntimeError,
    msgspec.DecodeError,
)


class BackupFault(DrysideError):
    """A backup that cannot be made, read or brought back; one sentence."""


class Member(msgspec.Struct, frozen=True):
    """A file in a backup, as it must be."""

    sha256: str
    size_bytes: int


class Contents(msgspec.Struct, frozen=True):
    """The list in a backup. ``made`` is a wall-clock time with its zone."""

    format: int
    made: datetime
    files: dict[str, Member]

    @property
    def size_bytes(self) -> int:
        """Give the size of all files together."""
        return sum(member.size_bytes for member in self.files.values())


@dataclass(frozen=True, slots=True)
class Places:
    """Where the unit's things are; ``data`` and ``config`` may be one folder."""

    data: Path
    config: Path
    run: Path

    def files(self) -> Iterator[tuple[str, Path]]:
        """List what belongs into a backup, by the name that it has there."""
        for folder, kind in ((self.data, "data"), (self.config, "config")):
            if kind == "config" and self.config == self.data:
                return
            for path in _files_below(folder, self.run):
                inside = path.relative_to(folder)
                # where all is in one folder the settings are the TOML files at its top
                one = self.config == self.data and len(inside.parts) == 1
                into = "config" if one and path.suffix == ".toml" else kind
                yield f"{into}/{inside.as_posix()}", path

    def target(self, name: str) -> Path:
        """Give where a file of a backup belongs."""
        kind, _, inside = name.partition("/")
        return (self.config if kind == "config" else self.data) / inside


def make(places: Places, to: Path, now: datetime) -> tuple[Path, Contents]:
    """Copy all into a new file in the folder ``to``, and read it back. Raises BackupFault.

    An engine may write meanwhile: the book is copied as it is at one instant.
    """
    if not to.is_dir():
        raise BackupFault(
            f"there is no folder {to}; is the stick plugged in and mounted? "
            "(lsblk shows where it is)"
        )
    path = to / now.strftime(_NAME)
    part = path.with_suffix(".part")
    if path.exists():
        raise BackupFault(f"{path} is there already; right would be to try again in a second")
    try:
        with _explained(to), part.open("xb") as file:
            _write(places, file, now)
            file.flush()
            os.fsync(file.fileno())
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)
        contents = verify(part)
        with _explained(to):
            part.replace(path)
            _sync(to)
    finally:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
    return path, contents


def verify(path: Path) -> Contents:
    """Read every byte of a backup and compare it with its list. Raises BackupFault."""
    with _opened(path) as (archive, contents):
        for name, member in contents.files.items():
            total, size = hashlib.sha256(), 0
            with archive.open(name) as file:
                while piece := file.read(_PIECE):
                    total.update(piece)
                    size += len(piece)
            if (total.hexdigest(), size) != (member.sha256, member.size_bytes):
                raise BackupFault(f"{path} is damaged: {name} is not as it was written")
    return contents


def backups(folder: Path) -> list[Path]:
    """List the backups in a folder, the newest last. Raises BackupFault."""
    if not folder.is_dir():
        raise BackupFault(f"there is no folder {folder}; is the stick plugged in and mounted?")
    with _explained(folder):
        return sorted(folder.glob("dryside-*.zip"))


def restore(path: Path, places: Places, now: datetime) -> tuple[Contents, list[Path]]:
    """Bring a backup back; gives also where what was there is now. Raises BackupFault.

    All is verified and unpacked before anything that was there is moved; nothing is deleted. The
    caller sees to it that no engine runs, and none starts.
    """
    contents = verify(path)
    tops = list(dict.fromkeys((places.data, places.config)))
    stages = {top: top / STAGE for top in tops}
    try:
        with _explained(places.data):
            for stage in stages.values():
                _remove(stage)
                stage.mkdir(parents=True)
            with _opened(path) as (archive, _):
                for name in contents.files:
                    target = places.target(name)
                    top = places.config if name.startswith("config/") else places.data
                    _unpack(archive, name, stages[top] / target.relative_to(top))
            # a rig describes this machine's wires: a copy that has none takes none away
            stays = {places.run}
            if RIG not in contents.files:
                stays.add(places.target(RIG))
            return contents, _swap(stages, stays, now)
    finally:
        with contextlib.suppress(OSError):
            for stage in stages.values():
                _remove(stage)


# --- inside ---------------------------------------------------------------------------------


def _files_below(folder: Path, run: Path) -> Iterator[Path]:
    for path in sorted(folder.iterdir()) if folder.is_dir() else []:
        if path == run or path.name.startswith((ASIDE, ".", _FOREIGN)) or path.is_symlink():
            continue
        if path.is_dir():
            yield from _files_below(path, run)
        elif path.is_file() and not path.name.endswith(_NOT_KEPT):
            yield path


def _write(places: Places, file: object, now: datetime) -> None:
    members: dict[str, Member] = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:  # type: ignore[call-overload]
        for name, path in places.files():
            try:
                whole = _database(path) if path.suffix == ".sqlite" else path.read_bytes()
            except FileNotFoundError:
                continue  # an engine has replaced it meanwhile
            except OSError as error:
                raise BackupFault(f"{path} cannot be read ({error.strerror or error})") from None
            archive.writestr(name, whole)
            members[name] = Member(hashlib.sha256(whole).hexdigest(), len(whole))
        if not members:
            raise BackupFault(f"there is nothing to copy in {places.data}")
        archive.writestr(LIST, msgspec.json.encode(Contents(FORMAT, now, members)))


def _database(path: Path) -> bytes:
    """Copy a database as it is at one instant, whoever writes it."""
    try:
        with (
            contextlib.closing(
                sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)
            ) as of,
            contextlib.closing(sqlite3.connect(":memory:")) as copy,
        ):
            of.backup(copy)
            state = copy.execute("PRAGMA integrity_check").fetchone()[0]
            whole = copy.serialize()
    except sqlite3.Error as error:
        raise BackupFault(f"{path} cannot be copied ({error})") from None
    if state != "ok":
        raise BackupFault(
            f"{path} is damaged, and no copy was made; an engine that starts mends it"
        )
    return whole


@contextlib.contextmanager
def _opened(path: Path) -> Iterator[tuple[zipfile.ZipFile, Contents]]:
    try:
        with zipfile.ZipFile(path) as archive:
            contents = msgspec.json.decode(archive.read(LIST), type=Contents)
            _check(path, contents, archive.namelist())
            yield archive, contents
    except FileNotFoundError:
        raise BackupFault(f"there is no backup {path}") from None
    except _DAMAGES as error:
        raise BackupFault(f"{path} is no whole backup: it is cut or damaged ({error})") from None
    except OSError as error:
        raise BackupFault(f"{path} cannot be read ({error.strerror or error})") from None


def _check(path: Path, contents: Contents, names: list[str]) -> None:
    if contents.format > FORMAT:
        raise BackupFault(f"{path} was made by a newer Dryside; right would be to update this one")
    if sorted(names) != sorted([*contents.files, LIST]):
        raise BackupFault(f"{path} does not hold what its list says")
    for name in contents.files:
        parts = PurePosixPath(name).parts
        if len(parts) < 2 or parts[0] not in ("data", "config") or ".." in parts or "\\" in name:
            raise BackupFault(f"{path} holds a file that is none of ours: {name}")


def _unpack(archive: zipfile.ZipFile, name: str, target: Path) -> None:
    target.parent.mkdir(parents=True, exist_ok=True)
    with archive.open(name) as source, target.open("xb") as file:
        while piece := source.read(_PIECE):
            file.write(piece)
        file.flush()
        os.fsync(file.fileno())


def _swap(stages: Mapping[Path, Path], stays: Set[Path], now: datetime) -> list[Path]:
    """Move what is there aside, and what was unpacked in; where that fails, all goes back.

    A power cut between loses neither. Gives the folders of what was put aside.
    """
    moved: list[tuple[Path, Path]] = []
    folders: list[Path] = []
    try:
        for top, stage in stages.items():
            aside = top / now.strftime(f"{ASIDE}%Y%m%d-%H%M%S")
            for path in sorted(top.iterdir()):
                if path == stage or path in stays or path.name.startswith((ASIDE, _FOREIGN)):
                    continue
                if aside not in folders:
                    aside.mkdir()
                    folders.append(aside)
                moved.append((path, path.rename(aside / path.name)))
            moved += [(each, each.rename(top / each.name)) for each in sorted(stage.iterdir())]
            stage.rmdir()
            _sync(top)
    except OSError:
        for before, after in reversed(moved):
            before.parent.mkdir(exist_ok=True)
            after.rename(before)
        for folder in folders:
            folder.rmdir()
        raise
    return folders


def _remove(folder: Path) -> None:
    """Remove what was only unpacked by us."""
    if folder.is_dir():
        for path in sorted(folder.rglob("*"), reverse=True):
            if path.is_dir():
                path.rmdir()
            else:
                path.unlink()
        folder.rmdir()


def _sync(folder: Path) -> None:
    fd = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        with contextlib.suppress(OSError):  # some file systems of sticks know no such thing
            os.fsync(fd)
    finally:
        os.close(fd)


@contextlib.contextmanager
def _explained(where: Path) -> Iterator[None]:
    """Turn the system's faults into sentences of ours."""
    try:
        yield
    except OSError as error:
        reasons = {
            errno.ENOSPC: "is full: make room there, or take another stick",
            errno.EDQUOT: "is full: make room there, or take another stick",
            errno.EROFS: "can only be read: is its lock on, or was it mounted read-only?",
            errno.EACCES: "may not be written by you: mount it for this user",
            errno.EPERM: "may not be written by you: mount it for this user",
            errno.EIO: "does not take what is written: take another stick",
            errno.EFBIG: "takes no file of that size: format it with a newer file system",
        }
        why = reasons.get(error.errno or 0, f"cannot be used ({error.strerror or error})")
        raise BackupFault(f"{where} {why}; nothing that was there has been changed") from None
