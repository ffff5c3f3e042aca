"""Strips and crosses: wanted, planned, cut, told and picked from."""
