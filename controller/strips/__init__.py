"""Strips and crosses: wanted, planned, cut."""
