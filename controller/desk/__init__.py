"""What lies ready, what a foot or a key may ask for, and the evening around it."""
