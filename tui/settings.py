"""What a person has chosen for this machine: the theme, and who usually works here."""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from store.text import plain


@dataclass(frozen=True, slots=True)
class Settings:
    """The choices, each with what it means when nothing was chosen."""

    theme: str = "pondround-night"
    """Name of the theme."""
    person: str = ""
    """Name of who usually works at this machine; empty asks."""
    lock_min: int = 30
    """After how long without a key the application is locked, where whoever works has a passphrase
    [min]; 0 for never."""


def settings_path() -> Path:
    """Where the choices are kept, in the user's own configuration folder."""
    from platformdirs import user_config_path  # 16 ms

    return user_config_path("pondround", appauthor=False) / "settings.toml"


def read_settings(path: Path) -> tuple[Settings, tuple[str, ...]]:
    """The choices, and a remark for each that could not be used.

    A missing file, a damaged one and an unknown or unfit value all leave the usual choice.
    """
    if not os.path.exists(path):  # noqa: PTH110 (a folder that may not be entered is no error)
        return Settings(), ()
    import tomllib  # 3 ms that a machine without settings need not wait

    try:
        found = tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Settings(), ()
    except (OSError, ValueError) as error:
        return Settings(), (
            f"The settings in {path} could not be read and are left alone: {error}",
        )
    settings, remarks = Settings(), []
    for name, value in found.items():
        if name not in ("theme", "person", "lock_min"):
            remarks.append(f"{path}: there is no setting “{plain(name)}”.")
        elif name == "lock_min":
            if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= 1440:
                remarks.append(f"{path}: “lock_min” must be whole minutes, 0 (never) to 1440.")
            else:
                settings = replace(settings, lock_min=value)
        elif not isinstance(value, str) or len(value) > 500:
            remarks.append(f"{path}: “{name}” must be a short text.")
        else:
            settings = _with_text(settings, name, plain(value))
    return settings, tuple(remarks)


def _with_text(settings: Settings, name: str, value: str) -> Settings:
    return replace(settings, theme=value) if name == "theme" else replace(settings, person=value)


def write_settings(path: Path, settings: Settings) -> None:
    """Keep the choices, in one move; a folder that cannot be written is passed over."""
    import json

    text = "".join(
        # A basic string of TOML is written as one of JSON.
        f"{name} = {json.dumps(getattr(settings, name), ensure_ascii=False)}\n"
        for name in ("theme", "person", *(["lock_min"] if settings.lock_min != 30 else []))
    )
    beside = path.with_suffix(".new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(text, encoding="utf-8", errors="replace")
        beside.replace(path)
    except OSError:
        with suppress(OSError):
            beside.unlink()
