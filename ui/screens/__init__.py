"""The red terminal's screens."""
