"""A unit that ends and is brought again, as a service manager does: the screen finds it."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from drivers import pid_files
from drivers.places import run_folder
from tests.ui.terminal.pseudo import TERMS
from tests.ui.terminal.sgr import offences
from tests.ui.terminal.test_whole_terminal import SETTINGS, pid_of, terminal, until

pytestmark = pytest.mark.real


def test_a_unit_that_is_brought_again_is_found_and_obeyed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Killed and begun anew by somebody else: attached again, and nothing is done by itself."""
    home = tmp_path / "home"
    with terminal(home) as made:
        os.kill(pid_of(home, pid_files.ENGINE_FILE), signal.SIGKILL)
        until(made, lambda text: "the unit has ended" in " ".join(text.split()))
        made.press("f")  # is for nobody, and must not light anything later
        monkeypatch.setenv("DRYSIDE_HOME", str(home))
        words = [sys.executable, "-P", "-m", "drivers.engine_process", "--rig", "tungsten"]
        for setting in SETTINGS:
            words += ["--set", setting]
        unit = subprocess.Popen([*words, "--linger", "20"], start_new_session=True)
        try:
            until(made, lambda text: "there again" in text and "has ended" not in text)
            shown = until(made, lambda text: "nothing runs" in text)
            assert "lamp off" in shown
            made.press("f")
            until(made, lambda text: "tap to go" in text)
            made.press("a", "a", "q")
            assert made.end() == 0
            assert offences(made.received, TERMS["full"]["TERM"]) == []
            running = json.loads((run_folder() / pid_files.ENGINE_FILE).read_text())["pid"]
            assert running == unit.pid
        finally:
            unit.terminate()
            unit.wait(20)
