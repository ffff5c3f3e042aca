"""A score for tests of what is drawn: a harbour with many regions, burns, dodges, dry-down."""

from __future__ import annotations

from controller.score.file import score_of

SCENE = score_of(
    """
title = "Harbour, low tide"
negative = "T-7, frame 3"
base_s = 16.0
sketch = [
    "SSSSSSSSSSSSSSSS",
    "SSSCCCCSSSSS..SS",
    "SSCCCCCCSSSSTTSS",
    "SSSSSSSSSSSSTTSS",
    "SFFFFFFSSSSSTTSS",
    "SFFFFFFSSSSSTTSS",
    ".HHHHHHSSSS.RRR.",
    "WHDDHNHW.WRRRRRR",
    "WHDDHHHW.WWW.WW.",
    "QHDDHHHQQQQQWWWW",
    "QQQQQQQQQQQQQ..W",
    "QQQQQQQQQQQQQQQQ",
]

[paper]
name = "variable contrast, pearl"
batch = "demo"
base = "fibre"
dry_down = "8%"

[setup]
lens = "80 mm"
aperture = "8"
magnification = 3.63
column = "47.5"

[regions]
S = "sky"
C = "cloud"
T = "tower"
R = "rock"
W = "water"
Q = "quay"
H = "house"
F = "roof"
D = "door"
N = "window"

[[passes]]
label = "soft"
filter = "00"
dose = "+0"

[[passes]]
label = "hard"
filter = "5"
dose = "-1/2"

[[burns]]
regions = ["sky", "cloud"]
amount = "+2/3"
over = "soft"

[[burns]]
regions = ["cloud"]
amount = "+1/3"
over = "soft"

[[burns]]
regions = ["quay"]
amount = "3s"
over = "hard"

[[dodges]]
regions = ["door"]
amount = "+1/2"
within = "hard"

[[dodges]]
regions = ["rock"]
amount = "2s"
within = "hard"
""",
    "scene",
)
