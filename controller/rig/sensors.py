"""The sensors of a rig, and the one that ends exposures."""

from __future__ import annotations

from typing import Any, Literal

from pydantic import Field

from controller.rig.rules import SENSORS_ON_GPIO
from controller.rig.table import Address, Addressed, Name, Table, Text


class SensorAt(Addressed):
    """A sensor, and what it is for. ``pin`` may be written for ``address``."""

    name: Name = Field(description="one word; unique among the sensors")
    driver: Text = Field(
        description='"serial-meter", "bh1750", "veml7700", "light-pin", "one-wire", "sim", or one '
        "that another package registers"
    )
    address: Address = Field(
        description="where it is, in its driver's own way: a port by its path under "
        "/dev/serial/by-id, the chip's address on the I2C bus, such as 0x23, a GPIO number, or a "
        'thermometer\'s number, such as "28-0316a2795bff"'
    )
    purpose: Literal["lamp", "stray", "densitometer", "tray temperature"] = Field(
        description='what it sees: "lamp" (the enlarger\'s own light), "stray" (light of the '
        'room), "densitometer" or "tray temperature"'
    )
    every_s: float = Field(
        0.05, gt=0, le=60, description="how often it is asked while it is needed, in seconds"
    )
    options: dict[str, Any] = Field(
        default_factory=dict,
        description="handed to the driver as they are, in a table of its own or in {}",
    )

    @property
    def board(self) -> str:
        """The driver whose ``[board]`` options it shares: the chip's, where it hangs on a line."""
        return "gpio" if self.driver in SENSORS_ON_GPIO else self.driver


class Integration(Table):
    """A dose that ends at the wanted sum of light, as a sensor sees it."""

    sensor: Name = Field(description='the name of a sensor whose purpose is "lamp"')
    ends_exposures: bool = Field(
        True, description="false: the sensor is not used, and exposures end by time"
    )
    full_light: float = Field(
        gt=0,
        le=1e6,
        description="what it reads while the lamp burns at full light; dryside lag sensor finds it",
    )
    dark: float = Field(
        0.0, ge=0, le=1e6, description="what it reads while the lamp is cold; found by the same"
    )
    tail_s: float = Field(
        0.0,
        ge=0,
        le=2,
        description="light that falls after the lamp was put off, in seconds of full light; found "
        "by the same",
    )
    limit: float = Field(
        0.35,
        gt=0,
        le=1,
        description="an exposure may last so much longer, or shorter, than its time, in parts of "
        "it; what would go beyond is not believed",
    )
    least_s: float = Field(
        1.0, ge=0.3, le=60, description="doses below this end by time, in seconds"
    )
