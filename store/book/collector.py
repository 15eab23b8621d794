"""The cycle collector of Python, set aside while much is read."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def collector_waiting() -> Iterator[None]:
    """Set the cycle collector aside: it would walk tens of thousands of readings, all in use."""
    running = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if running:
            gc.enable()
