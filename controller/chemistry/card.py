"""A mixing card: how much of each, in which order, and what to beware of."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from controller.chemistry.amounts import litres, ml, plain
from controller.chemistry.cautions import Kind, cautions
from controller.chemistry.dilution import Dilution, Enough, Mix, batches, enough, mix

SMALL_ML = 5  # below, a graduate of the usual size no longer reads well (common practice)
FIRST_WATER = Fraction(3, 4)  # of the water before the concentrate: common practice, no source


@dataclass(frozen=True, slots=True)
class Card:
    """All that stands on a card; ``batch`` is the whole where it fits into the vessel."""

    title: str
    kind: Kind | None
    mixed: Mix
    count: int
    batch: Mix
    bottles: Enough | None
    why: str = ""  # where the volume comes from, such as a tray
    own: tuple[str, ...] = ()  # cautions of the product itself

    @property
    def reading(self) -> str:
        """Say how the dilution was understood."""
        return self.mixed.dilution.reading

    @property
    def cautions(self) -> tuple[str, ...]:
        """Give what to beware of."""
        return (*self.own, *cautions(self.kind))


def card(
    dilution: Dilution,
    volume_ml: Fraction,
    *,
    title: str = "",
    kind: Kind | None = None,
    vessel_ml: Fraction | None = None,
    left_ml: tuple[Fraction, ...] = (),
    why: str = "",
    own: tuple[str, ...] = (),
) -> Card:
    """Make a card for a volume; in equal batches where the ``vessel_ml`` is smaller.

    ``left_ml`` is what is left in the bottles of concentrate, if that was looked at.
    """
    mixed = mix(dilution, volume_ml)
    count, batch = batches(mixed, vessel_ml or volume_ml)
    bottles = enough(dilution, volume_ml, left_ml) if left_ml else None
    called = title or (kind.words if kind else "")
    return Card(called, kind, mixed, count, batch, bottles, why, own)


def steps(made: Card) -> list[str]:
    """Say in order what is poured, for one batch."""
    batch, names = made.batch, made.mixed.dilution.names
    measures = list(zip(names, batch.concentrates_ml, strict=True))
    if not batch.water_ml:
        return [f"Pour {ml(amount)} of {name}." for name, amount in measures]
    first = batch.water_ml * FIRST_WATER
    first = Fraction(round(first, -1)) if first >= 100 else first
    lines = [f"Water first: about {ml(first)} of the {ml(batch.water_ml)}."]
    lines += [f"Add {ml(amount)} of {name}, stirring." for name, amount in measures]
    lines.append(f"The rest of the water, up to {ml(batch.volume_ml)} in all; stir.")
    if made.count > 1:
        lines.append(f"Do this {made.count} times, for {litres(made.mixed.volume_ml)}.")
    return lines


def notes(made: Card) -> list[str]:
    """Say what is short, and what is too little to measure well."""
    names = made.mixed.dilution.names
    said = []
    if found := made.bottles:
        for name, short in zip(names, found.short_ml, strict=True):
            if short:
                said.append(f"{ml(short)} of {name} is short: what is left makes "
                            f"{litres(found.can_make_ml)}.")  # fmt: skip
        if found.enough:
            said.append(f"What is left is enough; it would make {litres(found.can_make_ml)}.")
    for name, amount in zip(names, made.batch.concentrates_ml, strict=True):
        if made.batch.water_ml and amount < SMALL_ML:
            said.append(
                f"{ml(amount)} of {name} is little to measure: take a syringe, or make more."
            )
    return said


def card_lines(made: Card) -> list[str]:
    """Write the card for a person."""
    head = f"{made.title}, " if made.title else ""
    why = f" ({made.why})" if made.why else ""
    lines = [f"{head}{litres(made.mixed.volume_ml)}{why}", f"  {made.reading}", ""]
    lines += [f"  {number}. {step}" for number, step in enumerate(steps(made), start=1)]
    if said := notes(made):
        lines += ["", *(f"  {each}" for each in said)]
    return [*lines, "", *(f"  ! {each}" for each in made.cautions)]


def card_json(made: Card) -> dict[str, object]:
    """Give the card for a program; amounts in ml."""
    mixed, found = made.mixed, made.bottles
    names = mixed.dilution.names

    def by_name(amounts: tuple[Fraction, ...]) -> dict[str, int | float]:
        return {name: plain(amount) for name, amount in zip(names, amounts, strict=True)}

    return {
        "title": made.title,
        "kind": made.kind.value if made.kind else None,
        "dilution": mixed.dilution.parts,
        "reading": made.reading,
        "volume_ml": plain(mixed.volume_ml),
        "volume_from": made.why or None,
        "concentrate_ml": plain(mixed.concentrate_ml),
        "water_ml": plain(mixed.water_ml),
        "concentrates_ml": by_name(mixed.concentrates_ml),
        "batches": made.count,
        "batch": {
            "volume_ml": plain(made.batch.volume_ml),
            "water_ml": plain(made.batch.water_ml),
            "concentrates_ml": by_name(made.batch.concentrates_ml),
        },
        "bottles": {
            "enough": found.enough,
            "can_make_ml": plain(found.can_make_ml),
            "short_ml": by_name(found.short_ml),
        }
        if found
        else None,
        "steps": steps(made),
        "notes": notes(made),
        "cautions": list(made.cautions),
    }
