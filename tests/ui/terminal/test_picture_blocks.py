"""Pictures as block graphics: tones, proportions, and what is no picture."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image

from ui.terminal.widgets.picture_blocks import TONES, picture_lines


def test_black_is_nothing_and_white_is_full(tmp_path: Path) -> None:
    """Each side of a picture in two halves is of one tone."""
    image = Image.new("L", (80, 80))
    image.paste(255, (40, 0, 80, 80))
    image.save(tmp_path / "halves.png")
    lines = picture_lines(tmp_path / "halves.png", 20, 10)
    assert len(lines) == 10
    assert {line[:8] for line in lines} == {" " * 8}
    assert {line[12:] for line in lines} == {"█" * 8}


@pytest.mark.parametrize("grey", range(0, 256, 15))
def test_a_grey_gives_as_much_light_as_it_is_white(tmp_path: Path, grey: int) -> None:
    """The mean of the tones is that of the picture, within a twentieth."""
    Image.new("RGB", (100, 100), (grey, grey, grey)).save(tmp_path / "grey.png")
    cells = "".join(picture_lines(tmp_path / "grey.png", 40, 20))
    mean = sum(TONES.index(cell) for cell in cells) / len(cells) / (len(TONES) - 1)
    assert mean == pytest.approx(grey / 255, abs=0.05)


@pytest.mark.parametrize("size", [(300, 200), (200, 300), (4000, 3), (3, 4000), (1, 1)])
def test_it_fits_and_keeps_its_proportions(tmp_path: Path, size: tuple[int, int]) -> None:
    """No line is too wide, there are not too many, and a cell is twice as high as wide."""
    Image.new("L", size, 255).save(tmp_path / "white.png")
    lines = picture_lines(tmp_path / "white.png", 34, 16)
    assert 1 <= len(lines) <= 16
    assert 1 <= len(lines[0]) <= 34
    if min(size) > 100:
        assert len(lines[0]) / (2 * len(lines)) == pytest.approx(size[0] / size[1], rel=0.1)


def test_what_is_no_picture_is_told_so(tmp_path: Path) -> None:
    """A text with the name of a picture, and no file at all."""
    (tmp_path / "text.png").write_text("no picture")
    for name in ("text.png", "none.png"):
        with pytest.raises(OSError, match=r"identify|No such file"):
            picture_lines(tmp_path / name, 20, 10)
