"""Scans of a strip beside a step tablet, by imagined scanners with all their faults."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from controller.errors import BadInput
from controller.pictures.wedge import WedgeScan, read_wedge
from tests.whole.imagined_wedge import TABLET, Scanner, any_scanner, any_strip, scan_wedge

LONG = bool(os.environ.get("DRYSIDE_LONG"))
STRIP = any_strip(3)
RATIO = 203 / 25


def read(path: Path, densities: list[float] = STRIP, **more: bool) -> WedgeScan:
    """Read a scan of a strip of our usual size."""
    count = len(densities)
    return read_wedge(path, patches=count, tablet=TABLET, strip_ratio=RATIO, **more)


@pytest.mark.parametrize("seed", range(200 if LONG else 6))
def test_a_scan_is_read_within_three_hundredths(tmp_path: Path, seed: int):
    """Up to density 2.0 no patch is read wrong by more than 0.03, whatever the scanner's faults.

    In a JPEG a dark tone is one of few: from there on a patch is a bound, and a warning says so.
    """
    scanner = any_scanner(seed)
    densities = any_strip(seed, (11, 17, 21)[seed % 3])
    path = scan_wedge(densities, tmp_path / "scan.png", scanner, reverse=bool(seed % 2))
    scan = read(path, densities, tablet_first=scanner.quarter_turns in (0, 1))
    assert bool(scanner.jpeg) == any("JPEG" in warning for warning in scan.warnings)
    for patch, density in zip(scan.patches, densities, strict=True):
        if density > 2.0:
            continue
        if scanner.jpeg and patch.beyond > 0:
            assert 1.4 < patch.density < density + 0.03
            continue
        assert patch.density == pytest.approx(density, abs=0.03)
        assert patch.beyond == 0 or density < TABLET[0] + 0.02


def test_uneven_light_is_evened_out_and_told(tmp_path: Path):
    """Light that falls off by a tenth to the corners is told, and costs no accuracy."""
    scan = read(scan_wedge(STRIP, tmp_path / "scan.png", Scanner(falls_off=0.12)))
    assert any("falls off" in warning for warning in scan.warnings)
    assert [p.density for p in scan.patches] == pytest.approx(STRIP, abs=0.03)


def test_a_strip_askew_is_told(tmp_path: Path):
    """A strip five degrees askew is laid straight, and said to lie so."""
    scan = read(scan_wedge(STRIP, tmp_path / "scan.png", Scanner(tilt_deg=5.0)))
    assert abs(scan.tilt_deg) == pytest.approx(5.0, abs=0.3)
    assert any("askew" in warning for warning in scan.warnings)


def test_what_is_darker_than_the_tablet_is_a_bound(tmp_path: Path):
    """A patch beyond the tablet's last step is no figure of its own, and that is told."""
    path = scan_wedge(STRIP, tmp_path / "scan.png", Scanner(), tablet=TABLET[:15])
    scan = read_wedge(path, patches=len(STRIP), tablet=TABLET[:15], strip_ratio=RATIO)
    last = scan.patches[-1]
    assert (last.beyond, last.density) == (1, pytest.approx(TABLET[14]))
    assert any("bounds" in warning for warning in scan.warnings)


def test_a_clipped_lid_is_told(tmp_path: Path):
    """Where the lid is full white it says nothing of the light, and that is told."""
    path = scan_wedge(STRIP, tmp_path / "scan.png", Scanner(flare=0.06, lid=0.97))
    assert any("full white" in warning for warning in read(path).warnings)


@pytest.mark.parametrize(
    ("scanner", "gap_mm", "told"),
    [
        (Scanner(lid=0.30), 10.0, "hides patches"),
        (Scanner(lid=0.01), 10.0, "hides patches"),
        (Scanner(), 0.0, "touch"),
        (Scanner(tilt_deg=20.0), 10.0, "askew"),
    ],
)
def test_a_scan_that_cannot_be_read_is_refused(
    tmp_path: Path, scanner: Scanner, gap_mm: float, told: str
):
    """A ground that is not white, wedges that touch, or that lie far askew: each is told."""
    path = scan_wedge(STRIP, tmp_path / "scan.png", scanner, gap_mm=gap_mm)
    with pytest.raises(BadInput, match=told):
        read(path)


def test_a_wrong_number_of_patches_is_refused(tmp_path: Path):
    """A strip of 17 patches is not read as one of 14."""
    path = scan_wedge(STRIP, tmp_path / "scan.png", Scanner())
    with pytest.raises(BadInput, match="no 14 equal patches"):
        read_wedge(path, patches=14, tablet=TABLET, strip_ratio=RATIO)


def test_a_tablet_out_of_order_is_refused(tmp_path: Path):
    """Densities that do not rise name the step that is wrong."""
    path = scan_wedge(STRIP, tmp_path / "scan.png", Scanner())
    with pytest.raises(BadInput, match="step 3"):
        read_wedge(path, patches=17, tablet=[0.05, 0.2, 0.15, 0.3, 0.45, 0.6])
