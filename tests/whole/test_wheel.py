"""The built wheel, installed away from the tree, does the same job."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("dist")
    subprocess.run(
        [sys.executable, "-P", "-m", "hatchling", "build", "-t", "wheel", "-d", str(out)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    [path] = out.glob("*.whl")
    return path


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the console command of an environment of its own.

    Only the libraries come from this environment, by its path: the network is not needed, and
    the tree, which is linked here in another way, cannot be seen from there.
    """
    folder = tmp_path_factory.mktemp("env")
    venv.create(folder, with_pip=False)
    site = next(folder.glob("lib/python*/site-packages"))
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(site)
    (site / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n")
    command = folder / "bin" / "dryside"
    command.write_text(
        f"#!{folder}/bin/python\nimport sys\nfrom ui.start import main\nsys.exit(main())\n"
    )
    command.chmod(0o755)
    return command


def test_everything_that_is_loaded_by_name_is_in_the_wheel(wheel: Path) -> None:
    """Migrations, styles, rigs and entry points: what no import statement names."""
    names = set(zipfile.ZipFile(wheel).namelist())
    for folder, pattern in (
        ("controller/book/migrations", "*.py"),
        ("controller/rig/shipped", "*.toml"),
        ("controller/score", "*.toml"),
        ("ui/screens", "*.tcss"),
        ("ui/terminal", "*.tcss"),
    ):
        files = {str(p.relative_to(ROOT)) for p in (ROOT / folder).rglob(pattern)}
        assert files, folder
        assert files <= names
    [points] = [n for n in names if n.endswith("entry_points.txt")]
    text = zipfile.ZipFile(wheel).read(points).decode()
    assert "dryside.outputs" in text
    assert "dryside = ui.start:main" in text
    assert {n.split("/")[0] for n in names if "dist-info" not in n} == {
        "controller",
        "drivers",
        "sim",
        "ui",
    }


@pytest.mark.real
def test_the_installed_program_makes_a_strip_where_strange_folders_lie(
    installed: Path, tmp_path: Path
) -> None:
    """From a working folder with empty controller/, drivers/, sim/ and ui/, in virtual time and
    through the real processes, without a trace of the tree.
    """
    for name in ("controller", "drivers", "sim", "ui"):
        (tmp_path / name).mkdir()
        (tmp_path / name / "__init__.py").write_text("raise RuntimeError('a stranger')\n")
    home = tmp_path / "home"
    env = {"PATH": os.environ["PATH"], "HOME": str(tmp_path), "DRYSIDE_HOME": str(home)}
    quick = ("--base", "0.5", "--patches", "2", "--mode", "window", "--json")
    hands = (
        "foot.lead_in_s=0.1",
        "simulator.hands.gap_s=[1.0,1.1]",
        "simulator.hands.sheet_s=[0.1,0.2]",
    )
    settings = [word for setting in hands for word in ("--set", setting)]
    for more in ([], ["--real-time"]):
        done = subprocess.run(
            [str(installed), "strip", *quick, *settings, *more],
            cwd=tmp_path,
            env=env,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        assert done.returncode == 0, done.stderr
        result = json.loads(done.stdout)
        assert result["fate"] == "done"
        assert len(result["patches"]) == 2
    seen = subprocess.run(
        [str(installed.parent / "python"), "-P", "-c", "import ui; print(ui.__file__)"],
        cwd=tmp_path,
        env=env,
        capture_output=True,
        text=True,
        check=True,
    )
    assert str(ROOT) not in seen.stdout
    subprocess.run([str(installed), "safe"], cwd=tmp_path, env=env, check=True, timeout=60)
