"""Drafts where the disk is full for a while, and settings where the folder may not be entered."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest

from tui.drafts import Drafts
from tui.settings import Settings, read_settings, write_settings


def _full(_text: str) -> None:
    raise OSError(errno.ENOSPC, "No space left on device")


def test_drafts_of_another_window_outlive_a_full_disk(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "drafts.json"
    one, other = Drafts(path), Drafts(path)
    one.of("visit").keep({"note": "first"})
    one.of("call").keep({"note": "saved soon"})
    with monkeypatch.context() as full:
        full.setattr(one, "_replace", _full)
        one.of("visit").keep({"note": "second"})
        one.of("call").drop()
        assert one.trouble is not None
        other.of("test").keep({"ph": "7.4"})
        assert one.of("test").values == {"ph": "7.4"}, "what another window typed meanwhile"
        assert one.of("visit").values == {"note": "second"}
        assert one.of("call").values == {}
    one.of("rest").keep({"why": "room again"})
    assert one.trouble is None
    now = Drafts(path)
    assert now.of("visit").values == {"note": "second"}
    assert now.of("test").values == {"ph": "7.4"}
    assert now.of("call").values == {}


def test_each_damaged_file_is_set_aside(tmp_path: Path) -> None:
    path = tmp_path / "drafts.json"
    for damage in ("{", "[1]"):
        path.write_text(damage)
        assert Drafts(path).of("test").values == {}
    aside = {each.name: each.read_text() for each in tmp_path.iterdir()}
    assert aside == {"drafts.json.damaged": "{", "drafts.json.damaged1": "[1]"}


def test_settings_that_cannot_be_reached_are_no_error(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "settings.toml"

    def denied(*_all: object, **_more: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(Path, "write_text", denied)
    monkeypatch.setattr(Path, "unlink", denied)
    monkeypatch.setattr(Path, "exists", denied)
    write_settings(path, Settings(theme="pondround-day"))
    assert read_settings(path) == (Settings(), ())
