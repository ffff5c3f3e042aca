"""What a calibration sheet counts for each patch, and what the imagined paper really got."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from controller.boxes.measured import given
from controller.boxes.sheet import PaperSheet, plan_paper_sheet
from controller.rig.lights import around
from controller.stops import parse_step
from ui.exposing import PLAINLY, expose
from ui.read_sheet import inside_box


@pytest.mark.parametrize(
    "sheet",
    [
        PaperSheet(paper="p", filter="2", base_s=1.2, step=parse_step("2/5")),
        PaperSheet(paper="p", filter="2", base_s=1.2, way="window", patches=12),
        PaperSheet(paper="p", kind="mixed", filter="00", base_s=2.0, hard_filter="5", hard_s=4.0),
    ],
    ids=["card", "window", "mixed"],
)
def test_every_patch_got_the_dose_that_is_counted(
    sheet: PaperSheet, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    """By card, window and under two filters each dose is counted within a fiftieth of a stop."""
    monkeypatch.setenv("DRYSIDE_HOME", str(tmp_path))
    unit = PLAINLY.unit()
    rig = unit.rig
    plan = plan_paper_sheet(sheet, rig.calibration(), rig.limits(), around(rig))
    made = expose(unit, plan, sheet.model_dump_json(), PLAINLY)
    patches = given(sheet, made.page, made.mark)
    [developed] = made.outcome.sheets
    for index, patch in enumerate(patches):
        box = (index / len(patches), 0.0, (index + 1) / len(patches), 1.0)
        delivered, _ = inside_box(developed, *box)
        for name, dose_s in patch.doses_s.items():
            assert abs(math.log2(delivered[name] / dose_s)) < 0.02
