"""The plan of the house: who may import whom, and what a process may load.

The linter's contracts (pyproject.toml) are proved by ``./check``; here it is proved that they
bite, and, from the outside, what a fresh interpreter really loads.
"""

from __future__ import annotations

import ast
import json
import re
import shutil
import subprocess
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

HOUSE = Path(__file__).parent.parent
FOLDERS = ("controller", "drivers", "sim", "ui")
HEAVY = {"numpy", "scipy", "matplotlib", "schemdraw", "textual"}
DATA = {"pydantic", "sqlalchemy", "alembic"}


def loaded_by(*modules: str) -> set[str]:
    """Give the top-level packages that a fresh interpreter has after these imports."""
    code = f"import {', '.join(modules)}, json, sys; print(json.dumps(list(sys.modules)))"
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=HOUSE, capture_output=True, text=True, check=True
    )
    return {name.partition(".")[0] for name in json.loads(run.stdout)}


def needs(module: str) -> None:
    if not (HOUSE / f"{module.replace('.', '/')}.py").exists():
        pytest.skip(f"{module} is not built yet")


def test_the_leaves_load_nothing_heavy() -> None:
    """Ports and keeper need msgspec alone: no pydantic, no database, no numbers, no screen."""
    loaded = loaded_by("controller.ports", "controller.keeper")
    assert "msgspec" in loaded
    assert not loaded & (HEAVY | DATA)


def test_the_engine_loads_nothing_heavy() -> None:
    """The engine runs without numpy, scipy, matplotlib and Textual."""
    needs("drivers.engine_process")
    assert not loaded_by("drivers.engine_process") & HEAVY


def test_the_keepers_process_loads_nothing_heavy() -> None:
    """The keeper's process starts without pydantic and database too: it must be there soon."""
    needs("drivers.keeper_process")
    assert not loaded_by("drivers.keeper_process", "drivers.modbus", "sim.board") & (HEAVY | DATA)


def test_the_command_line_shows_its_help_without_the_heavy_parts() -> None:
    """What ``dryside --help`` imports is not what a strip needs."""
    needs("ui.cli")
    assert not loaded_by("ui.cli") & (HEAVY | {"sqlalchemy", "alembic", "PIL"})


def test_the_first_picture_of_the_terminal_loads_nothing_heavy() -> None:
    """Until the bench is drawn neither pydantic nor database nor numbers nor Typer is loaded."""
    needs("ui.start")
    code = (
        "import asyncio, json, sys\n"
        "from pathlib import Path\n"
        "from ui import start, unit\n"
        "from ui.commands import terminal\n"
        "from ui.terminal.app import Terminal\n"
        "from ui.terminal.preferences import Preferences\n"
        "async def look(self):\n"
        "    shown = str(self.screen.query_one('#title').render())\n"
        "    self.exit([shown, list(sys.modules)])\n"
        "Terminal._attach_unit = look\n"
        "app = Terminal(lambda: unit.unit_for(None, ()), Path('.'), Preferences.read(Path('.')))\n"
        "print(json.dumps(asyncio.run(app.run_async(headless=True))))\n"
    )
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=HOUSE, capture_output=True, text=True, check=True
    )
    shown, modules = json.loads(run.stdout)
    assert shown == "the unit is starting"
    loaded = {name.partition(".")[0] for name in modules}
    assert "textual" in loaded
    assert not loaded & ((HEAVY - {"textual"}) | DATA | {"typer", "tomlkit", "PIL"})


def test_drivers_are_registered_by_names_that_exist() -> None:
    """Each entry point of pyproject.toml names something that can be imported."""
    project = tomllib.loads((HOUSE / "pyproject.toml").read_text())["project"]
    groups = [project["scripts"], *project["entry-points"].values()]
    for value in (each for group in groups for each in group.values()):
        module, _, name = value.partition(":")
        needs(module)
        code = f"import {module}; {module}.{name}"
        run = subprocess.run(
            [sys.executable, "-c", code], cwd=HOUSE, capture_output=True, text=True
        )
        assert run.returncode == 0, f"{value}: {run.stderr}"


def imported_in(path: Path) -> set[str]:
    """Give the top-level packages that a module imports anywhere, functions included."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found |= {alias.name.partition(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            found.add(node.module.partition(".")[0])
    return found


def test_what_is_imported_is_asked_for() -> None:
    """No package serves that only happens to be there: each import is a dependency or an extra."""
    project = tomllib.loads((HOUSE / "pyproject.toml").read_text())["project"]
    extras = project["optional-dependencies"]
    wanted = [*project["dependencies"], *extras["pi"], *extras["pi-old"], *extras["sound"]]
    asked_for = {re.split(r"[\[<>=!~; ]", each, maxsplit=1)[0].lower() for each in wanted}
    provides = {
        package: {name.lower() for name in names}
        for package, names in packages_distributions().items()
    }
    provides |= {"PIL": {"pillow"}, "RPi": {"rpi.gpio"}, "pydantic_core": {"pydantic"}}
    strangers = {
        f"{path.relative_to(HOUSE)}: {package}"
        for folder in FOLDERS
        for path in (HOUSE / folder).rglob("*.py")
        if "firmware" not in path.parts  # it runs elsewhere, and is judged below
        for package in imported_in(path) - set(FOLDERS) - sys.stdlib_module_names
        if not provides.get(package, {package.lower()}) & asked_for
    }
    assert strangers == set()


def test_firmware_imports_what_a_microcontroller_has() -> None:
    """The core imports nothing at all; the rest needs MicroPython's own modules and each other."""
    firmware = HOUSE / "drivers" / "firmware"
    own = {path.stem for path in firmware.glob("*.py")}
    has = own | {"machine", "micropython", "select", "sys", "time"}
    assert imported_in(firmware / "core.py") == set()
    for path in firmware.glob("*.py"):
        assert imported_in(path) <= has, path.name


def test_controller_has_no_clock_of_its_own() -> None:
    """No module of controller reads a clock or sleeps: time is always given to it."""
    asks = ("time.monotonic", "time.time(", "time.sleep", "datetime.now", "perf_counter", "utcnow")
    found = [
        f"{path.relative_to(HOUSE)}: {ask}"
        for path in (HOUSE / "controller").rglob("*.py")
        for ask in asks
        if ask in path.read_text()
    ]
    assert found == []


@pytest.fixture
def copied_house(tmp_path: Path) -> Path:
    """Give a copy of the house in which rules may be broken."""
    for folder in FOLDERS:
        shutil.copytree(
            HOUSE / folder, tmp_path / folder, ignore=shutil.ignore_patterns("__pycache__")
        )
    shutil.copy(HOUSE / "pyproject.toml", tmp_path)
    return tmp_path


BREAKS = [
    ("controller/zz.py", "import drivers", "controller imports none of the other three"),
    ("controller/zz.py", "def f():\n    import textual", "controller knows no hardware"),
    ("controller/ports.py", "import controller.plan", "ports and keeper are leaves"),
    ("controller/keeper.py", "from controller import ports", "ports and keeper are leaves"),
    ("drivers/zz.py", "import sim", "drivers import neither sim nor ui"),
    ("drivers/zz.py", "import numpy", "drivers load nothing heavy"),
    ("sim/zz.py", "from controller import plan", "sim is the outside world"),
    ("sim/zz.py", "import drivers", "sim is the outside world"),
    ("controller/zz.py", "import ui", "nothing imports ui"),
]


def lint(house: Path) -> tuple[int, str]:
    """Run the import linter; gives its exit code and what it printed."""
    command = Path(sys.executable).with_name("lint-imports")
    run = subprocess.run(
        [command, "--no-cache"],
        cwd=house,
        capture_output=True,
        text=True,
        env={"PATH": "/usr/bin:/bin", "COLUMNS": "200"},
    )
    return run.returncode, run.stdout + run.stderr


def broken(house: Path) -> list[str]:
    code, said = lint(house)
    rules = [line.partition(" BROKEN")[0] for line in said.splitlines() if " BROKEN" in line]
    assert (code != 0) == bool(rules), said
    return rules


@pytest.mark.parametrize(("path", "line", "rule"), BREAKS)
def test_every_import_rule_bites(copied_house: Path, path: str, line: str, rule: str) -> None:
    """One forbidden line in a copy of the house breaks the rule that forbids it."""
    with (copied_house / path).open("a") as file:
        file.write(f"\n{line}\n")
    assert any(each.startswith(rule) for each in broken(copied_house))


def test_the_linter_follows_a_heavy_import_through_controller(copied_house: Path) -> None:
    """Drivers may not load numbers by way of a module of controller either."""
    (copied_house / "controller" / "zz.py").write_text("import scipy\n")
    (copied_house / "drivers" / "zz.py").write_text("from controller import zz\n")
    assert broken(copied_house) == ["drivers load nothing heavy, by whatever way"]
