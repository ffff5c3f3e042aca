"""The curtain: the screen is black while paper can see it.

Two strokes. From the first on nothing lit is sent (the filter's brightness is zero, and no frame
is drawn); the second is one "erase with black", far shorter than a frame of black cells. It is
confirmed when it has left the program, the line has drained and a terminal that answers has
answered; and, where a panel is switched, when that is dark.
"""

from __future__ import annotations

import asyncio
from typing import Any

from ui.terminal.backlight import PanelFault
from ui.terminal.red import RedApp

DEADLINE_S = 0.150


async def lower(app: RedApp[Any], *, deadline_s: float = DEADLINE_S) -> bool:
    """Put the screen dark; say whether that is confirmed within ``deadline_s`` seconds.

    Unconfirmed, it still stays down, as dark as it could be made, until ``lift``; why is in
    ``app.curtain_trouble``, and the lamp must not be lit.
    """
    app.darken()
    black, trouble = await asyncio.gather(
        app.wipe(deadline_s=deadline_s), _panel_off(app, deadline_s)
    )
    if not black:
        limit = f"within {deadline_s * 1000:.0f} ms"
        trouble = trouble or f"the terminal did not confirm {limit} that it is black"
    app.curtain_trouble = trouble
    return not trouble


async def lift(app: RedApp[Any]) -> None:
    """Bring the picture back, with the notices that came meanwhile."""
    app.curtain_trouble = ""
    if app.panel is not None:
        try:
            await asyncio.to_thread(app.panel.restore)
        except PanelFault as fault:
            app.curtain_trouble = str(fault)
    app.show_again()


async def _panel_off(app: RedApp[Any], deadline_s: float) -> str:
    """Switch the panel off in a thread: a panel on a slow bus is not to hold up the app."""
    if app.panel is None:
        return ""
    try:
        async with asyncio.timeout(deadline_s):
            await asyncio.to_thread(app.panel.off)
    except PanelFault as fault:
        return str(fault)
    except TimeoutError:
        return f"the panel was not dark within {deadline_s * 1000:.0f} ms"
    return ""
