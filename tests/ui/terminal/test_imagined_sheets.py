"""On the simulator the terminal is told what paper became: patches, and the tones of a print."""

from __future__ import annotations

import uuid
from itertools import pairwise
from pathlib import Path

import pytest

from controller.boxes.sheet import PaperSheet, plan_paper_sheet
from controller.events import RunBegun
from controller.exposing.told import Run
from controller.plan import Plan
from controller.rig.lights import around
from controller.score.file import to_json
from controller.score.model import Pass, Score
from controller.score.plan import plan_score
from ui.imagined import carry_out_imagined
from ui.terminal.link import _read
from ui.unit import open_book, unit_for


@pytest.fixture(autouse=True)
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))


def read(plan: Plan, spec: str) -> tuple[str, dict[str, list[float]]]:
    """Carry a plan out and read what came of it, as the terminal does; the mark comes first."""
    unit, record_id = unit_for("tungsten", ()), uuid.uuid4().hex
    with open_book() as book:
        run = Run(record_id, plan, spec, unit.rig.name)
        outcome = carry_out_imagined(unit, run, book)
    begun = RunBegun(record_id, plan.kind, plan.title, spec, plan.to_json(), {}, unit.rig.name)
    return outcome.sheets[-1].mark, _read(begun, outcome.sheets)


def test_a_calibration_sheet_tells_its_patches() -> None:
    """As many as it has, the lightest first, under its mark."""
    rig = unit_for("tungsten", ()).rig
    sheet = PaperSheet(paper="pearl", base_s=1.2, patches=6, step="1", aperture="16")
    plan = plan_paper_sheet(sheet, rig.calibration(), rig.limits(), around(rig))
    mark, found = read(plan, sheet.model_dump_json())
    assert list(found) == [mark]
    assert len(found[mark]) == 6
    assert all(b >= a - 1e-6 for a, b in pairwise(found[mark]))
    assert found[mark][-1] > found[mark][0] + 0.5


def test_a_print_s_tones_go_to_the_book() -> None:
    """They stand on its page, as the simulator's own."""
    rig = unit_for("tungsten", ()).rig
    score = Score(base_s=8, passes=(Pass(label="main", filter="2"),))
    plan = plan_score(score, rig.calibration(), rig.limits(), around(rig))
    mark, found = read(plan, to_json(score))
    assert found == {}
    from controller.book.whole import whole_print

    with open_book() as book:
        tones = whole_print(book, mark).tones
    assert [one.region for one in tones] == ["elsewhere"]
