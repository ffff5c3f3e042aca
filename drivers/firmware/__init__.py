"""Firmware of units that people build: it runs on microcontrollers, under MicroPython.

Only ``core.py`` is imported here too, by tests. See README.md in this folder.
"""
