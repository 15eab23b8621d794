"""Drafts survive the window, another window, a full disk and a damaged file."""

from __future__ import annotations

import json
import stat
import sys
from pathlib import Path
from uuid import UUID

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from paper import HOSTILE

from tui.drafts import Drafts, drafts_path

POND = UUID("01930000-0000-7000-8000-000000000001")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "state" / "drafts.json"


def test_what_was_kept_is_there_for_the_next_window(path: Path) -> None:
    Drafts(path).of("test", POND).keep({"ph": "7,4", "note": "green\nwater"})
    assert Drafts(path).of("test", POND).values == {"ph": "7,4", "note": "green\nwater"}
    assert Drafts(path).of("test").values == {}
    assert Drafts(path).of("visit", POND).values == {}


def test_two_windows_keep_each_others_drafts(path: Path) -> None:
    one, other = Drafts(path), Drafts(path)
    one.of("test", POND).keep({"ph": "7"})
    other.of("visit").keep({"note": "x"})
    one.of("test", POND).keep({"ph": "7.4"})
    assert other.of("test", POND).values == {"ph": "7.4"}
    assert one.of("visit").values == {"note": "x"}


def test_a_saved_or_emptied_draft_is_forgotten(path: Path) -> None:
    draft = Drafts(path).of("test")
    draft.drop()
    assert not path.exists()
    draft.keep({"ph": "7"})
    draft.drop()
    assert draft.values == {}
    draft.keep({"ph": "7"})
    draft.keep({"ph": "  ", "note": ""})
    assert draft.values == {}
    assert json.loads(path.read_text(encoding="utf-8")) == {}


def test_nothing_else_is_left_in_the_folder_and_nobody_else_may_read(path: Path) -> None:
    Drafts(path).of("test").keep({"ph": "7"})
    assert [file.name for file in path.parent.iterdir()] == ["drafts.json"]
    if sys.platform != "win32":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600


@pytest.mark.parametrize(
    "damage", [b"", b"{", b"[1]", b'{"a": 1}', b'"x"', b"\xff\xfe", b"[" * 100_000]
)
def test_a_damaged_file_is_set_aside_not_overwritten(path: Path, damage: bytes) -> None:
    path.parent.mkdir()
    path.write_bytes(damage)
    draft = Drafts(path).of("test")
    assert draft.values == {}
    draft.keep({"ph": "7"})
    assert draft.values == {"ph": "7"}
    assert path.with_name("drafts.json.damaged").read_bytes() == damage


def test_where_nothing_can_be_written_the_draft_lives_on_and_says_so(tmp_path: Path) -> None:
    (tmp_path / "state").write_text("a file where the folder should be")
    draft = Drafts(tmp_path / "state" / "drafts.json").of("test")
    draft.keep({"ph": "7"})
    assert draft.values == {"ph": "7"}
    assert draft.trouble is not None
    assert "safe while this window is open" in draft.trouble
    (tmp_path / "state").unlink()
    draft.keep({"ph": "7.4"})
    assert draft.trouble is None
    assert draft.values == {"ph": "7.4"}


@pytest.mark.parametrize("text", [*HOSTILE, "\ud800"])
def test_strange_text_comes_back_and_never_breaks_the_file(path: Path, text: str) -> None:
    drafts = Drafts(path)
    drafts.of("test").keep({"note": text, "other": "kept"})
    assert Drafts(path).of("test").values["other"] == "kept"
    if "\ud800" not in text:
        assert Drafts(path).of("test").values["note"] == text


@given(st.dictionaries(st.text(max_size=5), st.text(st.characters(codec="utf-8"), max_size=20)))
@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_there_and_back(path: Path, values: dict[str, str]) -> None:
    Drafts(path).of("test").keep(values)
    kept = any(text.strip() for text in values.values())
    assert Drafts(path).of("test").values == (values if kept else {})


def test_the_file_stands_in_the_users_state_folder() -> None:
    assert drafts_path().name == "drafts.json"
    assert "pondround" in str(drafts_path())
