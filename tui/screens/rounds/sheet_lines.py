"""The day's sheet in words: the day as a whole, and one stop with all that is needed there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from textual.content import Content

from store.rounds.solving.said import clock_said
from store.text import joined
from tui.screens.diary.diary_lines import said_long_day
from tui.screens.rounds.round_lines import LEVELS
from tui.widgets.hanging import beside, hanging
from tui.widgets.literal import one_line, wrapped

if TYPE_CHECKING:
    from store.rounds.day.sheet import DaySheet, Job, PondSheet, StopSheet, WhyLine

_GUTTER = 12
_WIDEST = 100
_LEVEL = {"act": "$level-act bold", "watch": "$level-watch", "unknown": "$level-unknown",
          "calm": "$level-calm"}  # fmt: skip
NONE_WRITTEN = "none is written down"


class Page:
    """Lines under one another, each part beside its name."""

    def __init__(self, width: int) -> None:
        self._width = min(max(20, width), _WIDEST)
        self._lines: list[Content] = []

    def title(self, text: str, style: str = "bold") -> None:
        """A heading over the whole width, with an empty line before it."""
        if self._lines:
            self._lines.append(Content(""))
        self._lines += [
            Content.styled(line, style) for line in wrapped(one_line(text), self._width)
        ]

    def head(self, when: str, name: str) -> None:
        """The first line: when, and where."""
        said = beside(when, name, self._width, len(when) + 3)
        self._lines.append(Content.styled(said, "bold"))

    def fact(self, name: str, text: str, style: str = "") -> None:
        """A name in the gutter, and what is said beside it."""
        if not text.strip():
            return
        laid = beside(name, text, self._width, _GUTTER)
        said = laid[_GUTTER:]
        self._lines.append(
            Content.assemble(
                (laid[:_GUTTER], "$quiet"), Content.styled(said, style) if style else Content(said)
            )
        )

    def facts(self, name: str, texts: Iterable[str], style: str = "") -> None:
        """Several sentences beside one name."""
        for nth, text in enumerate(one for one in texts if one.strip()):
            self.fact("" if nth else name, text, style)

    def line(self, text: str, style: str = "") -> None:
        """A sentence over the whole width."""
        if text.strip():
            said = hanging(text, self._width, 0)
            self._lines.append(Content.styled(said, style) if style else Content(said))

    @property
    def content(self) -> Content:
        """All of it."""
        return Content("\n").join(self._lines)


# The day


def day_said(sheet: DaySheet, width: int) -> Content:
    """The day as a whole: from when to when, how good the order is, each stop on a line.

    Parameters
    ----------
    sheet
        One person's day.
    width
        Cells there are.
    """
    page = Page(width)
    page.title(f"{sheet.who}, {said_long_day(sheet.day)}")
    page.facts("order", sheet.broken, _LEVEL["act"])
    page.fact("sets out", f"{clock_said(sheet.sets_out)}, {sheet.start}")
    page.fact("back", f"{clock_said(sheet.back)}, {sheet.home}")
    page.fact("way home", sheet.way_home)
    km = "not every way is known in km" if sheet.km is None else f"{sheet.km:.0f} km by road"
    page.fact("driving", f"{sheet.drive_min} min, {km}")
    page.fact("break", sheet.rest)
    page.fact("proof", sheet.proof)
    page.fact("rule", sheet.price)
    page.title("Stops")
    for one in sheet.stops:
        ring = ", ring first" if one.to_ring else ""
        times = f"{one.number:>2}  {clock_said(one.stop.begins)}"
        page.fact(times, f"{one.where}; {one.standing}{ring}")
    if not sheet.stops:
        page.line("Nobody is driven to on this day.")
    if sheet.left_out:
        page.title("In nobody's round")
        page.facts("", sheet.left_out)
    lost = [one.name for one in sheet.without_place]
    remarks = [*sheet.remarks]
    if lost:
        remarks.append(f"Without coordinates, and so on no map: {joined(lost)}.")
    if any(remarks):
        page.title("To know")
        page.facts("", remarks)
    return page.content


# A stop


def stop_said(stop: StopSheet, width: int, rest: str = "") -> Content:
    """One stop: when and where, how one gets in, why we come, what to do, what is known.

    Parameters
    ----------
    stop
        The stop.
    width
        Cells there are.
    rest
        The break after it, in words; empty where there is none.
    """
    page = Page(width)
    at = stop.stop
    page.head(f"{stop.number}   {clock_said(at.begins)}–{clock_said(at.ends)}", stop.where)
    page.facts("STOP", stop.warnings, _LEVEL["act"])
    page.line(stop.ring, _LEVEL["act"])
    page.fact("address", ", ".join(stop.address) or NONE_WRITTEN)
    page.fact("way in", stop.way_in or "nothing is written down")
    page.fact("hours", stop.hours)
    page.fact("telephone", ", ".join(stop.phones) or NONE_WRITTEN)
    page.fact("standing", stop.standing_said, _LEVEL.get(LEVELS.get(stop.standing, ""), ""))
    page.fact("agreed", stop.agreed)
    page.fact("times", _times(stop))
    page.fact("way", stop.way)
    page.fact("best hour", stop.slot_said)
    page.fact("note", stop.note)
    page.title("Why we come")
    whys = [said for one in stop.whys for said in _why(one, stop)]
    kind = one_line(at.errand.kind) or "visit"
    page.facts("", whys or [f"No promise is named; it is booked as {kind}."])
    page.title("What to do")
    for job in stop.jobs:
        _put_job(page, job, stop)
    if not stop.jobs:
        page.fact("", "As the visit is booked.")
    _put_gear(page, stop)
    for pond in stop.ponds:
        _put_pond(page, pond)
    page.title("Terms")
    page.fact("prices", stop.prices or "none are written down")
    page.fact("consent", stop.consent)
    page.fact("noted", stop.terms_said)
    if rest:
        page.title("After this stop")
        page.fact("break", rest)
    return page.content


def _times(stop: StopSheet) -> str:
    at = stop.stop
    wait = f", begins {clock_said(at.begins)}" if at.begins > at.arrives else ""
    stay = f", disinfects until {clock_said(at.leaves)}" if at.leaves > at.ends else ""
    return f"there {clock_said(at.arrives)}{wait}, done {clock_said(at.ends)}{stay}"


def _why(one: WhyLine, stop: StopSheet) -> Iterator[str]:
    where = f"{one.pond}: " if one.pond and len(stop.ponds) > 1 else ""
    yield f"{where}{one.says}{f' ({one.due})' if one.due else ''}"
    if one.before and one is next(each for each in stop.whys if each.before == one.before):
        yield f"The owner, before it: {joined(one.before, by=' ')}"


def _put_job(page: Page, job: Job, stop: StopSheet) -> None:
    where = f"{job.pond}: " if job.pond and len(stop.ponds) > 1 else ""
    page.fact(job.kind, f"{where}{job.says}", "bold")
    page.facts("", job.details)


def _put_gear(page: Page, stop: StopSheet) -> None:
    from store.rounds.papers.gear import gear_parts

    *steps, line = gear_parts(stop)
    for part in steps:
        page.title(part.title)
        page.facts("", part.lines)
    if not steps:
        page.title(line.title)
        page.fact("", "Brush, rinse, dip and dry; note agent, strength and contact time.")


def _put_pond(page: Page, pond: PondSheet) -> None:
    page.title(pond.name or "The pond")
    page.facts("volume", (pond.volume, pond.apart))
    page.facts("food", (pond.use, pond.eating))
    page.fact("fish", pond.fish)
    page.fact("system", pond.system)
    page.fact("last test", pond.tested)
    page.facts("", (", ".join(pond.readings),))
    page.facts("with care", pond.doubts)
    for one in pond.flagged:
        page.fact(one.level, one.says, _LEVEL.get(one.level, ""))
        page.fact("", one.advice)
    for course in pond.courses:
        goes = f"next: {course.next}" if course.next else ""
        page.facts("runs", (course.says, course.last, goes, course.control))
        page.facts("waits", course.waits)
    page.facts("open", pond.findings)
    page.facts("sample", pond.samples)
