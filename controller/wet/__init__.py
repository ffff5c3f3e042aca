"""The trays' clock: sheets on their way through baths, several at once."""
