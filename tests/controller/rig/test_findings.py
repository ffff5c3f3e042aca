"""What is said of each part of a rig."""

from __future__ import annotations

from pathlib import Path

import pytest

from controller.rig import findings
from controller.rig.findings import Finding, Section, State, any_wrong

REDS = ",".join(str(16 * each) for each in range(16))
ZEROS = ",".join(["0"] * 16)
RED = f"quiet vt.default_red={REDS} vt.default_grn={ZEROS} vt.default_blu={ZEROS} rootwait"


@pytest.mark.parametrize(
    ("cmdline", "state"),
    [
        ("quiet", State.LOOK),
        (RED, State.WELL),
        (RED.replace(f"grn={ZEROS}", f"grn={ZEROS[:-1]}9"), State.WRONG),
        (RED.replace(f" vt.default_blu={ZEROS}", ""), State.WRONG),
        (RED.replace(f"red={REDS}", f"red={ZEROS}"), State.WRONG),
        (RED.replace(f"red={REDS}", "red=a,b"), State.WRONG),
        (RED.replace("vt.default_grn=0,0", "vt.default_grn=0x00,0x00"), State.WELL),
    ],
)
def test_a_console_palette_is_well_only_if_it_is_all_red(cmdline: str, state: State) -> None:
    """Three whole lists with no green and no blue are well, and anything less is not."""
    assert findings.palette(cmdline).state is state


@pytest.mark.parametrize(
    ("cmdline", "config", "state"),
    [
        ("", "", State.LOOK),
        ("pinctrl_bcm2835.persist_gpio_outputs=n", "", State.WELL),
        ("pinctrl_bcm2835.persist_gpio_outputs=y", "", State.LOOK),
        ("", "dtparam=strict_gpiod\n", State.WELL),
        ("", "dtparam=i2c_arm=on,strict_gpiod\n", State.WELL),
        ("", "#dtparam=strict_gpiod\n", State.LOOK),
        ("", "dtparam=strict_gpiod=off\n", State.LOOK),
    ],
)
def test_lines_that_keep_their_level_are_told(cmdline: str, config: str, state: State) -> None:
    """Only what is really set in one of the two places makes a dead program's lines go back."""
    assert findings.persistence(cmdline, config, is_pi=True).state is state
    assert findings.persistence(cmdline, config, is_pi=False).state is State.NOT_THERE


@pytest.mark.parametrize(
    ("heard", "read_back", "state"),
    [
        ("lamp", (True, True), State.WELL),
        ("lamp", (None, None), State.LOOK),
        ("lamp", (True, False), State.WRONG),
        ("bench", (True, True), State.WRONG),
        ("", (None, None), State.WRONG),
    ],
)
def test_a_relay_is_well_only_if_its_own_light_came(
    heard: str, read_back: tuple[bool | None, ...], state: State
) -> None:
    """Another light, none, or a line that reads back otherwise is wrong; a blind one a look."""
    assert findings.clicked("lamp", heard, ("lamp", "bench"), read_back).state is state


@pytest.mark.parametrize(
    ("downs", "ups", "edges", "state"),
    [
        (0, 0, 0, State.WRONG),
        (1, 0, 1, State.WRONG),
        (1, 1, 4, State.WELL),
        (1, 1, 40, State.LOOK),
        (2, 2, 4, State.WRONG),
    ],
)
def test_a_press_is_one_press(downs: int, ups: int, edges: int, state: State) -> None:
    """One press that is felt as none, as two, or that never ends is wrong."""
    assert findings.pressed("dry", downs, ups, edges).state is state


@pytest.mark.parametrize(
    ("finding", "state"),
    [
        (findings.lid(1, 1), State.WELL),
        (findings.lid(0, 1), State.WRONG),
        (findings.lid(0, 0), State.WRONG),
        (findings.resting("lamp", right=False), State.WRONG),
        (findings.heard_sounds("buzzer", ["go"]), State.WRONG),
        (findings.heard_sounds("buzzer", []), State.WELL),
        (findings.covered("easel", 30.0, 2.0, "lx"), State.WELL),
        (findings.covered("easel", 2.0, 2.0, "lx"), State.LOOK),
        (findings.covered("easel", 2.0, 1.9, "lx"), State.LOOK),  # noise, no hand
        (findings.granted("priority", 0, 50, "RTPRIO"), State.LOOK),
        (findings.granted("priority", None, 50, "RTPRIO"), State.WELL),
        (findings.clock(synchronised=False), State.LOOK),
        (findings.clock(synchronised=None), State.LOOK),
        (findings.clock(synchronised=True), State.WELL),
        (findings.watchdog([], ""), State.NOT_THERE),
        (findings.watchdog(["watchdog0"], "off"), State.LOOK),
        (findings.watchdog(["watchdog0"], "15"), State.WELL),
        (findings.backlight(["a", "b"], ["b"]), State.WRONG),
        (findings.backlight(["a"], []), State.WELL),
        (findings.backlight([], []), State.NOT_THERE),
        (findings.indicators(["ACT"], 2), State.LOOK),
        (findings.indicators([], 2), State.WELL),
        (findings.indicators([], 0), State.NOT_THERE),
    ],
)
def test_every_part_that_is_not_well_has_a_remedy(finding: Finding, state: State) -> None:
    """A part has the state that fits, and what is a look or wrong says what to do about it."""
    assert finding.state is state
    assert finding.remedy or state in (State.WELL, State.NOT_THERE)
    assert finding.as_dict()["section"].startswith("wiring_docs/README.md#")


def test_a_look_is_no_fault() -> None:
    """Only a part that is wrong makes the whole wrong."""
    look = Finding("a", State.LOOK, "b", Section.RELAYS, "c")
    assert not any_wrong([look])
    assert any_wrong([look, Finding("a", State.WRONG, "b", Section.RELAYS, "c")])


def test_each_section_that_a_remedy_names_is_on_the_page() -> None:
    """Whoever follows a remedy to the wiring page finds the section there."""
    page = (Path(__file__).parents[3] / findings.PAGE).read_text()
    headings = {
        line.removeprefix("## ").lower().replace(" ", "-")
        for line in page.splitlines()
        if line.startswith("## ")
    }
    assert {section.value for section in findings.Section} <= headings
