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
        if name not in ("theme", "person"):
            remarks.append(f"{path}: there is no setting “{plain(name)}”.")
        elif not isinstance(value, str) or len(value) > 500:
            remarks.append(f"{path}: “{name}” must be a short text.")
        else:
            settings = replace(settings, **{name: plain(value)})
    return settings, tuple(remarks)


def write_settings(path: Path, settings: Settings) -> None:
    """Keep the choices, in one move; a folder that cannot be written is passed over."""
    import json

    text = "".join(
        # A basic string of TOML is written as one of JSON.
        f"{name} = {json.dumps(getattr(settings, name), ensure_ascii=False)}\n"
        for name in ("theme", "person")
    )
    beside = path.with_suffix(".new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(text, encoding="utf-8", errors="replace")
        beside.replace(path)
    except OSError:
        with suppress(OSError):
            beside.unlink()
