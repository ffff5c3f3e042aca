"""The rooms of the terminal."""
