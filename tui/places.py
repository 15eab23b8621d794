"""The places of the application, and the keys that are the same wherever one is.

The file of a place is loaded when somebody first goes there.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from textual.binding import Binding, BindingType
from textual.screen import Screen

from tui.screens.parts.help import HELP


def _morning() -> Screen[Any]:
    from tui.screens.morning.morning import MorningScreen

    return MorningScreen()


def _directory() -> Screen[Any]:
    from tui.screens.directory.directory import DirectoryScreen

    return DirectoryScreen()


def _rules() -> Screen[Any]:
    from tui.screens.rules.rules import RulesScreen

    return RulesScreen()


def _courses() -> Screen[Any]:
    from tui.screens.courses.courses import CoursesScreen

    return CoursesScreen()


def _desk() -> Screen[Any]:
    from tui.screens.desk.desk import DeskScreen

    return DeskScreen()


def _diary() -> Screen[Any]:
    from tui.screens.diary.diary import DiaryScreen

    return DiaryScreen()


def _round() -> Screen[Any]:
    from tui.screens.rounds.round import RoundScreen

    return RoundScreen()


def _guard() -> Screen[Any]:
    from tui.screens.guard.backups import GuardScreen

    return GuardScreen()


def _record() -> Screen[Any]:
    from tui.screens.record.record import RecordScreen

    return RecordScreen()


PLACES: Mapping[str, Callable[[], Screen[Any]]] = MappingProxyType(
    {
        "morning": _morning,
        "directory": _directory,
        "rules": _rules,
        "courses": _courses,
        "desk": _desk,
        "diary": _diary,
        "round": _round,
        "record": _record,
        "guard": _guard,
    }
)
"""The screen that a place begins with, by the name of the place."""

ANYWHERE: tuple[BindingType, ...] = (
    HELP,
    Binding("1", "place('morning')", "list", show=False, id="anywhere.morning",
            tooltip="The morning list"),
    Binding("2", "place('directory')", "directory", show=False, id="anywhere.directory",
            tooltip="All clients, sites and ponds"),
    Binding("3", "place('rules')", "rules", show=False, id="anywhere.rules",
            tooltip="The alert rules in force"),
    Binding("4", "place('courses')", "courses", show=False, id="anywhere.courses",
            tooltip="All courses that run, and what is due of them"),
    Binding("5", "place('desk')", "desk", show=False, id="anywhere.desk",
            tooltip="What was promised and is due; whom to ring next"),
    Binding("6", "place('diary')", "diary", show=False, id="anywhere.diary",
            tooltip="Who goes where and when, and what is free"),
    Binding("7", "place('round')", "round", show=False, id="anywhere.round",
            tooltip="Where one drives on a day, and in which order"),
    Binding("8", "place('record')", "record", show=False, id="anywhere.record",
            tooltip="Who changed what, when, and why"),
    Binding("9", "place('guard')", "backups", show=False, id="anywhere.guard",
            tooltip="Backups, and whether the book is as it was written"),
    Binding("f9", "theme", "day or night", show=False, id="anywhere.theme",
            tooltip="Light letters on dark, or dark on light"),
    Binding("f6", "person", "who works", show=False, id="anywhere.person",
            tooltip="Choose who is working now"),
    Binding("q", "leave", "leave", show=False, id="anywhere.leave", tooltip="Leave Pondround"),
)  # fmt: skip
"""The keys that work in every place."""
