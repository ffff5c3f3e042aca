"""The red terminal.

``red`` is the one place on the way out where every cell becomes red, ``console`` the terminal's
own palette, ``curtain`` and ``backlight`` put the screen dark while paper is open.
"""
