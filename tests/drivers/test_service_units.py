"""The unit files, as the service manager's own tools judge them."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from controller.rig.findings import State, palette
from drivers import places
from drivers.places import run_folder
from drivers.service.units import PALETTE, Service, engine_text, environ_text, screen_text

SERVICE = Service(
    program=("/usr/bin/env",), rig="/var/lib/dryside/rig.toml", user="bench", group="bench"
)
needs_systemd = pytest.mark.skipif(
    shutil.which("systemd-analyze") is None, reason="systemd's tools are not here"
)


def judged(tmp_path: Path, *words: str) -> str:
    # a user that every machine has stands in for the printer's own
    service = replace(SERVICE, user="daemon", group="daemon")
    (tmp_path / "dryside.service").write_text(engine_text(service))
    (tmp_path / "dryside-screen.service").write_text(screen_text(service))
    units = [str(tmp_path / name) for name in ("dryside.service", "dryside-screen.service")]
    run = subprocess.run(
        ["systemd-analyze", *words, *units], capture_output=True, text=True, timeout=60
    )
    assert run.returncode == 0, run.stdout + run.stderr
    return run.stdout + run.stderr


@needs_systemd
def test_the_unit_files_are_understood(tmp_path: Path) -> None:
    """systemd-analyze verify finds nothing to complain of."""
    assert judged(tmp_path, "verify") == ""


@needs_systemd
def test_the_units_are_shut_in(tmp_path: Path) -> None:
    """systemd-analyze security rates each of them below 3, where 10 is wide open."""
    said = judged(tmp_path, "security", "--offline=true", "--no-pager")
    rated = [float(each) for each in re.findall(r"exposure level for \S+: ([0-9.]+)", said)]
    assert len(rated) == 2
    assert max(rated) < 3


def test_after_every_end_the_same_rig_is_made_safe() -> None:
    """ExecStopPost names the rig that ExecStart names."""
    text = engine_text(SERVICE)
    start = re.search(r"^ExecStart=(.*)$", text, re.MULTILINE)
    stop = re.search(r"^ExecStopPost=(.*)$", text, re.MULTILINE)
    assert start is not None
    assert stop is not None
    assert start[1].split("--rig ")[1] == stop[1].split("--rig ")[1] == SERVICE.rig
    assert stop[1].split() == ["/usr/bin/env", "safe", "--rig", SERVICE.rig]


def test_a_program_in_a_home_stays_readable() -> None:
    """Only where nothing of it lives in /home is that hidden from the unit."""
    assert "ProtectHome=yes" in engine_text(SERVICE)
    at_home = replace(SERVICE, program=("/home/bench/dryside/.venv/bin/dryside",))
    assert "ProtectHome=read-only" in engine_text(at_home)


def test_signs_of_the_manager_in_a_path_are_only_signs() -> None:
    """A space, a percent or a dollar in a path changes nothing of what is run."""
    odd = replace(SERVICE, program=("/opt/my $unit 5%/dryside",))
    assert 'ExecStart="/opt/my $$unit 5%%/dryside" unit run' in engine_text(odd)


def test_the_palette_that_is_recommended_is_found_red() -> None:
    """rig check is content with what install prints."""
    assert palette(PALETTE).state is State.WELL


def test_commands_find_the_unit_that_starts_by_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without DRYSIDE_HOME a command uses the folders that the installed unit uses."""
    told = tmp_path / "unit.env"
    text = environ_text(replace(SERVICE, home=str(tmp_path / "state")))
    told.write_text(text.replace("/run/dryside", str(tmp_path / "run")))
    monkeypatch.delenv("DRYSIDE_HOME", raising=False)
    monkeypatch.delenv("DRYSIDE_RUN", raising=False)
    monkeypatch.setattr(places, "ENVIRON_FILE", str(told))
    assert places.data_folder() == tmp_path / "state"
    assert run_folder() == tmp_path / "run"
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path / "mine"))
    assert run_folder() == tmp_path / "mine" / "run"
