"""A card whose root is read-only, as a unit that starts by itself should have it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.real

CHANGES = 'mount --bind "$STATE" "$STATE" && mount -o remount,bind,ro /'


def shut(state: Path, command: str) -> subprocess.CompletedProcess[str]:
    """Run a command where of the root only ``state`` can be written."""
    if shutil.which("unshare") is None:
        pytest.skip("there is no unshare here")
    words = [] if os.geteuid() == 0 else ["--map-root-user"]
    return subprocess.run(
        ["unshare", *words, "--mount", "sh", "-c", f"{CHANGES} && {command}"],
        env={
            "PATH": os.environ["PATH"],
            "STATE": str(state),
            "HOME": "/proc",  # nobody can make anything there
            "DRYSIDE_HOME": str(state),
            "DRYSIDE_RUN": str(state / "elsewhere"),
            "PYTHONPATH": str(Path.cwd()),
            "PYTHONDONTWRITEBYTECODE": "1",
        },
        capture_output=True,
        text=True,
        timeout=120,
    )


def test_a_strip_is_made_with_a_read_only_root(tmp_path: Path) -> None:
    """With neither home nor root to write to, the folder of the unit is enough."""
    if shut(tmp_path, "! touch /etc/dryside-was-here").returncode != 0:
        pytest.skip("this user may not make a root read-only")
    code = "from ui.start import main; main()"
    made = shut(tmp_path, f"cd / && {sys.executable} -P -c '{code}' strip --base 8 --patches 3")
    assert made.returncode == 0, made.stderr
    assert "C         +2/3" in made.stdout
    assert (tmp_path / "book.sqlite").exists()
    assert (tmp_path / "elsewhere").is_dir()
