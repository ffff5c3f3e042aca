"""A box of paper as a picture: its curves by filter, and its range by soft and hard light."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path

from controller.boxes.drawn import family
from controller.boxes.model import Batch, PaperCurve, PaperReading
from controller.boxes.split import split_of, split_pairs
from controller.errors import Refused
from controller.paper import iso
from controller.paper.split import SplitPaper
from controller.pictures.paper_plot import Ranges, paper_plot, require_ending

RATIOS = range(-24, 25)  # quarter stops of hard over soft dose


def draw_box(
    batch: Batch,
    curves: Mapping[str, PaperCurve],
    readings: Sequence[PaperReading],
    path: Path,
    where: str = "--picture",
) -> str:
    """Draw the newest curve of each filter, and range by ratio where the split sheets were read.

    Says why the ranges are missing where they could not be fitted. Raises BadInput, OSError.
    """
    require_ending(path, where)
    ranges, why = ranges_of(batch, readings)
    absolute = all(one.iso_speed is not None for one in curves.values())
    title = f"{batch.handle}, {next(iter(curves.values())).developing.tell()}"
    drawn = family(dict(curves), readings)
    paper_plot(drawn, path, title=title, absolute=absolute, ranges=ranges)
    return why


def ranges_of(batch: Batch, readings: Sequence[PaperReading]) -> tuple[Ranges | None, str]:
    """Give range against ratio, where the split sheets of a box were read; else why not."""
    why = ""
    for soft, hard in split_pairs(readings):
        try:
            paper = split_of(readings, soft, hard, batch.handle).paper
        except Refused as refused:
            why = f"no range by ratio: {refused}"
            continue
        range_at = partial(_range_at, paper)
        points = [(at / 4, range_at(2.0 ** (at / 4) / (1.0 + 2.0 ** (at / 4)))) for at in RATIOS]
        return Ranges(soft, hard, points, range_at(0.0), range_at(1.0)), why
    return None, why


def _range_at(paper: SplitPaper, hard_share: float) -> float:
    return 100.0 * iso.points_of(paper.mixed(hard_share)).ler
