"""Whoever needs the installed unit's engine waits while the service manager brings it."""

from __future__ import annotations

import os
from pathlib import Path
from types import SimpleNamespace

import pytest

from drivers.service import coming
from ui import attach


@pytest.fixture
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Make a file that says what the service manager says; the unit's folder is the test's own."""
    said = tmp_path / "state"
    manager = tmp_path / "bin/systemctl"
    manager.parent.mkdir()
    manager.write_text(f'#!/bin/sh\ncat "{said}"\n')
    manager.chmod(0o755)
    monkeypatch.setenv("PATH", f"{manager.parent}:{os.environ['PATH']}")
    monkeypatch.setattr(coming, "RUN", str(tmp_path))
    monkeypatch.setattr(attach, "BETWEEN_LOOKS_S", 0.0)
    return said


@pytest.mark.parametrize(
    ("told", "comes"),
    [("activating", True), ("active", True), ("inactive", False), ("failed", False)],
)
def test_between_a_crash_and_the_restart_an_engine_comes(
    tmp_path: Path, state: Path, told: str, comes: bool
) -> None:
    """A stopped unit is not waited for, nor anything where no unit keeps its things."""
    state.write_text(f"{told}\n")
    assert coming.engine_comes(tmp_path) is comes
    assert not coming.engine_comes(tmp_path / "elsewhere")


def test_a_terminal_leaves_the_start_to_the_service_manager(
    tmp_path: Path, state: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No engine is started beside the one that is coming, which would have nobody behind it."""
    state.write_text("activating\n")
    there = SimpleNamespace(hello=SimpleNamespace(digest="rig", running=""))
    answers = iter([None, None, None, there])
    monkeypatch.setattr(attach, "connect", lambda run, *, screen: next(answers))
    monkeypatch.setattr(attach, "_start", lambda *words: pytest.fail("it was started here"))
    client: object = attach.attach(tmp_path, "rig.toml", (), "rig", screen=True)
    assert client is there


def test_where_the_unit_was_stopped_an_engine_is_started(
    tmp_path: Path, state: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A stopped service keeps nobody from printing."""
    state.write_text("inactive\n")
    there = SimpleNamespace(hello=SimpleNamespace(digest="rig", running=""))
    monkeypatch.setattr(attach, "connect", lambda run, *, screen: None)
    monkeypatch.setattr(attach, "_start", lambda *words: "child")
    monkeypatch.setattr(attach, "_await", lambda run, child, *, screen: there)
    client: object = attach.attach(tmp_path, "rig.toml", (), "rig")
    assert client is there
