"""`pondround`, also as `python -m tui`."""

from __future__ import annotations

import sys

from tui.commands.main import main

if __name__ == "__main__":
    sys.exit(main())
