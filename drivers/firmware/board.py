"""What is wired to the pins of one unit: the only file to edit before it is flashed.

The pins here suit a Raspberry Pi Pico with a board of four relays whose inputs are active high.
"""

# One word, without spaces, by which the host knows this unit from another.
BOARD_ID = "bench"

# For each output: the pin, the level at which the relay's coil is *not* energised, and the
# longest time in seconds that it may be energised whatever a host asks (None: no such limit).
# Whatever switches an enlarger lamp gets a limit.
OUTPUTS = (
    (2, 0, 600),
    (3, 0, None),
    (4, 0, None),
    (5, 0, None),
)

# Connected to ground while the unit starts, the firmware does not run, so that files can be
# changed: without it the port takes relay commands only, and control-C is a byte like any other.
SERVICE_PIN = 22

# A firmware that hangs for so long is restarted by the chip, with every output safe.
WATCHDOG_MS = 1000
