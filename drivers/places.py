"""Where things are kept: the run-time folder, the data and the configuration.

With ``DRYSIDE_HOME`` set everything is below it, which tests and a second unit on one machine
use (``DRYSIDE_RUN`` may name another run-time folder). Without, a machine whose unit starts by
itself says in ``/etc/dryside/unit.env`` where that one keeps them, so that what is typed reaches
it; else each is where the system wants it.
"""

from __future__ import annotations

import os
import stat
import warnings
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from controller.ports import PortFault

if TYPE_CHECKING:
    from controller.rig.model import Rig

HOME_VARIABLE = "DRYSIDE_HOME"
RUN_VARIABLE = "DRYSIDE_RUN"
ENVIRON_FILE = "/etc/dryside/unit.env"


def _named(variable: str) -> Path | None:
    said: Mapping[str, str] = os.environ
    if not said.get(HOME_VARIABLE):
        try:
            text = Path(ENVIRON_FILE).read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError):
            return None
        pairs = (line.partition("=") for line in text.splitlines() if not line.startswith("#"))
        said = {key.strip(): value.strip() for key, _, value in pairs}
    named = said.get(variable)
    return Path(named).expanduser().absolute() if named else None


def home() -> Path | None:
    """Give the folder that ``DRYSIDE_HOME`` or this machine's own unit names, or None."""
    return _named(HOME_VARIABLE)


def run_folder() -> Path:
    """Give the run-time folder (sockets, process ids, the keeper's journal); make it if need be.

    Only the user may open it (mode 0700). Raises PortFault when it belongs to someone else or
    can't be made.
    """
    from_home = home()
    if from_home is not None:
        folder = _named(RUN_VARIABLE) or from_home / "run"
    else:
        import platformdirs

        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what it warns of is checked below, in our words
            folder = Path(platformdirs.user_runtime_dir("dryside"))
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        found = folder.lstat()
        above = folder.parent.stat()
    except OSError as error:
        raise PortFault(
            f"the run-time folder {folder} can't be used ({error.strerror}); "
            f"set {HOME_VARIABLE} to a folder that you may write to"
        ) from None
    me = os.geteuid()
    if not stat.S_ISDIR(found.st_mode) or found.st_uid != me:
        raise PortFault(
            f"the run-time folder {folder} is not a folder of this user's own; remove it, "
            f"or set {HOME_VARIABLE} to a folder that is"
        )
    # whoever may rename it could put another in its place
    others_write = above.st_mode & 0o022 and not above.st_mode & stat.S_ISVTX
    if above.st_uid not in (me, 0) or (from_home is None and others_write):
        raise PortFault(
            f"{folder.parent}, which holds the run-time folder, may be changed by other users; "
            f"set {HOME_VARIABLE} to a folder of your own"
        )
    if stat.S_IMODE(found.st_mode) != 0o700:
        folder.chmod(0o700)
    return folder


def data_folder() -> Path:
    """Give the folder for the book and pictures; make it if need be. Raises PortFault."""
    return _made(home(), "user_data_dir", "data")


def config_folder() -> Path:
    """Give the folder for rig.toml and the like; make it if need be. Raises PortFault."""
    return _made(home(), "user_config_dir", "configuration")


def _made(folder: Path | None, function: str, what: str) -> Path:
    if folder is None:
        import platformdirs

        folder = Path(getattr(platformdirs, function)("dryside"))
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise PortFault(
            f"the {what} folder {folder} can't be made ({error.strerror}); "
            f"set {HOME_VARIABLE} to a folder that you may write to"
        ) from None
    return folder


def book_path() -> Path:
    """Give the file of the book. Raises PortFault."""
    return data_folder() / "book.sqlite"


def room_path() -> Path:
    """Give the file of the room's lights. Raises PortFault."""
    return config_folder() / "room.toml"


def board_options(rig: Rig, run: Path) -> dict[str, object]:
    """Give the options of the rig's board; an imagined one's wire is a run-time file."""
    wire = {"wire": str(run / "wire")} if rig.imagined else {}
    return {**wire, **rig.driver_options()}
