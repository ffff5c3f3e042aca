"""What to do with light and why. No hardware, no screen, no clock of its own."""
