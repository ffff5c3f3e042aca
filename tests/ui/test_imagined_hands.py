"""The imagined printer beside an engine that was there before: what stood there stands here too."""

from __future__ import annotations

from pathlib import Path

from controller.exposing.bench import Bench, View
from controller.exposing.told import Run
from controller.ports import Carrier, Cue, Filter, Lens, NewSheet
from controller.rig.lights import around
from controller.score.file import to_json
from controller.score.model import Pass, Score
from controller.score.plan import plan_score
from ui.imagined_hands import ImaginedHands
from ui.unit import unit_for


def test_lens_and_filter_of_the_run_before_are_not_forgotten(tmp_path: Path) -> None:
    """The unit asks for neither again, so that nobody else would set them: a print without them
    got ten times its light.
    """
    unit = unit_for("tungsten", ())
    rig, score = unit.rig, Score(base_s=8, passes=(Pass(label="main", filter="2"),))
    plan = plan_score(score, rig.calibration(), rig.limits(), around(rig))
    hands = ImaginedHands(unit, Run("r", plan, to_json(score)), tmp_path / "wire", by_hand=True)
    bench = Bench()
    bench.told(Lens("16"))
    bench.told(Filter("2"))
    sheet = NewSheet("K1", 254, 203.2)
    hands.hear(View())  # of an idle unit
    hands.hear(Cue("new sheet", hands=sheet))
    hands.hear(View(standing=bench.standing()))
    hands.hear(View(standing=(Lens("8"), Filter("5"), Carrier(True))))  # as it is later on
    assert [one.hands for one in hands.done] == [Lens("16"), Filter("2"), Carrier(True), sheet]
    assert len({one.at_ns for one in hands.done}) == 1
