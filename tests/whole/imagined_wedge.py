"""A scan of a strip beside a step tablet, by a scanner of our own making, with all its faults."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image

TABLET = tuple(round(0.05 + 0.10 * step, 2) for step in range(23))  # 0.05 to 2.25


@dataclass(frozen=True)
class Scanner:
    """How a scanner is; ``gamma`` in place of sRGB's curve, ``falls_off`` to the corners."""

    seed: int = 1
    tilt_deg: float = 0.0
    quarter_turns: int = 0
    gamma: float = 2.2
    noise: float = 1.0
    specks: int = 0
    falls_off: float = 0.0
    flare: float = 0.002
    lid: float = 0.93
    jpeg: int = 0
    px_per_mm: float = 5.0


def scan_wedge(
    densities: Sequence[float],
    path: Path,
    scanner: Scanner,
    *,
    tablet: Sequence[float] = TABLET,
    strip_mm: tuple[float, float] = (203.0, 25.0),
    tablet_mm: tuple[float, float] = (184.0, 18.0),
    gap_mm: float = 10.0,
    reverse: bool = False,
) -> Path:
    """Scan a strip with the tablet above it; ``reverse``: the strip lies dark end first."""
    chance = np.random.default_rng(scanner.seed)
    px = scanner.px_per_mm
    wide, high = 225.0, 2 * 12.0 + tablet_mm[1] + gap_mm + strip_mm[1]
    glass = np.full((round(high * px), round(wide * px)), scanner.lid)

    def lay(values: Sequence[float], size: tuple[float, float], left: float, top: float) -> None:
        rows = slice(round(top * px), round((top + size[1]) * px))
        each = size[0] / len(values)
        for index, density in enumerate(values):
            columns = slice(
                round((left + index * each) * px), round((left + (index + 1) * each) * px)
            )
            glass[rows, columns] = 10.0**-density

    lay(tablet, tablet_mm, 12.0, 12.0)
    lay(densities[::-1] if reverse else densities, strip_mm, 10.0, 12.0 + tablet_mm[1] + gap_mm)
    image = Image.fromarray(glass.astype(np.float32))
    if scanner.tilt_deg:
        image = image.rotate(
            scanner.tilt_deg, Image.Resampling.BILINEAR, expand=True, fillcolor=scanner.lid
        )
    light = np.rot90(np.asarray(image, dtype=np.float64), scanner.quarter_turns).copy()
    for _ in range(scanner.specks):
        y, x = (int(chance.integers(0, size - 8)) for size in light.shape)
        size = int(chance.integers(2, 7))
        light[y : y + size, x : x + size] = chance.choice([0.02, 0.9])
    y, x = np.meshgrid(*(np.linspace(-1, 1, size) for size in light.shape), indexing="ij")
    side = chance.uniform(-0.3, 0.3, 2)
    light *= 1.0 - scanner.falls_off * ((x - side[0]) ** 2 + (y - side[1]) ** 2) / 2.0
    light = light + scanner.flare
    tones = 255.0 * np.clip(light, 0.0, 1.0) ** (1.0 / scanner.gamma)
    tones = np.clip(np.rint(tones + chance.normal(0.0, scanner.noise, tones.shape)), 0, 255)
    picture = Image.fromarray(tones.astype(np.uint8))
    if scanner.jpeg:
        path = path.with_suffix(".jpg")
        picture.save(path, quality=scanner.jpeg)
    else:
        picture.save(path)
    return path


def any_scanner(seed: int) -> Scanner:
    """Give a scanner by chance, with every fault at once."""
    chance = np.random.default_rng(seed)
    return Scanner(
        seed=seed,
        tilt_deg=float(chance.uniform(-4, 4)),
        quarter_turns=int(chance.integers(0, 4)),
        gamma=float(chance.uniform(1.8, 2.6)),
        noise=float(chance.uniform(0.5, 2.5)),
        specks=int(chance.integers(0, 60)),
        falls_off=float(chance.uniform(0.0, 0.12)),
        flare=float(chance.uniform(0.0, 0.004)),
        lid=float(chance.uniform(0.92, 0.96)),
        jpeg=int(chance.choice([0, 85, 92])),
    )


def any_strip(seed: int, patches: int = 17) -> list[float]:
    """Give the densities of a wedge of some paper, 0.05 to 2.0."""
    chance = np.random.default_rng(seed + 1000)
    at = np.linspace(-1.0, 1.0, patches)
    steep = float(chance.uniform(2.5, 8.0))
    middle = float(chance.uniform(-0.2, 0.3))
    curve = 1.0 / (1.0 + np.exp(-steep * (at - middle)))
    low, high = float(chance.uniform(0.05, 0.10)), float(chance.uniform(1.7, 2.1))
    return [float(low + (high - low) * value) for value in curve]
