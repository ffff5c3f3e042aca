"""``dryside backup``: copy all that the unit keeps, and bring it back."""

from __future__ import annotations

import os
import sys
from datetime import UTC, datetime
from pathlib import Path

from controller.errors import Refused
from controller.ports import PortFault
from drivers import backup
from drivers.backup import BackupFault, Places
from drivers.journal import only_one
from drivers.places import config_folder, data_folder, run_folder
from ui import show
from ui.unit import open_book


def make(to: Path, *, json_: bool) -> None:
    """Make a backup in a folder."""
    places = _places()
    path, contents = backup.make(places, to, datetime.now(UTC).astimezone())
    if to.stat().st_dev == places.data.stat().st_dev:
        show.note("this is the same disk as the book's: a copy on a stick would outlive it")
    if json_:
        files = sorted(contents.files)
        show.as_json({"file": path, "files": files, "size_bytes": contents.size_bytes})
        return
    count = len(contents.files)
    print(f"{path}: {count} files, {_size(contents.size_bytes)}; written, read back and sound")
    print("Unmount the stick before you pull it.")


def list_(folder: Path, *, json_: bool) -> None:
    """List the backups in a folder; exit code 2 where one is not whole."""
    rows: list[dict[str, object]] = []
    for path in backup.backups(folder):
        try:
            contents = backup.verify(path)
        except BackupFault as fault:
            rows.append({"file": str(path), "whole": False, "fault": str(fault)})
            if not json_:
                print(fault, file=sys.stderr)
            continue
        size_bytes, made = contents.size_bytes, contents.made
        rows.append(
            {"file": str(path), "whole": True, "made": made.isoformat(), "size_bytes": size_bytes}
        )
        if not json_:
            count = len(contents.files)
            print(f"{path.name}  {show.when(made)}  {count} files, {_size(size_bytes)}  whole")
    if json_:
        show.as_json(rows)
    elif not rows:
        print(f"no backup in {folder}")
    if not all(row["whole"] for row in rows):
        sys.exit(2)


def restore(file: Path, *, json_: bool) -> None:
    """Bring a backup back while no engine runs."""
    if file.is_dir():
        found = backup.backups(file)
        if not found:
            raise BackupFault(f"there is no backup in {file}")
        file = found[-1]
    places = _places()
    try:
        lock = only_one(places.run)
    except PortFault:
        raise Refused(
            "the unit runs, and writes what would be replaced",
            ("ending it first", "dryside safe; where it starts by itself, systemctl stop dryside"),
        ) from None
    try:
        contents, aside = backup.restore(file, places, datetime.now(UTC).astimezone())
    finally:
        os.close(lock)
    open_book().close()  # a book of an older Dryside is brought up to date now, not in the dark
    if json_:
        show.as_json({"file": file, "files": sorted(contents.files), "aside": aside})
        return
    print(f"{file}: {len(contents.files)} files of {show.when(contents.made)} are back")
    show.lines(f"what was here is in {each}" for each in aside)


def _places() -> Places:
    return Places(data_folder(), config_folder(), run_folder())


def _size(size_bytes: int) -> str:
    return f"{size_bytes / 1e6:.1f} MB" if size_bytes >= 100_000 else f"{size_bytes / 1e3:.1f} kB"
