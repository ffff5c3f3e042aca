"""A whole book in one file: a zip of JSON tables, pictures, and a manifest with checksums.

``manifest.json`` has the format's version, the schema's revision and, for each other file, its
length and SHA-256; ``tables/NAME.json`` is a table as a list of rows; ``pictures/`` is the folder
of pictures. Nothing in it needs Dryside to be read.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import tempfile
import zipfile
import zlib
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from pathlib import Path, PurePosixPath
from typing import Any

import msgspec

from controller.book.book import Book
from controller.book.faults import BookFault
from controller.book.migrate import HEAD
from controller.book.opening import is_sound, make_engine, url_of
from controller.book_out.merging import Merged, merge
from controller.book_out.rows import Row, read_all, read_back
from controller.errors import BadInput

VERSION = 1
FORMAT = "dryside book"
MANIFEST, README = "manifest.json", "README.txt"
RIGHT = "an archive that `dryside book export` wrote"
MOST_BYTES = 64 * 2**30  # of all files together: more is no book
MOST_MANIFEST = 64 * 2**20
EXPLAINED = """\
This is a whole book of Dryside: what was exposed in a darkroom, and how it came out.
tables/*.json   the tables, each a list of rows; times are UTC, doses seconds of full light
pictures/       the pictures that were left of prints and strips
manifest.json   length and SHA-256 of each file
`dryside book import THIS-FILE` puts it into another unit's book; nothing comes in twice.
"""


class Part(msgspec.Struct, frozen=True):
    """A file of the archive."""

    name: str
    bytes: int
    sha256: str


class Manifest(msgspec.Struct, frozen=True):
    """What the archive says of itself."""

    format: str
    version: int
    revision: str
    made_at: datetime
    records: int
    files: tuple[Part, ...]


def write_archive(
    book: Book, pictures: Iterable[Path], to: Path, at: datetime, *, replace: bool = False
) -> Manifest:
    """Write a whole book into a file, which appears under its name only when it is whole.

    Raises BadInput for a place that cannot be written, BookFault.
    """
    if to.exists() and not replace:
        raise BadInput("it is there already", str(to), "a new name, or --replace")
    with book.looking() as db:
        tables = read_all(db)
    part = to.with_name(to.name + ".part")
    try:
        manifest = _write(part, tables, sorted(pictures), at)
        part.replace(to)
    except (OSError, ValueError) as error:
        part.unlink(missing_ok=True)
        reason = getattr(error, "strerror", None) or str(error)
        right = "a file in a folder that exists and that you may write to"
        raise BadInput(f"cannot be written ({reason})", str(to), right) from error
    return manifest


def read_archive(path: Path) -> tuple[Manifest, dict[str, list[Row]]]:
    """Read an archive and prove it: every file is there, whole, and says what it said.

    Raises BadInput in one sentence for one that is damaged, or of a later version.
    """
    where = str(path)
    try:
        with zipfile.ZipFile(path) as archive:
            manifest = _manifest(archive, where)
            _prove(archive, manifest, where)
            return manifest, {
                PurePosixPath(part.name).stem: _table(archive, part.name, where)
                for part in manifest.files
                if part.name.startswith("tables/")
            }
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, RuntimeError) as error:
        raise BadInput(f"the archive is damaged ({error})", where, RIGHT) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise BadInput(f"cannot be read ({reason})", where, RIGHT) from None


def import_archive(book: Book, path: Path, pictures: Path) -> tuple[Manifest, Merged, int]:
    """Put an archive into a book, all of it or nothing; gives how many pictures came with it.

    What is there already stays as it is. Raises BadInput, BookFault.
    """
    manifest, tables = read_archive(path)
    with book.changing() as db:
        merged = merge(db, tables, str(path))
        # before the rows are kept: a picture without its row is a file too many, no more
        copied = _copy_pictures(path, manifest, pictures)
    return manifest, merged, copied


def is_copy(path: Path) -> bool:
    """Is this a copy of a book as it is, no archive?"""
    try:
        with path.open("rb") as file:
            return file.read(len(_SQLITE)) == _SQLITE
    except (OSError, ValueError):
        return False  # whoever reads it says why


def read_copy(path: Path, now: Callable[[], datetime]) -> dict[str, list[Row]]:
    """Read a copy of a book, such as a daily one; it stays as it is. Raises BadInput.

    A copy of a copy is read: an older one is brought to the present schema first.
    """
    where, right = str(path), "a sound copy of a book, such as another day's"
    with tempfile.TemporaryDirectory() as folder:
        there = Path(folder) / "book.sqlite"
        try:
            for tail in ("", "-wal"):  # what a program that was killed left unwritten
                if (part := path.with_name(path.name + tail)).exists():
                    shutil.copyfile(part, there.with_name(there.name + tail))
            engine = make_engine(url_of(there), busy_timeout_s=1.0)
            sound = is_sound(engine)
            engine.dispose()
            if not sound:
                raise BadInput("the copy is damaged", where, right)
            with Book.open(there, now, check=False) as copy, copy.looking() as db:
                return {name: read_back(name, rows, where) for name, rows in read_all(db).items()}
        except BookFault:
            raise BadInput("it is damaged, or no book of Dryside", where, right) from None
        except OSError as error:
            raise BadInput(f"cannot be read ({error.strerror})", where, right) from None


def import_copy(book: Book, path: Path, now: Callable[[], datetime]) -> Merged:
    """Put a copy of a book into a book, all of it or nothing; pictures lie beside the book still.

    What is there already stays as it is. Raises BadInput, BookFault.
    """
    tables = read_copy(path, now)
    with book.changing() as db:
        return merge(db, tables, str(path))


# --- inside -----------------------------------------------------------------------------------


_SQLITE = b"SQLite format 3\x00"


def _write(
    path: Path, tables: Mapping[str, list[Row]], pictures: Iterable[Path], at: datetime
) -> Manifest:
    parts: list[Part] = []
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:

        def put(name: str, data: bytes, how: int = zipfile.ZIP_DEFLATED) -> None:
            archive.writestr(name, data, compress_type=how)
            parts.append(Part(name, len(data), hashlib.sha256(data).hexdigest()))

        put(README, EXPLAINED.encode())
        for name, rows in tables.items():
            put(f"tables/{name}.json", json.dumps(rows, ensure_ascii=False, indent=1).encode())
        for picture in pictures:
            # pictures are compressed already
            put(f"pictures/{picture.name}", picture.read_bytes(), zipfile.ZIP_STORED)
        manifest = Manifest(FORMAT, VERSION, HEAD, at, len(tables["record"]), tuple(parts))
        archive.writestr(MANIFEST, msgspec.json.format(msgspec.json.encode(manifest)))
    return manifest


def _manifest(archive: zipfile.ZipFile, where: str) -> Manifest:
    try:
        info = archive.getinfo(MANIFEST)
    except KeyError:
        raise BadInput(f"it has no {MANIFEST}", where, RIGHT) from None
    if info.file_size > MOST_MANIFEST:
        raise BadInput("its manifest is too long to be one", where, RIGHT)
    try:
        manifest = msgspec.json.decode(archive.read(info), type=Manifest)
    except msgspec.MsgspecError as error:
        raise BadInput(f"its manifest cannot be read ({error})", where, RIGHT) from None
    if manifest.format != FORMAT:
        raise BadInput(f"it is an archive of {manifest.format!r:.40}", where, RIGHT)
    if manifest.version != VERSION:
        what = f"it is of version {manifest.version} of the format"
        raise BadInput(what, where, f"version {VERSION}, or a newer Dryside")
    return manifest


def _prove(archive: zipfile.ZipFile, manifest: Manifest, where: str) -> None:
    """Hold every file against its length and checksum; one too many or too few is damage."""
    infos = {info.filename: info for info in archive.infolist()}
    listed = {part.name for part in manifest.files} | {MANIFEST}
    if len(infos) != len(archive.infolist()) or len(listed) != len(manifest.files) + 1:
        raise BadInput("it has a file twice", where, RIGHT)
    for name in sorted(set(infos) ^ listed):
        what = f"{name} is missing" if name in listed else f"{name} is in no manifest"
        raise BadInput(what, where, RIGHT)
    if sum(part.bytes for part in manifest.files) > MOST_BYTES:
        raise BadInput("it is too large to be a book", where, RIGHT)
    for part in manifest.files:
        _name(part.name, where)
        if infos[part.name].file_size != part.bytes:
            raise BadInput(f"{part.name} is not as long as it was", where, RIGHT)
        digest = hashlib.sha256()
        with archive.open(part.name) as data:
            while some := data.read(2**20):
                digest.update(some)
        if digest.hexdigest() != part.sha256:
            raise BadInput(f"{part.name} is damaged: its checksum differs", where, RIGHT)


def _name(name: str, where: str) -> None:
    """Refuse names that would lie anywhere else than in the folder of pictures."""
    path = PurePosixPath(name)
    flat = len(path.parts) == 2 and path.parts[0] in ("tables", "pictures")
    odd = "\\" in name or ":" in name or "\0" in name or path.name in ("", ".", "..")
    if name != README and (not flat or odd or name != str(path)):
        raise BadInput(f"{name!r:.60} is no name of a file in a book", where, RIGHT)


def _table(archive: zipfile.ZipFile, name: str, where: str) -> list[Row]:
    try:
        rows: Any = msgspec.json.decode(archive.read(name))
    except msgspec.MsgspecError as error:
        raise BadInput(f"{name} cannot be read ({error})", where, RIGHT) from None
    return read_back(PurePosixPath(name).stem, rows, f"{where}, {name}")


def _copy_pictures(path: Path, manifest: Manifest, folder: Path) -> int:
    """Copy pictures that are not there yet; one of the same name stays as it is."""
    copied = 0
    try:
        with zipfile.ZipFile(path) as archive:
            for part in manifest.files:
                if not part.name.startswith("pictures/"):
                    continue
                folder.mkdir(parents=True, exist_ok=True)
                target = folder / PurePosixPath(part.name).name
                if target.exists():
                    continue
                half = target.with_name(target.name + ".part")
                half.write_bytes(archive.read(part.name))
                half.replace(target)
                copied += 1
    except OSError as error:
        right = "a folder with room that you may write to"
        raise BadInput(
            f"pictures cannot be written ({error.strerror})", str(folder), right
        ) from None
    return copied
