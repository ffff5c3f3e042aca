"""Pictures of strips: where each patch lies, and the developed paper where there is one."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from controller.book_told.strip_report import StripResult
from controller.enlarger.lag import LagStrip
from controller.errors import BadInput
from controller.stops import format_time
from controller.strips.strip import LETTERS, Strip, patch_mm, patches_of

if TYPE_CHECKING:
    from controller.pictures.strips import PatchLabel
    from sim.sheet import DevelopedSheet


def require_writable(path: Path) -> None:
    """Refuse a place for the picture before any paper is used."""
    if path.suffix.lower() != ".png":
        raise BadInput(f"{path} is not the name of a PNG", "--picture", "such as strip.png")
    folder = path.parent if str(path.parent) else Path()
    right = "a PNG file in a folder that can be written to"
    if not folder.is_dir():
        raise BadInput(f"there is no folder {folder}", "--picture", right)
    try:
        existed = path.exists()
        with path.open("ab"):
            pass
        if not existed:
            path.unlink()
    except OSError as error:
        raise BadInput(f"{path} cannot be written ({error.strerror})", "--picture", right) from None


def labels_of(strip: Strip, result: StripResult) -> list[PatchLabel]:
    """Say where each patch lies on the paper, for a picture."""
    from controller.pictures.strips import PatchLabel

    each = patch_mm(strip)
    labels = []
    for index, (patch, made) in enumerate(zip(patches_of(strip), result.patches, strict=True)):
        place = index if strip.side in ("left", "top") else strip.patches - 1 - index
        labels.append(
            PatchLabel(
                patch.letter,
                patch.dose_s,
                patch.stops,
                place * each,
                (place + 1) * each,
                made.density,
            )
        )
    return labels


def draw_strip(strip: Strip, result: StripResult, sheet: DevelopedSheet | None, path: Path) -> None:
    """Draw a strip as it was developed, or its map where only the paper itself knows."""
    from controller.pictures.strips import Axis, Caption, developed, strip_map

    axis = Axis.HORIZONTAL if strip.side in ("left", "right") else Axis.VERTICAL
    labels = labels_of(strip, result)
    note = ", ".join(filter(None, [strip.place, strip.filter and f"filter {strip.filter}"]))
    caption = Caption(f"{format_time(strip.base_s)} by {strip.step}", result.mark, strip.way, note)
    if sheet is None:
        strip_map(
            labels,
            path,
            width_mm=strip.width_mm,
            height_mm=strip.height_mm,
            axis=axis,
            caption=caption,
        )
        return
    developed(
        sheet.density,
        labels,
        path,
        mm_per_cell=(sheet.cell_width_mm, sheet.cell_height_mm),
        axis=axis,
        caption=caption,
    )


def draw_lag(strip: LagStrip, sheet: DevelopedSheet, mark: str, target: Path) -> None:
    """Draw a developed lag strip, each patch with the lag that it assumes."""
    from controller.pictures.strips import Axis, Caption, PatchLabel, developed

    each = sheet.width_mm / strip.patches
    dose_s = strip.pulses * strip.pulse_s
    labels = [
        PatchLabel(
            LETTERS[i],
            dose_s,
            0.0,
            i * each,
            (i + 1) * each,
            instead=f"{lag_s * 1000:.0f} ms",
        )
        for i, lag_s in enumerate(strip.lags_s())
    ]
    caption = Caption(
        "lag strip",
        mark,
        "window",
        "each patch: long half, then pulsed half; below, the lag it assumes",
    )
    developed(
        sheet.density,
        labels,
        target,
        mm_per_cell=(sheet.cell_width_mm, sheet.cell_height_mm),
        axis=Axis.HORIZONTAL,
        caption=caption,
    )
