"""Sensitometry of the paper itself: its curve, ISO speed and range, soft and hard light.

Needs numpy and scipy: only commands that measure paper load it, never the engine.
"""
