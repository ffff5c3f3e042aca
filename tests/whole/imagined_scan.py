"""A scanner of our own making: margins, uneven light, noise, a sheet askew or upright."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
from PIL import Image

from controller.pictures.ink import reflectance, srgb
from sim.sheet import DevelopedSheet

PX_PER_MM = 6.0  # about 150 dpi


def scanned(
    sheet: DevelopedSheet | np.ndarray,
    path: Path,
    *,
    seed: int = 1,
    margin_mm: float = 8.0,
    uneven: float = 0.03,
    noise: float = 1.5,
    askew_deg: float = 0.0,
    quarter_turns: int = 0,
    deep: bool = False,
    colour: bool = False,
    mm_per_cell: float = 1.0,
) -> Path:
    """Scan a developed sheet; ``noise`` in tones of 255, ``uneven`` over the whole glass."""
    chance = np.random.default_rng(seed)
    density = sheet if isinstance(sheet, np.ndarray) else sheet.density
    size = (
        round(density.shape[1] * mm_per_cell * PX_PER_MM),
        round(density.shape[0] * mm_per_cell * PX_PER_MM),
    )
    paper = Image.fromarray(reflectance(density).astype(np.float32)).resize(
        size, Image.Resampling.BILINEAR
    )
    margin = round(margin_mm * PX_PER_MM)
    glass = Image.new("F", (size[0] + 2 * margin, size[1] + 2 * margin), 0.93)
    glass.paste(paper, (margin, margin))
    if askew_deg:
        glass = glass.rotate(askew_deg, Image.Resampling.BILINEAR, fillcolor=0.93)
    light = np.rot90(np.asarray(glass, dtype=np.float64), quarter_turns)
    high, wide = light.shape
    angle = random.Random(seed).uniform(0, 6.28)
    x, y = np.linspace(-0.5, 0.5, wide)[None, :], np.linspace(-0.5, 0.5, high)[:, None]
    light = light * (1.0 + uneven * (np.cos(angle) * x + np.sin(angle) * y))
    tones = 255.0 * srgb(np.clip(light, 0.0, 1.0)) + chance.normal(0.0, noise, light.shape)
    tones = np.clip(tones, 0.0, 255.0)
    if deep:
        Image.fromarray(np.rint(tones * 257).astype(np.uint16)).save(path)
        return path
    image = Image.fromarray(np.rint(tones).astype(np.uint8))
    (image.convert("RGB") if colour else image).save(path)
    return path
