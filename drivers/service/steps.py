"""What installing and removing the unit does, as steps that can be shown before they are done."""

from __future__ import annotations

import contextlib
import os
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from controller.errors import DrysideError
from drivers.places import ENVIRON_FILE
from drivers.service import units
from drivers.service.units import ENGINE_UNIT, MARK, SCREEN_UNIT, Service

SYSTEM = Path("/etc/systemd/system")
ENGINE_PATH = SYSTEM / ENGINE_UNIT
SCREEN_PATH = SYSTEM / SCREEN_UNIT
TMPFILES_PATH = Path("/etc/tmpfiles.d/dryside.conf")
CHIP_PATH = Path("/etc/systemd/system.conf.d/dryside.conf")
OURS = (ENGINE_PATH, SCREEN_PATH, TMPFILES_PATH, CHIP_PATH, Path(ENVIRON_FILE))
WANTS = SYSTEM / "multi-user.target.wants"


class ServiceFault(DrysideError):
    """Something that could not be installed or removed; one sentence."""


@dataclass(frozen=True, slots=True)
class Write:
    """Write a file of ours."""

    path: Path
    text: str

    def __str__(self) -> str:
        return f"write {self.path}"


@dataclass(frozen=True, slots=True)
class CopyRig:
    """Bring a rig file to where the unit reads it; another one there is put aside."""

    source: Path
    path: Path

    def __str__(self) -> str:
        return f"copy {self.source} to {self.path}"


@dataclass(frozen=True, slots=True)
class Link:
    """Have a unit start with the machine, where no service manager can be asked (an image)."""

    path: Path
    target: Path

    def __str__(self) -> str:
        return f"link {self.path} to {self.target}"


@dataclass(frozen=True, slots=True)
class Own:
    """Make the unit's folder, its user's own."""

    path: Path
    user: str
    uid: int
    gid: int

    def __str__(self) -> str:
        return f"make {self.path}, for {self.user} alone"


@dataclass(frozen=True, slots=True)
class Remove:
    """Remove a file of ours."""

    path: Path

    def __str__(self) -> str:
        return f"remove {self.path}"


@dataclass(frozen=True, slots=True)
class Call:
    """Run a command."""

    words: tuple[str, ...]

    def __str__(self) -> str:
        return f"run {' '.join(self.words)}"


Step = Write | CopyRig | Link | Own | Remove | Call


def to_install(
    service: Service, owner: tuple[int, int], rig: Path | None, root: Path, *, image: bool
) -> list[Step]:
    """List what installs a unit below ``root``, in place of an older one.

    ``owner``: the numbers of its user and group there, ``rig``: a file to bring along, ``image``:
    no machine runs there. Raises ServiceFault where a file of that name was not written by us.
    """
    wanted = {ENGINE_PATH, TMPFILES_PATH, Path(ENVIRON_FILE)}
    wanted |= {SCREEN_PATH} if service.screen else set()
    wanted |= {CHIP_PATH} if service.chip_watchdog else set()
    stale = [path for path in _ours(root) if path not in wanted]
    names = [ENGINE_UNIT, *([SCREEN_UNIT] if service.screen else [])]
    steps: list[Step] = _gone(stale, root, image=image)
    steps.append(Own(Path(service.home), service.user, *owner))
    if rig is not None:
        steps.append(CopyRig(rig, Path(service.rig)))
    steps += [
        Write(Path(ENVIRON_FILE), units.environ_text(service)),
        Write(TMPFILES_PATH, units.tmpfiles_text(service)),
        Write(ENGINE_PATH, units.engine_text(service)),
    ]
    if service.screen:
        steps.append(Write(SCREEN_PATH, units.screen_text(service)))
    if service.chip_watchdog:
        steps.append(Write(CHIP_PATH, units.chip_watchdog_text()))
    if image:
        return steps + [Link(WANTS / name, SYSTEM / name) for name in names]
    if service.chip_watchdog:
        steps.append(Call(("systemctl", "daemon-reexec")))
    return [
        *steps,
        Call(("systemd-tmpfiles", "--create", str(TMPFILES_PATH))),
        Call(("systemctl", "daemon-reload")),
        Call(("systemctl", "enable", *names)),
        Call(("systemctl", "restart", *names)),
    ]


def to_remove(root: Path, *, image: bool) -> list[Step]:
    """List what removes the unit that is installed below ``root``; the book and the rig stay.

    Raises ServiceFault where a file of that name was not written by us.
    """
    there = _ours(root)
    steps = _gone(there, root, image=image)
    if steps and not image:
        steps.append(Call(("systemctl", "daemon-reload")))
        if CHIP_PATH in there:
            steps.append(Call(("systemctl", "daemon-reexec")))
        if SCREEN_PATH in there:
            steps.append(Call(("systemctl", "start", "getty@tty1.service")))
    return steps


def _ours(root: Path) -> list[Path]:
    there = [path for path in OURS if below(root, path).exists()]
    for path in there:
        if not below(root, path).read_text(encoding="utf-8", errors="replace").startswith(MARK):
            raise ServiceFault(
                f"{below(root, path)} was not written by `dryside unit install`, or was changed "
                "in its first line; right would be to remove it by hand"
            )
    return there


def _gone(paths: Sequence[Path], root: Path, *, image: bool) -> list[Step]:
    # the screen first: it would start an engine of its own. One command for each, so that none
    # is left running because of the other.
    units_there = [path for path in (SCREEN_PATH, ENGINE_PATH) if path in paths]
    steps: list[Step] = []
    if not image:
        steps += [Call(("systemctl", "disable", "--now", path.name)) for path in units_there]
    # a link may outlive its unit: where the service manager could not be asked, or in an image
    links = [WANTS / path.name for path in (SCREEN_PATH, ENGINE_PATH)]
    steps += [
        Remove(link)
        for link, unit in zip(links, (SCREEN_PATH, ENGINE_PATH), strict=True)
        if below(root, link).is_symlink() and (unit in paths or not below(root, unit).exists())
    ]
    return steps + [Remove(path) for path in paths]


def below(root: Path, path: Path) -> Path:
    """Give a path of the machine below another root."""
    return root / path.relative_to("/")


def carry_out(steps: Sequence[Step], root: Path) -> None:
    """Do it, as far as the first step that fails; files go below ``root``. Raises ServiceFault."""
    for step in steps:
        failed = _failed(step, root)
        if failed:
            raise ServiceFault(failed)


def carry_on(steps: Sequence[Step], root: Path) -> list[str]:
    """Do each of them, whatever becomes of the others; gives a sentence for each that failed.

    So it is with a removal: half of a unit left behind helps nobody.
    """
    return [failed for step in steps if (failed := _failed(step, root))]


def _failed(step: Step, root: Path) -> str:
    """Do a step; empty if that went well."""
    try:
        _do(step, root)
    except OSError as error:
        return f"could not {step} ({error.strerror or error})"
    except subprocess.CalledProcessError as error:
        said = " ".join((error.stderr or b"").decode(errors="replace").split())
        return f"could not {step}: {said or f'code {error.returncode}'}"
    return ""


def _do(step: Step, root: Path) -> None:
    match step:
        case Write(path, text):
            put(below(root, path), text.encode())
        case CopyRig(source, path):
            _copy_rig(source, below(root, path))
        case Link(path, target):
            link = below(root, path)
            link.parent.mkdir(parents=True, exist_ok=True)
            link.unlink(missing_ok=True)
            link.symlink_to(target)
        case Own(path, _, uid, gid):
            folder = below(root, path)
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            if os.geteuid() == 0:
                os.chown(folder, uid, gid)
        case Remove(path):
            gone = below(root, path)
            gone.unlink(missing_ok=True)
            if gone.parent.name == "dryside":
                with contextlib.suppress(OSError):
                    gone.parent.rmdir()
        case Call(words):
            subprocess.run(words, check=True, capture_output=True)


def _copy_rig(source: Path, path: Path) -> None:
    whole = source.read_bytes()
    if path.exists() and path.read_bytes() != whole:
        path.replace(path.with_name(f"{path.name}.before"))
    put(path, whole)
    if os.geteuid() == 0:
        owner = path.parent.stat()
        os.chown(path, owner.st_uid, owner.st_gid)


def put(path: Path, whole: bytes) -> None:
    """Write a file so that a power cut leaves the old or the new one. Raises OSError."""
    path.parent.mkdir(parents=True, exist_ok=True)
    part = path.with_name(f".{path.name}.part")
    with part.open("wb") as file:
        file.write(whole)
        file.flush()
        os.fsync(file.fileno())
    part.chmod(0o644)
    part.replace(path)
