"""Step tablets: their densities, as a calibrated list or as the nominal steps of a kind."""

from __future__ import annotations

from controller.errors import BadInput, quoted

# Nominal steps (trade-facts section 4, partly from memory): first density, step, how many. Real
# tablets differ from them by a tenth of a stop and, at the dense end, by up to a third.
NOMINAL = {
    "21": (0.05, 0.15, 21),
    "31": (0.05, 0.10, 31),
    "41": (0.05, 0.05, 41),
}
NOMINAL_WARNING = (
    "nominal tablet: a real one is off by a tenth of a stop, at its dense end by up to a third; "
    "type its own densities where you have them"
)
LEAST_STEP = 0.01
MOST_DENSITY = 5.0
RIGHT = "21, 31 or 41 for nominal steps of 0.15, 0.10 or 0.05, or its densities: 0.05,0.21,0.35"


def tablet_asked(text: str, where: str = "--tablet") -> tuple[tuple[float, ...], bool]:
    """Read a tablet: its densities from the thin end up, and whether they are only nominal.

    Raises BadInput.
    """
    wanted = text.strip()
    if wanted in NOMINAL:
        first, step, count = NOMINAL[wanted]
        return tuple(round(first + step * index, 2) for index in range(count)), True
    densities = numbers_asked(wanted, where, RIGHT)
    for index, value in enumerate(densities):
        if not -0.05 <= value <= MOST_DENSITY:
            raise BadInput(f"{value:g} is no density", where, RIGHT)
        if index and value < densities[index - 1] + LEAST_STEP:
            what = f"step {index + 1} ({value:g}) is no denser than the one before it"
            raise BadInput(what, where, "densities from the thin end up")
    if len(densities) < 3:
        raise BadInput(f"{quoted(text)} is no tablet", where, RIGHT)
    return densities, False


def numbers_asked(text: str, where: str, right: str) -> tuple[float, ...]:
    """Read numbers with commas or spaces between. Raises BadInput that names the first fault."""
    found = []
    for part in text.replace(",", " ").split():
        try:
            found.append(float(part))
        except ValueError:
            raise BadInput(f"{quoted(part)} is no number", where, right) from None
    return tuple(found)
