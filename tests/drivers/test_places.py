"""Where things are kept."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from controller.ports import PortFault
from drivers.places import config_folder, data_folder, run_folder


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path / "unit"))
    return tmp_path / "unit"


def test_everything_is_below_the_home_that_is_named(home: Path) -> None:
    """With DRYSIDE_HOME set, nothing is kept elsewhere."""
    assert (run_folder(), data_folder(), config_folder()) == (home / "run", home, home)
    assert home.is_dir()


def test_without_a_home_the_system_says_where(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Otherwise the folders are where the system's rules want them."""
    monkeypatch.delenv("DRYSIDE_HOME", raising=False)
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(tmp_path))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    tmp_path.chmod(0o700)
    assert data_folder() == tmp_path / "data" / "dryside"
    assert config_folder() == tmp_path / "config" / "dryside"
    assert stat.S_IMODE(run_folder().stat().st_mode) == 0o700
    assert run_folder().name == "dryside"


def test_only_the_user_may_open_the_run_time_folder(home: Path) -> None:
    """It is made with mode 0700, and brought back to it."""
    run_folder().chmod(0o755)
    assert stat.S_IMODE(run_folder().stat().st_mode) == 0o700


def test_a_run_time_folder_of_someone_else_is_refused(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever owns it could stop the lamp or light it."""
    run_folder()
    monkeypatch.setattr(os, "geteuid", lambda: os.getuid() + 1)
    with pytest.raises(PortFault, match="not a folder of this user's own"):
        run_folder()


def test_a_link_in_its_place_is_refused(home: Path, tmp_path: Path) -> None:
    """A symbolic link may lead anywhere."""
    home.mkdir()
    (tmp_path / "elsewhere").mkdir()
    (home / "run").symlink_to(tmp_path / "elsewhere")
    with pytest.raises(PortFault, match="not a folder"):
        run_folder()


def test_a_home_that_cannot_be_made_is_told_in_a_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The sentence names the folder and what to set."""
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path / "file" / "unit"))
    for folder in (run_folder, data_folder, config_folder):
        with pytest.raises(PortFault, match=r"file/unit.*DRYSIDE_HOME"):
            folder()
