"""Boxes of paper: their calibration sheets, what was read of these, and what follows from it."""
