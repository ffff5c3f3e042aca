"""The wiring of the unit in tests: a lamp with a limit, a light, and one that is active low."""

BOARD_ID = "test-bench"
OUTPUTS = ((2, 0, 600), (3, 0, None), (4, 1, None))
SERVICE_PIN = 22
WATCHDOG_MS = 1000
