"""A strip drawn to scale: patches in their order on the paper, seconds and stops beneath."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich.style import Style
from rich.text import Text
from textual.widgets import Static

from controller.stops import format_stops, format_time
from controller.strips.strip import Patch, Strip, patches_of, stops_fraction

LIGHTEST, DARKEST = 0xE0, 0x48  # of the drawing: an order from light to dark, no promise of tones
LEAST_CELLS = 7  # across, for letters and seconds; narrower patches are listed
PAPER_WHITE_DENSITY = 0.05
TAKEN, EXPECTED = "D {:.2f}", "({:.2f})"


class StripDrawing(Static):
    """Draws a strip in cells; with densities, in the tones that the paper took."""

    def show(
        self,
        strip: Strip | None,
        densities: Mapping[str, float] | None = None,
        *,
        expected: bool = False,
    ) -> None:
        """Show a strip; None empties the drawing. Densities in brackets are only expected."""
        form = EXPECTED if expected else TAKEN
        if strip is None:
            self.update("")
            return
        patches = patches_of(strip)
        ordered = patches if strip.side in ("left", "top") else patches[::-1]
        shades = _shades(patches, densities or {})
        width = max(24, min(self.size.width or 60, 110))
        each = width // len(patches)
        if strip.side in ("top", "bottom") or each < LEAST_CELLS:
            self.update(_listed(ordered, shades, densities or {}, form))
        else:
            self.update(_drawn(ordered, shades, densities or {}, each, form))


def _drawn(
    patches: Sequence[Patch],
    shades: Mapping[str, int],
    densities: Mapping[str, float],
    each: int,
    form: str,
) -> Text:
    text = Text(no_wrap=True)
    for line in range(3):
        for patch in patches:
            label = patch.letter if line == 1 else ""
            text.append(label.center(each), _style(shades[patch.letter]))
        text.append("\n")
    for words in (
        [format_time(patch.dose_s) for patch in patches],
        [format_stops(stops_fraction(patch.stops)) for patch in patches],
        [form.format(densities[p.letter]) if p.letter in densities else "" for p in patches],
    ):
        text.append("".join(word.center(each) for word in words) + "\n")
    return text


def _listed(
    patches: Sequence[Patch], shades: Mapping[str, int], densities: Mapping[str, float], form: str
) -> Text:
    text = Text(no_wrap=True)
    for patch in patches:
        text.append(f"  {patch.letter}  ", _style(shades[patch.letter]))
        stops = format_stops(stops_fraction(patch.stops))
        known = patch.letter in densities
        density = f"  {form.format(densities[patch.letter])}" if known else ""
        text.append(f"  {format_time(patch.dose_s):>8}  {stops:>7}{density}\n")
    return text


def _shades(patches: Sequence[Patch], densities: Mapping[str, float]) -> dict[str, int]:
    """Give how much red each patch has: its own tone where the density is known."""
    shades = {}
    for index, patch in enumerate(patches):
        place = index / max(1, len(patches) - 1)
        shades[patch.letter] = round(LIGHTEST + (DARKEST - LIGHTEST) * place)
        if patch.letter in densities:
            light = 10 ** -max(0.0, densities[patch.letter] - PAPER_WHITE_DENSITY)
            shades[patch.letter] = round(255 * light**0.45)  # as a screen shows light
    return shades


def _style(red: int) -> Style:
    ink = "#000000" if red > 110 else "#ff0000"
    return Style(bgcolor=f"#{red:02x}0000", color=ink, bold=True)
