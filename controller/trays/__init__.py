"""A sheet after the light: the clock of its baths; batches cleared, toned, washed."""
