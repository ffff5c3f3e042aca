"""The outside of the wires: what a test does to, and sees on, the lab's GPIO lines.

Use it inside run-in-lab (PYTHONPATH=$GPIOLAB_TOOLS, or a copy of this file).
Standard library only.

    from gpiolab import Lab
    lab = Lab()
    lab.drive(27, 0)              # press a button that pulls line 27 low
    lab.drive(27, None)           # let go
    lab.value(17), lab.direction(17)
    lab.wave(27, [(0, 100), (1, 150), (0, 0)])   # (level, microseconds)
    lab.clear_log(); ...; lab.log()              # [(monotonic_ns, line, level, "out"), ...]
    lab.release_holds(False)      # from now on a released output becomes an input
"""

import os
from pathlib import Path

DEBUG = "/sys/kernel/debug/gpiolab"
LEVEL = {0: "0", 1: "1", None: "z"}  # False and True are 0 and 1


class Lab:
    def __init__(self):
        self.sim = None
        if not Path(DEBUG).is_dir():
            found = sorted(Path("/sys/devices/platform").glob("gpio-sim.*/gpiochip*"))
            if not found:
                raise RuntimeError("no simulated GPIO chip here: use run-in-lab")
            self.sim = str(found[0])

    def _read(self, path):
        return Path(path).read_text().strip()

    def _write(self, path, text):
        fd = os.open(path, os.O_WRONLY)
        try:
            os.write(fd, text.encode())
        finally:
            os.close(fd)

    def value(self, line):
        if self.sim:
            return int(self._read(f"{self.sim}/sim_gpio{line}/value"))
        return int(self._read(f"{DEBUG}/lines/{line}/value"))

    def direction(self, line):
        """Give "in" or "out"; None with gpio-sim, which does not tell."""
        return None if self.sim else self._read(f"{DEBUG}/lines/{line}/direction")

    def drive(self, line, level):
        """What the outside does to the wire: 0, 1 or None (nothing)."""
        if self.sim:
            self._write(f"{self.sim}/sim_gpio{line}/pull", "pull-up" if level else "pull-down")
        else:
            self._write(f"{DEBUG}/lines/{line}/drive", LEVEL[level])

    # The rest is there with the lab's own chip only, not with gpio-sim.

    def wave(self, line, steps):
        """Drive a sequence of (level, microseconds). Waits stretch: log() has the real times."""
        words = " ".join(f"{LEVEL[level]} {int(us)}" for level, us in steps)
        self._write(f"{DEBUG}/wave", f"{line} {words}")

    def log(self, line=None):
        """Every change of level or direction: (monotonic_ns, line, level, "in"/"out")."""
        rows = []
        for row in self._read(f"{DEBUG}/log").splitlines():
            ns, n, level, way = row.split()
            if line is None or int(n) == line:
                rows.append((int(ns), int(n), int(level), way))
        return rows

    def clear_log(self):
        self._write(f"{DEBUG}/log", "0")

    def release_holds(self, hold):
        self._write("/sys/module/gpiolab/parameters/persist", "Y" if hold else "N")
