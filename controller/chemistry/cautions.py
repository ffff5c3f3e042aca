"""What to beware of, by the kind of bath. Advice: the maker's safety data sheet leads.

Sources of the facts (none is law for a place): acid into water, goggles, gloves and apron, rinsing
of eyes, skin sensitisers, sulfur dioxide from fixer and acid: safety pages of university darkrooms,
seen. Selenium never acidified, bleach and fixer apart: from memory and common practice.
"""

from __future__ import annotations

from enum import Enum


class Kind(Enum):
    """What a product or a bath is for."""

    DEVELOPER = "developer"
    STOP = "stop"
    FIXER = "fixer"
    CLEARING = "clearing"
    SELENIUM = "selenium"
    TONER = "toner"
    BLEACH = "bleach"
    OTHER = "other"

    @property
    def words(self) -> str:
        """Give what it is called."""
        return _WORDS.get(self, self.value)


_WORDS = {
    Kind.STOP: "stop bath",
    Kind.CLEARING: "clearing bath",
    Kind.SELENIUM: "selenium toner",
    Kind.OTHER: "bath",
}

ALWAYS = (
    "Gloves, goggles, apron, and fresh air that moves; tongs in the trays.",
    "Concentrate into water, and acid always into water, never water into acid.",
)
LAST = (
    "In the eyes: rinse for a quarter of an hour, and get medical help.",
    "The maker's safety data sheet leads, and local rules with it.",
)
_OF_KIND = {
    Kind.DEVELOPER: ("Developers make skin sensitive in time; raise no dust of powders.",),
    Kind.STOP: (
        "Strong acetic acid burns and its fumes choke: pour it low, slowly, in fresh air.",
    ),
    Kind.FIXER: (
        "Fixer with acid gives off sulfur dioxide: keep the air moving.",
        "Fixer and bleach never meet, in a tray, a sink or a can.",
        "Used fixer holds silver: give it where local rules want it, never into a septic tank.",
    ),
    Kind.CLEARING: ("A clearing bath is never mixed with acid or bleach.",),
    Kind.SELENIUM: (
        "Selenium toner is toxic, swallowed or breathed in: gloves always, no skin in the tray.",
        "Selenium toner is never made acid, and no acid bath goes into it.",
        "Used selenium toner is handed in by local rules, not poured away.",
    ),
    Kind.TONER: ("Toners differ much in what they give off: read the sheet before you open one.",),
    Kind.BLEACH: (
        "Bleach and fixer never meet, in a tray, a sink or a can; nor bleach and ammonia.",
        "No strong acid into bleach: it can free a poisonous gas.",
    ),
    Kind.OTHER: (),
}


def cautions(kind: Kind | None) -> tuple[str, ...]:
    """Give what to say beside a card for a kind of bath; of all that bite where it is not known."""
    if kind is not None:
        return (*ALWAYS, *_OF_KIND[kind], *LAST)
    return (
        *ALWAYS,
        "Selenium toner is never made acid. Bleach and fixer never meet.",
        "Used fixer holds silver: give it where local rules want it, never into a septic tank.",
        *LAST,
    )
