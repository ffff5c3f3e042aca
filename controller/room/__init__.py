"""The Room: lights that paper can see, tests that prove them, and the fog that is counted."""
