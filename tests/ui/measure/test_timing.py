"""The timing benchmark: its figures, and a short run of all that it starts."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from controller.ports import PortFault
from ui.measure.figures import Errors, Ticks, TimingReport, errors_of, histogram_of
from ui.measure.timing import measure_timing


def report(keeper_us: float, script_us: float, cyclictest: Errors | None = None) -> TimingReport:
    return TimingReport(
        keeper=Errors(1.0, 2.0, keeper_us, keeper_us, 1000),
        gpiozero_script=Errors(1.0, 2.0, script_us, script_us, 1000),
        asyncio=Errors(1.0, 2.0, 3.0, 4.0, 1000),
        cyclictest=cyclictest,
        missed=3,
        pulses=1000,
        on_ms=20.0,
        load=True,
        redraws_per_s=60.0,
        stolen_percent=1.5,
        processors=2,
        notes=("a note",),
    )


def test_percentiles_are_nearest_rank() -> None:
    """Of 1000 values the 999th is p99.9, so the worst alone does not decide it."""
    errors = errors_of([float(n) for n in range(1000, 0, -1)])
    assert errors == Errors(500.0, 990.0, 999.0, 1000.0, 1000)
    assert errors_of([7.0]) == Errors(7.0, 7.0, 7.0, 7.0, 1)
    with pytest.raises(ValueError, match="nothing"):
        errors_of([])


def test_the_histogram_of_cyclictest_is_read() -> None:
    """Each bucket counts as often as it says, and what exceeds it as the greatest latency."""
    text = (
        "# /dev/cpu_dma_latency set to 0us\n# Histogram\n000000 000000\n000007 000002\n"
        "000041 000001\n# Total: 000003\n# Min Latencies: 00007\n# Avg Latencies: 00041\n"
        "# Max Latencies: 00876\n# Histogram Overflows: 00001\n# Histogram Overflow at cycle n:\n"
        "# Thread 0: 00002\n"
    )
    assert histogram_of(text) == [7.0, 7.0, 41.0, 876.0]
    assert histogram_of("") == []


@pytest.mark.parametrize(
    ("keeper_us", "script_us", "met"),
    [(100.0, 1000.0, True), (100.0, 990.0, False), (500.0, 9000.0, False)],
)
def test_the_goal_is_both_halves(keeper_us: float, script_us: float, met: bool) -> None:
    """Below 0.5 ms, and ten times better than the plain script."""
    assert report(keeper_us, script_us).goal_met is met


def test_a_report_can_be_printed_and_stored() -> None:
    """The JSON holds every way's four figures, null where there are none; so does the table."""
    data = json.loads(json.dumps(report(100.0, 1000.0).to_json()))
    for way in ("keeper", "gpiozero_script", "asyncio"):
        assert {"p50_us", "p99_us", "p999_us", "max_us"} <= set(data[way])
    assert data["cyclictest"] is None
    table = report(100.0, 1000.0).table()
    assert "not measured" in table
    assert "10 times better" in table
    assert "1.5 %" in table
    assert "3 pulses were refused" in table
    assert "can't be judged" not in table
    assert "can't be judged" in report(100.0, 1000.0, Errors(9.0, 99.0, 999.0, 999.0, 9)).table()
    assert table.endswith("a note")


def test_stolen_time_is_a_part_of_all_time() -> None:
    """The part is counted between two readings."""
    assert Ticks(300, 7).stolen_percent_since(Ticks(100, 5)) == 1.0
    assert Ticks(100, 5).stolen_percent_since(Ticks(100, 5)) == 0.0
    assert Ticks.now().total > 0


def test_nothing_to_measure_is_refused() -> None:
    """No pulses, or none of any length, is a sentence."""
    with pytest.raises(PortFault, match="would be right"):
        measure_timing(pulses=0)
    with pytest.raises(PortFault, match="would be right"):
        measure_timing(on_ms=-1)


@pytest.mark.real
@pytest.mark.parametrize("load", [True, False])
def test_a_short_run_measures_every_way(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, load: bool
) -> None:
    """Keeper, script and screen each make the pulses that were asked, and none is early."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    told: list[str] = []
    measured = measure_timing(pulses=8, on_ms=5.0, load=load, progress=told.append)
    for errors in (measured.keeper, measured.gpiozero_script, measured.asyncio):
        assert errors.count == 8
        assert 0 < errors.p50_us <= errors.max_us
    assert (measured.redraws_per_s > 1) is load
    assert told == ["0 of 8 pulses measured"]
    assert not list(tmp_path.rglob("wire"))
