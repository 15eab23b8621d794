"""What was typed and not yet saved, kept outside the screen so that nothing typed is lost."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final
from uuid import UUID

_DAMAGED: Final = ".damaged"


def drafts_path() -> Path:
    """The file of the drafts in the user's own state folder."""
    # 16 ms to import: only where the place is asked for.
    from platformdirs import user_state_path

    return user_state_path("pondround", appauthor=False) / "drafts.json"


class Drafts:
    """Unsaved texts by form and pond, in one small file.

    The file is read before each change, so that two windows keep each other's drafts, and written
    to a neighbour that is moved into its place. A file that cannot be read is set aside, never
    overwritten. Where nothing can be written the drafts live on in memory and `trouble` says so.

    Parameters
    ----------
    path
        The file; made with its folder at the first draft.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._unkept: dict[str, dict[str, str]] = {}
        self.trouble: str | None = None

    def of(self, form: str, pond: UUID | str | None = None) -> Draft:
        """The draft of one form for one pond, or of a form that belongs to no pond."""
        return Draft(self, f"{form}:{pond or ''}")

    def read(self, key: str) -> dict[str, str]:
        """What was kept under that key, empty when nothing was."""
        return dict(self._all().get(key, {}))

    def write(self, key: str, values: Mapping[str, str]) -> None:
        """Keep these texts under that key; without any text nothing is kept."""
        kept = dict(values) if any(text.strip() for text in values.values()) else {}
        if not kept and key not in self._all():
            return
        self._unkept[key] = kept
        try:
            self._replace(json.dumps(self._all(), ensure_ascii=False, indent=1))
        except OSError as trouble:
            self.trouble = (
                f"Drafts cannot be kept in {self._path} ({trouble.strerror or trouble}). "
                "What you type is safe while this window is open."
            )
        else:
            self.trouble = None
            self._unkept.clear()

    def _all(self) -> dict[str, dict[str, str]]:
        """What is in the file, and over it what could not be written there."""
        drafts = self._in_file() | self._unkept
        return {key: values for key, values in drafts.items() if values}

    def _in_file(self) -> dict[str, dict[str, str]]:
        try:
            text = self._path.read_text(encoding="utf-8")
        except FileNotFoundError:
            return {}
        except (OSError, UnicodeDecodeError):
            self._set_aside()
            return {}
        try:
            found = json.loads(text)
            return {
                str(key): {str(name): str(value) for name, value in values.items()}
                for key, values in found.items()
            }
        except (ValueError, AttributeError, RecursionError):
            self._set_aside()
            return {}

    def _set_aside(self) -> None:
        for nth in range(100):  # one that was set aside before stays as well
            aside = self._path.with_name(f"{self._path.name}{_DAMAGED}{nth or ''}")
            if not os.path.lexists(aside):
                with suppress(OSError):
                    self._path.rename(aside)
                return

    def _replace(self, text: str) -> None:
        self._path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        neighbour = self._path.with_name(f"{self._path.name}.{os.getpid()}")
        # Texts about clients: for the user's own eyes only, from the first byte on.
        opened = os.open(neighbour, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        try:
            with os.fdopen(opened, "w", encoding="utf-8", errors="replace") as file:
                file.write(text)
            neighbour.replace(self._path)
        except OSError:
            with suppress(OSError):
                neighbour.unlink()
            raise


class Draft:
    """The draft of one form, handed to the form that keeps it."""

    def __init__(self, drafts: Drafts, key: str) -> None:
        self._drafts = drafts
        self._key = key

    @property
    def values(self) -> dict[str, str]:
        """The texts kept, by the name of their field."""
        return self._drafts.read(self._key)

    @property
    def trouble(self) -> str | None:
        """Why it cannot be kept beyond this window, or `None`."""
        return self._drafts.trouble

    def keep(self, values: Mapping[str, str]) -> None:
        """Keep what is typed by now."""
        self._drafts.write(self._key, values)

    def drop(self) -> None:
        """Forget it, because it was saved or is not wanted."""
        self._drafts.write(self._key, {})
