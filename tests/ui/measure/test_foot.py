"""The foot's benchmark: its figures, and a short run through engine and keeper."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from controller.ports import PortFault
from ui.measure.figures import Errors
from ui.measure.foot import FootReport, _relay_us, measure_foot


def test_the_relay_counts_from_the_press(tmp_path: Path) -> None:
    """The first time after the press at which the lamp's line was let go; other lines do not."""
    wire = tmp_path / "wire"
    wire.write_text("5000 lamp 1 1\n7000 ceiling 0 0\n9000 lamp 0 0\n20000 lamp 0 0\n")
    assert _relay_us(wire, [6000, 15000, 30000]) == [3.0, 5.0]


def test_a_report_can_be_printed() -> None:
    """Medians and worst in milliseconds, with the goals."""
    report = FootReport(
        Errors(500, 900, 900, 900, 9), Errors(700, 800, 800, 800, 5), Errors(1250, 1500, 1, 1500, 5)
    )
    table = report.table()
    for words in ("0.50", "1.25", "1.50", "50", "5"):
        assert words in table
    assert report.to_json()["pause_to_relay"] is not None


def test_nothing_to_measure_is_refused() -> None:
    """No presses are a sentence."""
    with pytest.raises(PortFault, match="would be right"):
        measure_foot(presses=0)


@pytest.mark.real
def test_a_short_run_pauses_and_goes_on(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every press is answered and every pause finds its edge, after the press; home is put back."""
    monkeypatch.setenv("DRYSIDE_HOME", "/nowhere")
    report = measure_foot(presses=2)
    assert report.pause_to_sound.count == report.pause_to_relay.count == 3
    assert report.press_to_sound.count >= 3
    for errors in (report.press_to_sound, report.pause_to_sound, report.pause_to_relay):
        assert 0 < errors.p50_us <= errors.max_us < 10e6
    assert os.environ["DRYSIDE_HOME"] == "/nowhere"
