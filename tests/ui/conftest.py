"""What the tests of the command line have in common."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.ui.command import Told
from ui.cli import main


@pytest.fixture
def dryside(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., Told]:
    """Run a command in a home and a working folder of its own: exit code, output, errors."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path / "home"))
    monkeypatch.chdir(tmp_path)

    def run(*words: str) -> Told:
        monkeypatch.setattr(sys, "argv", ["dryside", *words])
        with pytest.raises(SystemExit) as ended:
            main()
        out, err = capsys.readouterr()
        code = ended.value.code
        return (0 if code is None else int(code)), out, err

    return run
