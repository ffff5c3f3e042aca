"""Pulses as a plain script makes them: gpiozero, ``time.sleep``, nothing asked of the system.

Run by the benchmark: ``python -P -m ui.measure.plain_script --fd N [--pin GPIO]``.
"""

from __future__ import annotations

import argparse
import select
import time
from collections.abc import Sequence

from ui.measure.bursts import Times, benchmark_wire, output


def main(arguments: Sequence[str] | None = None) -> None:
    """Answer each burst with the times that it really took, until the benchmark is done."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--fd", type=int, required=True)
    parser.add_argument("--pin", type=int)
    args = parser.parse_args(arguments)
    wire = benchmark_wire(args.fd)
    lamp = output(args.pin)
    while True:
        select.select([wire], (), ())
        received = wire.receive_all()
        for burst in received.messages:
            times_ns = []
            for _ in range(burst.count):
                time.sleep(burst.gap_ns / 1e9)
                lamp.on()
                on_ns = time.monotonic_ns()
                time.sleep(burst.on_ns / 1e9)
                lamp.off()
                times_ns.append(time.monotonic_ns() - on_ns)
            wire.send(Times(times_ns))
        if received.closed:
            lamp.close()
            return


if __name__ == "__main__":
    main()
