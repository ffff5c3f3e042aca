"""The command line of sensors and counters, within ``rig`` and ``lag``."""

from __future__ import annotations

from typing import Annotated

import typer

from ui.options import JsonOption, RealTimeOption, RigOption, SetOption

counters_app = typer.Typer(help="Hours of bulbs, operations of relays.", no_args_is_help=False)


def rig_sensors(
    rig: RigOption = None, settings: SetOption = None, json_: JsonOption = False
) -> None:
    """Read every sensor of the rig once."""
    from ui.commands.sensors import show_sensors

    show_sensors(rig, settings or [], json_=json_)


@counters_app.callback(invoke_without_command=True)
def counters(
    context: typer.Context,
    rig: RigOption = None,
    settings: SetOption = None,
    json_: JsonOption = False,
) -> None:
    """Show how long bulbs have burnt and how often relays have worked, and what is worn."""
    if context.invoked_subcommand is None:
        from ui.commands.sensors import show_counters

        show_counters(rig, settings or [], json_=json_)


@counters_app.command("reset")
def counters_reset(
    output: Annotated[str, typer.Argument(metavar="OUTPUT", help="Such as lamp.")],
    bulb: Annotated[bool, typer.Option("--bulb", help="Its bulb was changed.")] = False,
    relay: Annotated[bool, typer.Option("--relay", help="Its relay was changed.")] = False,
    rig: RigOption = None,
    settings: SetOption = None,
) -> None:
    """Count anew: a bulb or a relay was changed."""
    from ui.commands.sensors import reset_counters

    reset_counters(output, rig, settings or [], bulb=bulb, relay=relay)


def lag_sensor(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="A sensor that sees the lamp; else the first.")
    ] = "",
    rig: RigOption = None,
    settings: SetOption = None,
    real_time: RealTimeOption = False,
    json_: JsonOption = False,
) -> None:
    """Measure the lamp's lag with a sensor that sees the lamp; no paper is needed."""
    from ui.commands.sensors import lag_by_sensor

    lag_by_sensor(name, rig, settings or [], real_time=real_time, json_=json_)
