"""What the printer sees and types. No arithmetic, no rules."""
