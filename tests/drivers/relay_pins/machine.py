"""What a microcontroller's ``machine`` is to the firmware, for tests: pins that are noted.

Runs under MicroPython. Every level that a pin takes is a line ``us pin level`` of the file that
``RELAY_PINS`` names.
"""

import os
import sys
import time

_LOG = open(os.getenv("RELAY_PINS"), "a")  # noqa: SIM115 - for as long as the unit has power


class Pin:
    IN, OUT, PULL_UP = 0, 1, 2

    def __init__(self, number, mode, pull=None, value=None):
        self._number = number
        self._level = 1 if mode == self.IN else None
        if value is not None:
            self.value(value)

    def value(self, level=None):
        if level is None:
            return self._level
        if level != self._level:
            self._level = level
            _LOG.write("%d %d %d\n" % (time.ticks_us(), self._number, level))
            _LOG.flush()
        return None


class WDT:
    def __init__(self, timeout):
        pass

    def feed(self):
        pass


def reset():
    sys.exit(1)
