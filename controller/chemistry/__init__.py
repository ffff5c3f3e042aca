"""Chemistry: mixing it, and knowing how fresh it is."""
