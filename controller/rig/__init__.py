"""The rig: what is wired to what.

``model`` holds what rig.toml may say, ``rules`` what no single field of it can, ``file`` reads
one and explains its faults, ``settings`` overrides it for one run, ``keep`` writes measured
numbers back, and ``lights`` tells which lights a plan switches. ``shipped/`` are the rigs that
come with the program.
"""
