"""What the user of a terminal likes: brightness and keys, kept in ``terminal.toml``."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass, field
from pathlib import Path

FILE = "terminal.toml"
LEVELS = (0, 1, 2, 3)


@dataclass
class Preferences:
    """Read at the start; ``keep`` writes what was changed and leaves the rest alone."""

    path: Path
    brightness: int = 2
    backlight_off: bool = False  # the panel's own light goes off with the curtain
    keys: dict[str, str] = field(default_factory=dict)  # binding id to key
    notice: str = ""

    @classmethod
    def read(cls, folder: Path) -> Preferences:
        """Read them; whatever is wrong is left out, with a sentence in ``notice``."""
        made = cls(folder / FILE)
        try:
            text = made.path.read_text(encoding="utf-8")
            import tomllib  # not needed where nothing was ever chosen

            raw = tomllib.loads(text)
        except FileNotFoundError:
            return made
        except (OSError, ValueError) as error:  # neither text nor TOML
            made.notice = f"{made.path} is not read ({error}); right would be a TOML file"
            return made
        brightness = raw.get("brightness", made.brightness)
        if isinstance(brightness, int) and brightness in LEVELS:
            made.brightness = brightness
        else:
            made.notice = f"{made.path}, brightness: {brightness!r} is not 0, 1, 2 or 3"
        backlight_off = raw.get("backlight_off", False)
        if isinstance(backlight_off, bool):
            made.backlight_off = backlight_off
        else:
            made.notice = f"{made.path}, backlight_off: {backlight_off!r} is not true or false"
        keys = raw.get("keys", {})
        if isinstance(keys, dict):
            made.keys = {str(name): str(key) for name, key in keys.items()}
        return made

    def keep(self) -> None:
        """Write the brightness back; a file that cannot be written is no reason to stop."""
        import tomlkit  # heavy, and not needed for the first picture

        with contextlib.suppress(OSError):
            text = self.path.read_text(encoding="utf-8") if self.path.exists() else ""
            document = tomlkit.parse(text)
            document["brightness"] = self.brightness
            part = self.path.with_name(self.path.name + ".part")
            part.write_text(tomlkit.dumps(document), encoding="utf-8")
            part.replace(self.path)
