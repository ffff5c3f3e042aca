"""What is wrong with my print? From a symptom to its causes and to the test that settles each.

Causes stand in the order in which to look: likeliest and cheapest first. Order and claims are
common practice without a source unless a claim names one. Nothing here is measured: a test
settles it, and the enlarger is not touched before the light of the room is proved.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from controller.errors import BadInput, quoted

PRACTICE = "common practice, no source"
K4 = "Publication K-4, 2006"
MEMORY = "from memory of handbooks"


class Symptom(Enum):
    """What is seen on the print; the value is what is typed."""

    PALE_LINE = "pale line along an edge"
    GREY_WHITES = "grey whites"
    DARK_CORNER = "one dark corner"
    STAINED_CORNERS = "stained corners"
    SELENIUM_STAIN = "stain after selenium"
    UNEVEN = "uneven density"


class Settles(Enum):
    """A test that settles whether a cause is the one; the value is what it is called."""

    FOG = "safelight fog test"
    LEAK = "lens-cap leak test"
    DARK = "strip developed in total darkness"
    EVENNESS = "evenness sheet without a negative"
    ALIGNMENT = "alignment of negative, lens and easel"
    DIRTY_TRAY = "two blank sheets, one through clean trays"
    AGITATION = "two grey sheets, one turned over all the time"
    FIX = "residual silver test, and a blank fixed for twice the time"
    RINSE = "a blank rinsed for twice the time before the toner"


@dataclass(frozen=True, slots=True)
class Trial:
    """How a test is done, and in what it can hurt somebody; ``unit`` runs it with its lights."""

    settles: Settles
    how: str
    verdict: str
    unit: bool
    cautions: tuple[str, ...] = ()
    first: tuple[Settles, ...] = ()  # what must be settled before it is worth its trouble


@dataclass(frozen=True, slots=True)
class Cause:
    """Something that makes a symptom: why, which test settles it, and where the claim is from."""

    name: str
    why: str
    settles: Settles
    cure: str
    source: str = PRACTICE


_DARK = (
    "clear the floor and the way to the sink before the light goes out: in the dark people trip",
    "put trays and acids where hands find them without searching; gloves and goggles on first",
    "the lamp and its housing stay hot for minutes after the light is out",
)
_WET = ("tongs or gloves, not bare hands: developers can make skin sensitive for good",)
_TONER = (
    "selenium toner is poisonous if breathed or swallowed: gloves, and air that moves",
    "no acid into selenium toner: it can give off hydrogen selenide",
)
_SULFIDE = (
    "sodium sulfide gives off hydrogen sulfide with acid, a poison that the nose soon no "
    "longer smells: one drop on a rinsed print, far from acids, with air that moves",
    "goggles and gloves: it is caustic",
)
_COLUMN = (
    "switch the lamp off at its plug and let it cool before a hand goes near its housing",
    "hold the head before its lock is loosened: springs and weights let go at once",
)

TESTS: dict[Settles, Trial] = {
    one.settles: one
    for one in (
        Trial(
            Settles.FOG,
            "flash paper to a light grey in the dark, then give it safelight in steps beside a "
            "reference that stays covered; the same before the flash; develop in total darkness",
            "a step that differs from its reference is fog from the lights of the room",
            True,
            _DARK,
        ),
        Trial(
            Settles.LEAK,
            "lens capped, all other lights out, half of a flashed sheet covered: the lamp burns "
            "for as long as a print has; develop in total darkness",
            "a step at the edge of the cover is light from the enlarger that misses the lens",
            True,
            _DARK,
        ),
        Trial(
            Settles.DARK,
            "one strip straight from the box through the trays in total darkness, and one from "
            "the box into the fixer alone",
            "if the first is greyer than the second, the paper itself is fogged or too old, or the "
            "developer fogs it; the room's light is not to blame",
            True,
            _DARK,
        ),
        Trial(
            Settles.EVENNESS,
            "no negative, lens at its working aperture, a sheet in a mid grey; then the same with "
            "the paper turned round by half",
            "what turns with the paper is in the trays or on the paper; what stays is the light",
            True,
            ("bare light is bright: cap the lens or look away before the lamp is lit",),
            (Settles.FOG,),
        ),
        Trial(
            Settles.ALIGNMENT,
            "measure from negative stage to easel at all four corners, or look at the grain in "
            "each with the focusing aid, the lens wide open",
            "corners that are not sharp together are a matter of alignment; fog and falling-off "
            "of light are not",
            False,
            _COLUMN,
            (Settles.FOG, Settles.LEAK, Settles.EVENNESS),
        ),
        Trial(
            Settles.DIRTY_TRAY,
            "two blank sheets: one through the trays as they are, one through washed trays with "
            "fresh baths and other tongs",
            "if only the first is marked, it is trays, tongs or baths",
            False,
            (*_WET, "acid into water, never water into acid, when baths are mixed anew"),
        ),
        Trial(
            Settles.AGITATION,
            "two sheets of the same even grey: one lies still in the developer, one is rocked and "
            "turned over all the time",
            "if the second is even, it is how the paper is slid in and moved",
            True,
            _WET,
            (Settles.FOG,),
        ),
        Trial(
            Settles.FIX,
            "one drop of dilute sodium sulfide on a white, rinsed border; and a blank fixed "
            "for twice the time in fresh fixer goes through the toner beside a usual one",
            "brown under the drop, or a stain on the usual one only: silver was left in the paper",
            False,
            (*_SULFIDE, *_TONER),
        ),
        Trial(
            Settles.RINSE,
            "two blanks from the same fixer, one rinsed for twice the time, side by side through "
            "the toner",
            "if only the usual one stains, fixer was carried into the toner",
            False,
            _TONER,
        ),
    )
}

COMMANDS: dict[Settles, str] = {
    Settles.FOG: "dryside room test fog --flash 1.1s",
    Settles.LEAK: "dryside room test leak --flash 1.1s --time 30s",
    Settles.DARK: "dryside room test dark",
    Settles.EVENNESS: "dryside room test evenness --flash 2s",
    Settles.ALIGNMENT: "dryside room test alignment",
    Settles.DIRTY_TRAY: "dryside room test tray",
    Settles.AGITATION: "dryside room test agitation --flash 2s",
    Settles.FIX: "dryside room test fix",
    Settles.RINSE: "dryside room test rinse",
}
# What makes a symptom happen on purpose, to see that one's room can do it.
MAKES: dict[Symptom, str] = {
    Symptom.PALE_LINE: "to see the line come, or stay away with a light put out: dryside room test "
    "blades --flash 1.1s --lights NAME,NAME",
}

_SAFELIGHT = Cause(
    "safelight fog",
    "the lights of the room add to the image; a blade or a cover that shades the paper leaves a "
    "paler line, and highlights go grey before white borders do",
    Settles.FOG,
    "put out, dim, move or filter the light that is found guilty, and test again",
    f"{K4}: highlights suffer before fog shows in borders; the blade's shadow is {PRACTICE}",
)
_LEAK = Cause(
    "light that leaks from the enlarger",
    "light from the head's seams or the negative stage reaches walls and paper while it burns",
    Settles.LEAK,
    "mask the seams, and blacken the wall behind",
)
_OLD_PAPER = Cause(
    "paper that is fogged or too old, or a developer too warm or too strong",
    "grains develop that no light has met",
    Settles.DARK,
    "a fresh box; the developer at its temperature and time",
)
_FALL_OFF = Cause(
    "light that is not even over the negative",
    "a lamp off its centre, a condenser or mixing box for another size, or a lens's own fall-off",
    Settles.EVENNESS,
    "centre the lamp, fit what belongs to the size, close the lens by two stops",
)
_ALIGNMENT = Cause(
    "negative, lens and easel not parallel",
    "one side is larger and less sharp; density hardly tells it",
    Settles.ALIGNMENT,
    "set it parallel, lamp cold and off at its plug",
)
_DEVELOPING = Cause(
    "paper slid in slowly or not moved",
    "parts develop longer, or in spent developer",
    Settles.AGITATION,
    "slide it in at one go, and rock the tray all the time",
)
_TONGS = Cause(
    "dirty trays, tongs or fingers",
    "developer, fixer or metal is carried to where the paper is held",
    Settles.DIRTY_TRAY,
    "tongs of its own for each tray, washed trays, fresh stop bath",
)
_SHORT_FIX = Cause(
    "a fix too short or a fixer used up",
    "silver stays in the paper and is toned as well; corners that stick out are fixed least",
    Settles.FIX,
    "fresh fixer, its whole time, the print moved and under all of the time",
    MEMORY,
)
_CARRIED = Cause(
    "fixer carried into the toner",
    "selenium stains a print that still holds acid fixer",
    Settles.RINSE,
    "a longer rinse, or a clearing bath, before the toner",
)

CAUSES: dict[Symptom, tuple[Cause, ...]] = {
    Symptom.PALE_LINE: (_SAFELIGHT, _LEAK, _FALL_OFF, _ALIGNMENT),
    Symptom.GREY_WHITES: (_SAFELIGHT, _LEAK, _OLD_PAPER),
    Symptom.DARK_CORNER: (_SAFELIGHT, _LEAK, _FALL_OFF, _ALIGNMENT),
    Symptom.STAINED_CORNERS: (_TONGS, _SHORT_FIX),
    Symptom.SELENIUM_STAIN: (_SHORT_FIX, _CARRIED, _TONGS),
    Symptom.UNEVEN: (_SAFELIGHT, _DEVELOPING, _LEAK, _FALL_OFF, _ALIGNMENT),
}


def symptom_of(text: str) -> Symptom:
    """Read a symptom: its words, or the beginning of some of them. Raises BadInput."""
    words = text.replace("-", " ").casefold().split()
    found = [
        one
        for one in Symptom
        if words and all(any(w.startswith(t) for w in one.value.split()) for t in words)
    ]
    if len(found) == 1:
        return found[0]
    what = f"{quoted(text)} could be more than one" if found else f"{quoted(text)} is not known"
    raise BadInput(what, "symptom", f"one of {', '.join(one.value for one in found or Symptom)}")


def settling_test(cause: Cause) -> Trial:
    """Give the test that settles a cause."""
    return TESTS[cause.settles]


def next_cause(symptom: Symptom, ruled_out: Iterable[Settles] = ()) -> Cause | None:
    """Give the cause to look at next, after some tests found nothing; None when all are done.

    A test that needs others first is never the next while one of these is open.
    """
    done = set(ruled_out)
    for cause in CAUSES[symptom]:
        if cause.settles in done:
            continue
        missing = [one for one in TESTS[cause.settles].first if one not in done]
        if missing:
            return _cause_of(symptom, missing[0])
        return cause
    return None


def before(wanted: Settles, ruled_out: Iterable[Settles] = ()) -> Trial | None:
    """Give the test that is to be done before another one; None if that may be done now.

    Who would realign the enlarger is sent to the safelights first: they cost a sheet and an
    hour, and an alignment that was right is lost by turning screws.
    """
    done = set(ruled_out)
    for one in TESTS[wanted].first:
        if one not in done:
            return before(one, done) or TESTS[one]
    return None


def lines(symptom: Symptom, ruled_out: Iterable[Settles] = ()) -> tuple[str, ...]:
    """Tell causes and tests of a symptom, those that are left, in the order to look."""
    done = set(ruled_out)
    found = [f"{symptom.value}, likeliest and cheapest first:"]
    left = [one for one in CAUSES[symptom] if one.settles not in done]
    for number, cause in enumerate(left, 1):
        test = TESTS[cause.settles]
        found.append(f"{number}. {cause.name}: {cause.why} ({cause.source})")
        found.append(f"   {test.settles.value}: {test.how}; {test.verdict}")
        found.append(f"   do it: {COMMANDS[cause.settles]}")
        found.append(f"   if so: {cause.cure}")
        found += [f"   caution: {one}" for one in test.cautions]
    if symptom in MAKES and Settles.FOG not in done:
        found.append(MAKES[symptom])
    if not left:
        found.append("every cause that is listed was ruled out: repeat the fog test first")
    return tuple(found)


def tables(symptom: Symptom, ruled_out: Iterable[Settles] = ()) -> dict[str, object]:
    """Give causes and tests of a symptom for a program, in the order to look."""
    done = set(ruled_out)
    return {
        "symptom": symptom.value,
        "causes": [
            {
                "cause": cause.name,
                "why": cause.why,
                "source": cause.source,
                "test": cause.settles.value,
                "command": COMMANDS[cause.settles],
                "verdict": TESTS[cause.settles].verdict,
                "cure": cause.cure,
                "cautions": list(TESTS[cause.settles].cautions),
                "ruled_out": cause.settles in done,
            }
            for cause in CAUSES[symptom]
        ],
        "makes": MAKES.get(symptom),
    }


def _cause_of(symptom: Symptom, settles: Settles) -> Cause:
    every = (*CAUSES[symptom], *(one for some in CAUSES.values() for one in some))
    return next(one for one in every if one.settles is settles)
