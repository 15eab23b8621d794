"""How the command line refuses what it does not understand."""

from __future__ import annotations

import argparse
from typing import NoReturn

from store.book.address import without_passwords
from store.text import plain


class OneSentenceParser(argparse.ArgumentParser):
    """A parser that refuses with one sentence on standard error and exit code 2."""

    def error(self, message: str) -> NoReturn:
        """Say what was not understood, the words as they were typed but harmless."""
        said = without_passwords(plain(message[:1].upper() + message[1:])).rstrip(".")
        self.exit(2, f"{said}. {self.prog} --help shows what it takes.\n")
