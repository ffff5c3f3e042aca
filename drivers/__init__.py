"""The outside world, real: relays, pedals, sounder, and the processes that run the unit."""
