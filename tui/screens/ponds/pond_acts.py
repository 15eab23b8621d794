"""What is done from the page of a pond: the keys that lead on, and what enter opens."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Coroutine
from typing import TYPE_CHECKING, Any, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.binding import Binding, BindingType
from textual.screen import Screen

from tui.screens.parts.abstract import AbstractScreen
from tui.screens.parts.help import HELP, open_help
from tui.screens.ponds.pond_lines import LineKey, head_name
from tui.widgets.grid import LineGrid

if TYPE_CHECKING:
    from store.book.events import PondEvent
    from tui.app import PondroundApp
    from tui.screens.ponds.pond_page import PondPage


class PondActs(Screen[None], metaclass=AbstractScreen):
    """The ways that lead from a pond; the page itself says how it is shown.

    Parameters
    ----------
    pond
        Key of the pond.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="pond.back", tooltip="Back one step"),
        Binding("t", "water_test", "test", id="pond.test", tooltip="Enter a water test"),
        Binding("v", "visit", "visit", id="pond.visit",
                tooltip="Book the next visit: slots with their reasons"),
        Binding("x", "examine", "examine", id="pond.examine",
                tooltip="Enter an examination: fish by fish what the microscope showed"),
        Binding("n", "event", "event", id="pond.event",
                tooltip="Note something that happened: fish added, water changed, power cut"),
        Binding("e", "explain", "explain", id="pond.explain",
                tooltip="Explain every concern with its rule, readings, arithmetic and source"),
        Binding("c", "course", "course", id="pond.course",
                tooltip="The course that runs here, or plan one"),
        Binding("m", "feed", "medicated feed", show=False, id="pond.feed",
                tooltip="Medicated feed: reckon it, mix it, keep it as a course"),
        Binding("f", "eating", "eating", show=False, id="pond.eating",
                tooltip="May the fish be eaten, from which day, and who declared it"),
        Binding("D", "deaths", "deaths", show=False, id="pond.deaths",
                tooltip="Dead fish and head counts: enter them, see their share and what it means"),
        Binding("l", "samples", "samples", show=False, id="pond.samples",
                tooltip="Samples of this pond at laboratories, and what was reported"),
        Binding("O", "client", "owner", show=False, id="pond.client",
                tooltip="The client's whole picture: all that is due, who rang, who comes"),
        Binding("a", "promise", "promise", show=False, id="pond.promise",
                tooltip="Promise something for this pond, once or again and again"),
        Binding("T", "call_note", "note of a call", show=False, id="pond.note",
                tooltip="A short note of a call about this pond: what was said and advised"),
        Binding("C", "call", "new call", show=False, id="pond.call",
                tooltip="A call about this pond: the questions that tell how urgent it is"),
        Binding("u", "volume", "volume", show=False, id="pond.volume",
                tooltip="How many litres, and how that was found"),
        Binding("d", "change", "data", show=False, id="pond.change",
                tooltip="Change the pond's data"),
        Binding("r", "rest", "rest", show=False, id="pond.rest",
                tooltip="Put a concern to rest until a day"),
        Binding("R", "report", "paper", show=False, id="pond.report",
                tooltip="A paper to a file: visit report, history, a course's sheet, a feed label"),
        Binding("i", "bring", "bring in", show=False, id="pond.bring",
                tooltip="A file of this pond into the book: water tests, a logger's, and more"),
        Binding("w", "rules", "rules", show=False, id="pond.rules",
                tooltip="The rules in force at this pond"),
        Binding("H", "record", "record", show=False, id="pond.record",
                tooltip="Who changed what at this pond, when, and why"),
    ]  # fmt: skip

    def __init__(self, pond: UUID) -> None:
        super().__init__()
        self.pond = pond
        self.page: PondPage | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    # What is entered

    def action_water_test(self) -> None:
        """Enter a water test."""
        from tui.screens.water.water_test import WaterTestScreen

        self.app.push_screen(WaterTestScreen(self.pond))

    def action_event(self) -> None:
        """Note an event."""
        from tui.screens.ponds.event import EventScreen

        self.app.push_screen(EventScreen(self.pond))

    @work(group="pond-open", exclusive=True)
    async def action_visit(self) -> None:
        """Book the next visit; what is due here is offered to be kept by it."""
        from tui.screens.diary.book_for import book_for_pond

        await book_for_pond(self.ponds_app, self.pond)

    @work(group="pond-course", exclusive=True)
    async def action_course(self) -> None:
        """The course that runs here; where none does, plan one."""
        from tui.screens.courses.course_acts import open_course

        await open_course(self.ponds_app, self.pond)

    def action_feed(self) -> None:
        """Plan a medicated feed."""
        from tui.screens.courses.feed import plan_a_feed

        plan_a_feed(self.app, self.pond)

    def action_eating(self) -> None:
        """May the fish be eaten."""
        from tui.screens.ponds.eating import EatingScreen

        self.app.push_screen(EatingScreen(self.pond))

    def action_deaths(self) -> None:
        """Dead fish and head counts."""
        from tui.screens.ponds.deaths import DeathsScreen

        self.app.push_screen(DeathsScreen(self.pond))

    def action_examine(self) -> None:
        """Enter an examination."""
        from tui.screens.exams.examination import ExaminationScreen

        self.app.push_screen(ExaminationScreen(self.pond))

    def action_samples(self) -> None:
        """Samples at laboratories."""
        from tui.screens.exams.specimens import SpecimensScreen

        self.app.push_screen(SpecimensScreen(self.pond))

    def action_volume(self) -> None:
        """The pond's volume."""
        from tui.screens.ponds.volume import VolumeScreen

        self.app.push_screen(VolumeScreen(self.pond))

    def action_change(self) -> None:
        """Change the pond's data."""
        from tui.screens.parts.edit import change_pond

        change_pond(self.app, self.pond)

    def action_rules(self) -> None:
        """The rules in force at this pond."""
        from tui.screens.rules.rules import RulesScreen

        self.app.push_screen(RulesScreen(self.pond))

    def action_record(self) -> None:
        """All that was entered and changed at this pond."""
        from tui.screens.record.record import RecordScreen

        if self.page is not None:
            self.app.push_screen(RecordScreen(("pond", self.pond), head_name(self.page.card)))

    @work(group="pond-open", exclusive=True)
    async def action_report(self) -> None:
        """The visit report for the owner, or the pond's history, to a file."""
        from tui.screens.exchange.report import write_report

        await write_report(self.ponds_app, self.pond)

    @work(group="pond-open", exclusive=True)
    async def action_bring(self) -> None:
        """A file of this pond into the book."""
        from tui.screens.exchange.bring_in import bring_in

        if self.page is not None:
            card = self.page.card
            names = card.client.name, card.site.name, card.pond.name
            await bring_in(self.ponds_app, card.pond.code or ", ".join(names))

    def action_explain(self) -> None:
        """Explain every concern."""
        from tui.screens.morning.explain import ExplainScreen

        self.app.push_screen(ExplainScreen(self.pond))

    def action_rest(self) -> None:
        """Put a concern to rest."""
        from tui.screens.morning.rest import RestScreen

        self.app.push_screen(RestScreen(self.pond))

    # The telephone

    def action_client(self) -> None:
        """The client's whole picture."""
        if self.page is not None:
            self.ponds_app.open_client(self.page.card.client.id)

    def action_promise(self) -> None:
        """Promise something for this pond."""
        from tui.screens.desk.promise import PromiseScreen

        if self.page is not None:
            self.app.push_screen(PromiseScreen(self.page.card.client.id, self.pond))

    def action_call_note(self) -> None:
        """A short note of a call."""
        from tui.screens.desk.call_note import CallNoteScreen

        if self.page is not None:
            card = self.page.card
            self.app.push_screen(CallNoteScreen(card.client.id, self.pond, head_name(card)))

    def action_call(self) -> None:
        """The question sheet of a new call about this pond."""
        from tui.screens.desk.call import CallScreen

        if self.page is not None:
            self.app.push_screen(CallScreen(self.page.card.client.id, self.pond))

    # What a line of the list leads to

    @abstractmethod
    def action_older(self) -> None:
        """List older tests as well."""

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        key = opened.key
        if not isinstance(key, LineKey):
            return
        if key.kind == "older":
            self.action_older()
        elif key.kind == "test":
            from tui.screens.water.opened_test import OpenedTestScreen

            self.app.push_screen(OpenedTestScreen(self.pond, key.key))
        elif key.kind == "course":
            from tui.screens.courses.course import CourseScreen

            self.app.push_screen(CourseScreen(key.key))
        elif key.kind == "exam":
            from tui.screens.exams.examination_page import ExaminationPageScreen

            self.app.push_screen(ExaminationPageScreen(key.key))
        elif key.kind == "deaths":
            self.action_deaths()
        elif key.kind == "call":
            from tui.screens.desk.call_page import CallPageScreen

            self.app.push_screen(CallPageScreen(key.key))
        elif key.kind == "visit":
            from tui.screens.diary.visit import VisitScreen

            self.app.push_screen(VisitScreen(key.key))
        else:
            from tui.screens.ponds.event import open_event

            self._open(open_event(self.app, self._event(key.key)))

    def _open(self, flow: Coroutine[Any, Any, None]) -> None:
        self.run_worker(flow, group="pond-open", exclusive=True)

    def _event(self, key: UUID) -> PondEvent:
        assert self.page is not None
        return next(event for event in self.page.events if event.id == key)
