"""Pictures that are kept beside the book: copies, so that nothing is lost with a memory card."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

from controller.errors import BadInput
from drivers.places import data_folder

KINDS = (".png", ".jpg", ".jpeg", ".tif", ".tiff")
LARGEST_MB = 200


def pictures_folder() -> Path:
    """Give the folder of pictures beside the book; made where it is missing."""
    made = data_folder() / "pictures"
    made.mkdir(parents=True, exist_ok=True)
    return made


def keep_copy(source: Path, stem: str) -> str:
    """Copy a picture into the folder under a name that is free, and give the name.

    The copy appears under its name only when it is whole. Raises BadInput.
    """
    where = str(source)
    if source.suffix.lower() not in KINDS:
        raise BadInput("this is no picture", where, f"a file that ends in {', '.join(KINDS)}")
    if not source.is_file():
        raise BadInput("there is no such file", where, "a picture that exists")
    if source.stat().st_size > LARGEST_MB * 1_000_000:
        raise BadInput("the picture is too large", where, f"{LARGEST_MB} MB at most")
    folder = pictures_folder()
    suffix = source.suffix.lower()
    target, count = folder / f"{stem}{suffix}", 1
    while target.exists():
        count += 1
        target = folder / f"{stem}-{count}{suffix}"
    part = target.with_name(target.name + ".part")
    try:
        shutil.copyfile(source, part)
        with part.open("rb") as copy:
            os.fsync(copy.fileno())
        part.replace(target)
    except OSError as error:
        part.unlink(missing_ok=True)
        right = "a picture that can be read, and room on the disk"
        raise BadInput(f"it cannot be copied ({error.strerror})", where, right) from None
    return target.name
