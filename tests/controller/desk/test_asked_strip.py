"""A strip in a form: what the form has no field for stays as it was."""

from __future__ import annotations

from dataclasses import replace

from controller.desk.asked import strip_asked, typed
from controller.rig.file import load_rig
from controller.strips.strip import Beneath, Purpose, Strip

RIG = load_rig("tungsten")
BURN = Strip(
    base_s=12,
    filter="00",
    beneath=(Beneath(label="flash", dose_s=2, bare=True), Beneath(filter="5", dose_s=6)),
    purpose=Purpose(kind="burn", region="sky", within="soft"),
    place="sky",
)


def test_what_a_strip_is_for_survives_a_change_of_its_step() -> None:
    """Purpose, bare light and labels are more than can be typed, and are kept."""
    asked = replace(typed(BURN), step="1/2")
    strip = strip_asked(asked, RIG, BURN)
    assert (strip.purpose, strip.beneath) == (BURN.purpose, BURN.beneath)
    assert str(strip.step) == "1/2"


def test_what_is_typed_anew_beneath_begins_anew() -> None:
    """With other exposures beneath, the strip is no longer what it was made for."""
    strip = strip_asked(replace(typed(BURN), over=("5=7s",)), RIG, BURN)
    assert strip.purpose is None
    assert strip.beneath == (Beneath(filter="5", dose_s=7),)
