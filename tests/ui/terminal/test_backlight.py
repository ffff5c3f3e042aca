"""The panel behind the cells."""

from __future__ import annotations

import asyncio
import os
import stat
from pathlib import Path

import pytest

from tests.ui.terminal.demo import Demo
from ui.terminal.backlight import BLANK, UNBLANK, Backlight, ConsoleBlank, PanelFault, Panels
from ui.terminal.curtain import lift, lower


def panel(folder: Path, power: str = "0") -> Path:
    switch = folder / "panel" / "bl_power"
    switch.parent.mkdir()
    switch.write_text(power + "\n")
    return switch


@pytest.mark.parametrize(("before", "after"), [("0", "0"), ("1", "1"), ("4", "0")])
def test_the_backlight_goes_off_and_comes_back(tmp_path: Path, before: str, after: str) -> None:
    """4 is written and then what was there; a panel found off, after a crash, is put on."""
    switch = panel(tmp_path, before)
    light = Backlight(tmp_path)
    light.restore()
    assert switch.read_text() == before + "\n", "nothing was off, so nothing is restored"
    light.off()
    light.off()
    assert switch.read_text() == "4"
    light.restore()
    assert switch.read_text() == after


def test_no_backlight_is_one_sentence(tmp_path: Path) -> None:
    """HDMI panels have none: the sentence says what to do instead."""
    with pytest.raises(PanelFault, match=r"no backlight is found in .*deep red sheet"):
        Backlight(tmp_path)


def test_a_backlight_that_cannot_be_written_is_one_sentence(tmp_path: Path) -> None:
    """The sentence names the file and the udev rule; others are switched all the same."""
    first, second = panel(tmp_path), tmp_path / "zweit" / "bl_power"
    second.parent.mkdir()
    second.write_text("0")
    light = Backlight(tmp_path)
    first.unlink()
    first.mkdir()  # root may write to any file, but to no folder
    with pytest.raises(PanelFault, match=r"panel/bl_power can't be switched off .*udev"):
        light.off()
    assert second.read_text() == "4"


def test_the_console_is_blanked_and_unblanked_by_the_kernel(tmp_path: Path) -> None:
    """One request each; unblanked only if it was blanked."""
    asked: list[bytes] = []
    blank = ConsoleBlank(7, lambda fd, request, what: asked.append(what))
    blank.restore()
    blank.off()
    blank.restore()
    blank.restore()
    assert asked == [BLANK, UNBLANK]


def test_a_terminal_that_is_no_console_is_one_sentence(tmp_path: Path) -> None:
    """A real request to something that is no console is refused by the kernel, and told."""
    fd = os.open(tmp_path / "file", os.O_RDWR | os.O_CREAT)
    try:
        with pytest.raises(PanelFault, match="only the Linux console"):
            ConsoleBlank(fd).off()
    finally:
        os.close(fd)


class Broken:
    def off(self) -> None:
        raise PanelFault("the panel is stuck")

    def restore(self) -> None:
        raise PanelFault("the panel is stuck")


def test_a_panel_that_stays_lit_is_no_lowered_curtain(tmp_path: Path) -> None:
    """Lower says no and why; the other panel is dark all the same, and is brought back."""
    switch = panel(tmp_path)
    app = Demo(panel=Panels(Broken(), Backlight(tmp_path)))

    async def run() -> None:
        async with app.run_test():
            assert not await lower(app)
            assert app.curtain_down
            assert app.curtain_trouble == "the panel is stuck"
            assert switch.read_text() == "4"
            await lift(app)
            assert not app.curtain_down
            assert switch.read_text() == "0"

    asyncio.run(run())


def test_the_switch_keeps_its_rights(tmp_path: Path) -> None:
    """The file is written in place, as sysfs wants it."""
    switch = panel(tmp_path)
    node = switch.stat().st_ino
    Backlight(tmp_path).off()
    assert switch.stat().st_ino == node
    assert stat.S_ISREG(switch.stat().st_mode)
