"""A fit as bytes comes back the same, and nothing else comes back as a fit."""

from __future__ import annotations

import io
from dataclasses import fields

import numpy as np
import pytest
from made_ponds import fitted

from store.warmth import keeping
from store.warmth.fit import Fit
from store.warmth.keeping import from_bytes, to_bytes


def test_a_fit_comes_back_the_same() -> None:
    found = from_bytes(to_bytes(fitted()))
    assert found is not None
    for one in fields(Fit):
        before, after = getattr(fitted(), one.name), getattr(found, one.name)
        if isinstance(before, np.ndarray):
            np.testing.assert_array_equal(before, after)
        else:
            assert before == after


def test_what_is_no_fit_is_none(monkeypatch: pytest.MonkeyPatch) -> None:
    whole, other = to_bytes(fitted()), io.BytesIO()
    np.save(other, np.zeros(3))
    for bad in (b"", b"PK", b"words", whole[:-50], whole[: len(whole) // 2], other.getvalue()):
        assert from_bytes(bad) is None
    monkeypatch.setattr(keeping, "SHAPE", keeping.SHAPE + 1)
    assert from_bytes(whole) is None
