"""Our own pictures tell where their paper lies, and nobody else's are cut."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image
from PIL.PngImagePlugin import PngInfo

from controller.pictures.page import Caption
from controller.pictures.paper_area import KEY, only_paper
from controller.pictures.prints import print_picture


def drawn(path: Path) -> Path:
    """Draw a print of 60 x 40 mm that is black all over."""
    print_picture(np.full((40, 60), 2.0), path, mm_per_cell=1.0, caption=Caption("Quay", "K9"))
    return path


def test_the_paper_is_taken_out_of_its_mount(tmp_path: Path) -> None:
    """What is left has the sheet's proportion and nothing of the card around it."""
    with Image.open(drawn(tmp_path / "print.png")) as opened:
        paper = only_paper(opened)
    assert abs(paper.width / paper.height - 1.5) < 0.01
    assert paper.convert("L").point(lambda tone: 255 * (tone > 40)).getbbox() is None


def test_a_smaller_copy_still_fits(tmp_path: Path) -> None:
    """A copy that was made smaller, its text kept, gives the paper as well."""
    with Image.open(drawn(tmp_path / "print.png")) as opened:
        info = PngInfo()
        info.add_text(KEY, opened.info[KEY])
        opened.reduce(3).save(tmp_path / "small.png", pnginfo=info)
    with Image.open(tmp_path / "small.png") as small:
        paper = only_paper(small)
    assert abs(paper.width / paper.height - 1.5) < 0.02


def test_other_pictures_stay_whole(tmp_path: Path) -> None:
    """A scan, a picture that was cut since, and a text of somebody else change nothing."""
    for text in ("", "1 2 3", "0 0 9 9 90 90", "5 5 1 1 30 20", "nan 0 9 9 30 20"):
        info = PngInfo()
        info.add_text(KEY, text)
        Image.new("L", (30, 20), 9).save(tmp_path / "scan.png", pnginfo=info)
        with Image.open(tmp_path / "scan.png") as opened:
            assert only_paper(opened).size == (30, 20)
