"""The look at a book after a fault can fail: each kind of loss is seen."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from tests.faults.hands import save_on_and_on, whole


@pytest.mark.parametrize(
    ("loss", "says"),
    [
        ("DELETE FROM reading WHERE rowid_of", "readings"),
        ("DELETE FROM change WHERE table_name = 'visit'", "line in the log|gap|FOREIGN|foreign"),
        ("UPDATE water_test SET struck_why = '' WHERE struck_why <> ''", "half|what was hashed"),
        ("UPDATE change SET why = 'other' WHERE what = 'strike'", "not what was hashed"),
        ("DELETE FROM visit", "line without its row|lost"),
        ("UPDATE reading SET value = value + 1", "not what was hashed"),
    ],
)
def test_a_loss_is_seen(sqlite_url: str, loss: str, says: str) -> None:
    lines: list[list[str]] = []
    save_on_and_on(lambda *words: lines.append([str(one) for one in words]), sqlite_url, 5, 40)
    assert {"visit", "corrected", "struck", "test"} <= {line[0] for line in lines}
    whole(sqlite_url, lines)
    raw = sqlite3.connect(Path(sqlite_url), isolation_level=None)
    for (name,) in raw.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        raw.execute(f"DROP TRIGGER {name}")
    raw.execute(loss.replace("rowid_of", "parameter = 'ph'"))
    raw.close()
    with pytest.raises(AssertionError, match=says):
        whole(sqlite_url, lines)
