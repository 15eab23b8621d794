"""A fit as bytes, to be kept beside a book and thrown away at any time."""

from __future__ import annotations

import io
from dataclasses import fields
from uuid import UUID
from zipfile import BadZipFile

from store.warmth.fit import Fit

SHAPE = 3
"""Of another shape a kept fit is no fit; raised whenever the reckoning changes."""


def to_bytes(fitted: Fit) -> bytes:
    """A fit as bytes.

    Parameters
    ----------
    fitted
        The fit.
    """
    import numpy as np

    parts = {one.name: getattr(fitted, one.name) for one in fields(Fit)}
    parts["ponds"] = np.frombuffer(b"".join(one.bytes for one in fitted.ponds), np.uint8)
    parts["shape"] = SHAPE
    out = io.BytesIO()
    np.savez(out, **parts)
    return out.getvalue()


def from_bytes(kept: bytes) -> Fit | None:
    """The fit that bytes hold; None where they hold none, or one of another shape.

    Parameters
    ----------
    kept
        What `to_bytes` gave, or anything else.
    """
    import numpy as np

    try:
        with np.load(io.BytesIO(kept), allow_pickle=False) as parts:
            if int(parts["shape"]) != SHAPE:
                return None
            found = {one.name: parts[one.name] for one in fields(Fit)}
    except (OSError, ValueError, KeyError, IndexError, TypeError, EOFError, BadZipFile):
        return None
    raw = found["ponds"].tobytes()
    if len(raw) % 16:
        return None
    found["ponds"] = tuple(UUID(bytes=raw[at : at + 16]) for at in range(0, len(raw), 16))
    found["until"] = int(found["until"])
    if len(found["ponds"]) != len(found["season"]):
        return None
    return Fit(**found)
