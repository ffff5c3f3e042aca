"""What the terminal's bell rings for, where a rig has no other sounder.

A bell knows no rhythm worth the name: a press or a tick would be heard as something that waits.
"""

from __future__ import annotations

from controller.ports import Sound

RUNG = frozenset({Sound.GO, Sound.END, Sound.ATTENTION, Sound.FAULT, Sound.NOT_TAKEN})
