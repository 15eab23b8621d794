"""The sheet of an examination while it is typed: what it shows, and one line a fish."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.content import Content
from textual.screen import Screen
from textual.widgets import Input

from store.errors import BadInput, PondroundError
from tui.said import said_moment
from tui.screens.exams.examination_line import FishLine, FishQuestion
from tui.screens.exams.examination_typed import Beginning, Sheet, Typed, begin
from tui.screens.parts.abstract import NARROW, drafts_of
from tui.widgets.columns import Column
from tui.widgets.entry import TextLine
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import cut, literal, one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.exams.line import UnderstoodFish
    from store.exams.values import ExamFish
    from tui.app import PondroundApp
    from tui.drafts import Draft

COLUMNS = (Column("nth", "Fish", 3, align="right"), Column("said", "What was found", 20, weight=1))
_LOW_LINES = 24


class SheetOfFish(Screen[None]):
    """What stands on the screen of an examination, and the typing of one line a fish.

    Parameters
    ----------
    pond
        Key of the pond.
    course
        The course that it controls; None for any other examination.
    """

    CSS_PATH = ["../sheets/examination.tcss", "../sheets/narrow.tcss"]  # noqa: RUF012
    HORIZONTAL_BREAKPOINTS = NARROW

    def __init__(self, pond: UUID, course: UUID | None = None) -> None:
        super().__init__()
        self.pond, self.course = pond, course
        self.sheet = Sheet()
        self._beginning: Beginning | None = None
        self._understood: UnderstoodFish | None = None
        self._draft: Draft | None = None
        self._saving = False

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    @property
    def _line(self) -> FishLine:
        return self.query_one(FishLine)

    @property
    def _nth(self) -> int:
        return self.sheet.at + 1

    def compose(self) -> ComposeResult:
        """Head, occasion, gear, the fish so far, the line with what was understood."""
        yield Top("Examination", id="exam-head")
        yield Static("", id="exam-occasion", markup=False)
        with Horizontal(id="exam-gear-row"):
            yield Static(Content("gear"), id="exam-gear-label")
            yield TextLine(placeholder="no / own net / iodophor 10 min", id="exam-gear")
            yield Static("", id="exam-gear-said", markup=False)
        yield Static("", id="exam-error", classes="field-error", markup=False)
        yield Line()
        yield LineGrid(COLUMNS, gutter="mark", id="exam-fish")
        yield Line(id="exam-fish-line")
        yield FishLine(id="exam-line-part")
        yield Foot()

    def on_mount(self) -> None:
        """Ready to type at once; the pond comes from the book."""
        self._draft = drafts_of(self.app).of("examination", self.course or self.pond)
        self.query_one("#exam-error").display = False
        self._show_fish()
        self._line.number(form=False, nth=1)
        self._line.type_on()
        self._begin()

    @work(group="exam-begin", exclusive=True)
    async def _begin(self) -> None:
        app = self.ponds_app
        try:
            self._beginning = await app.ask_store(
                begin, app.book, self.pond, app.now(), self.course
            )
        except PondroundError as trouble:
            app.tell(trouble)
            return
        assert self._draft is not None
        kept = self._draft.values
        typed, gear = self._line.text, self.query_one("#exam-gear", TextLine).value
        self.sheet = Sheet.of(kept)
        if typed.strip():
            self.sheet.add(typed)  # before the book was read; what was kept goes before it
        if gear.strip():
            self.sheet.texts["gear"] = gear
        if kept:
            self.notify("Taken up again from what you typed before. F8 begins anew.", markup=False)
        self._keep()
        with self.prevent(Input.Changed):
            self.query_one("#exam-gear", TextLine).value = self.sheet.texts.get("gear", "")
        self._show_all()

    # Showing

    def _show_all(self) -> None:
        self._show_head()
        self._show_gear()
        self._show_fish()
        self._show_line()

    def _show_head(self) -> None:
        beginning = self._beginning
        if beginning is None:
            return
        top = self.query_one(Top)
        top.place = f"Examination: {beginning.where}"
        warmth = beginning.warmth
        top.moment = "no temperature known"
        if warmth is not None:
            when = said_moment(warmth.taken_at, beginning.zone, beginning.today)
            old = "" if warmth.believed else f", {warmth.age.days} d old"
            top.moment = f"{warmth.value_c:.1f} °C, {when}{old}"
        said = self._said_occasion(beginning)
        self.query_one("#exam-occasion", Static).update(Content.styled(said, "$quiet"))

    def _said_occasion(self, beginning: Beginning) -> str:
        texts = self.sheet.texts
        at = " ".join(
            text for text in (texts.get("on_day", "today"), texts.get("at_time", "now")) if text
        )
        at = "now" if at == "today now" else at
        who = texts.get("examiner", "").strip() or "whoever saves"
        purpose = texts.get("purpose", beginning.purpose)
        course = dict(beginning.courses).get(self._course_text(), "")
        parts = [purpose, at, f"by {who}", f"of {course}" if course else "", texts.get("note", "")]
        said = " · ".join(one_line(part) for part in parts if part)
        return cut(said, max(20, self.size.width - 2))

    def _course_text(self) -> str:
        usual = "" if self.course is None else str(self.course)
        return self.sheet.texts.get("course", usual)

    def _show_gear(self) -> None:
        from store.exams.entry import read_gear

        said = read_gear(self.query_one("#exam-gear", TextLine).value)
        shown = Content.styled(one_line(said.said), "$quiet")
        if said.question:
            answer = f" F2: {said.written}" if said.written else ""
            shown = Content.styled(one_line(said.question + answer), "bold $level-watch")
        self.query_one("#exam-gear-said", Static).update(shown)

    def _show_fish(self) -> None:
        rows = []
        for place, one in enumerate(self.sheet.fish):
            try:
                said = in_short(one.fish(place + 1))
            except BadInput as trouble:
                said = trouble.message
            here = " (open below)" if place == self.sheet.at else ""
            rows.append(Row(place, (str(place + 1), one_line(said) + here)))
        grid, line = self.query_one("#exam-fish", LineGrid), self.query_one("#exam-fish-line")
        grid.display = line.display = bool(rows)
        most = 3 if self.size.height < _LOW_LINES else 5 if self.size.height < 36 else 12
        grid.styles.height = min(len(rows), most)
        grid.show(rows)
        if rows and not grid.has_focus:
            grid.move_to(len(rows) - 1)

    def _show_line(self) -> None:
        form = self.sheet.now.texts is not None
        self._line.number(form=form, nth=self._nth)
        self._line.put("" if form else self.sheet.now.line)
        self._read_line()

    def _read_line(self) -> None:
        from store.exams.line import understand_fish

        self._understood = understand_fish(self._line.text, nth=self._nth)
        self._line.show(self._understood)

    def on_resize(self) -> None:
        """Lines are cut to the width there is."""
        self.call_after_refresh(self._show_head)
        self.call_after_refresh(self._show_fish)

    def _tell(self, text: str) -> None:
        error = self.query_one("#exam-error", Static)
        error.update(literal(text))
        error.display = bool(text)

    # Typing

    @on(FishLine.Changed)
    def _typed(self, changed: FishLine.Changed) -> None:
        changed.stop()
        self._tell("")
        self.sheet.now = Typed(self._line.text)
        self._keep()
        self._read_line()

    @on(Input.Changed, "#exam-gear")
    def _gear_typed(self, changed: Input.Changed) -> None:
        changed.stop()
        self._tell("")
        self.sheet.texts["gear"] = changed.value
        self._keep()
        self._show_gear()

    @on(Input.Submitted, "#exam-gear")
    def _gear_entered(self, submitted: Input.Submitted) -> None:
        submitted.stop()
        self._line.type_on()

    @on(FishLine.Submitted)
    def _submitted(self, submitted: FishLine.Submitted) -> None:
        submitted.stop()
        self._next()

    @on(FishQuestion.Agreed)
    def _agreed(self, agreed: FishQuestion.Agreed) -> None:
        agreed.stop()
        self._next()

    def _next(self) -> None:
        """To the question if one is open, else to the next fish."""
        if self._understood is None or self.sheet.now.texts is not None:
            return
        if self._understood.doubts:
            self._line.ask()
        elif not self.sheet.now.empty:
            self._take()

    def _take(self) -> None:
        self.sheet.take()
        self._keep()
        self._show_fish()
        self._show_line()
        self._line.type_on()

    @on(FishQuestion.Answered)
    def _answered(self, answered: FishQuestion.Answered) -> None:
        from store.exams.line import answered as with_answer
        from store.exams.line import keep_in_note

        answered.stop()
        if self._understood is None:
            return
        doubt = answered.doubt
        text = (
            keep_in_note(self._understood, doubt)
            if answered.answer is None
            else with_answer(self._understood, doubt, answered.answer)
        )
        self.sheet.now = Typed(text)
        self._keep()
        self._show_line()
        if self._understood is not None and not self._understood.doubts:
            self._line.type_on()

    def _keep(self) -> None:
        # Before the book was read the draft is not known yet, and must not be written over.
        if self._draft is not None and self._beginning is not None:
            self._draft.keep(self.sheet.kept())


def in_short(fish: ExamFish) -> str:
    """A fish in few words, what was found on it before what else was seen.

    Examples
    --------
    >>> from store.exams.line import understand_fish
    >>> in_short(understand_fish("koi 45 cm, thin; gill: gill flukes 31, costia ++").fish)
    'koi · 45 cm · gill flukes 31, costia ++ · condition thin'
    """
    from dataclasses import replace

    from store.exams.line import say
    from store.exams.values import SCORES
    from store.facts.hazards import hazards

    found = []
    for _, one in fish.found:
        much = "" if one.counted is None else f" {one.counted}"
        if one.score is not None:
            much = f" {SCORES[one.score]}"
        sure = " suspected" if one.confidence == "suspected" else ""
        found.append(f"{hazards()[one.hazard].plain_name}{much}{sure}")
    first = replace(
        fish, condition="not looked", behaviour=(), signs=(), other="", treated="", photos=(),
        preparations=(), by_eye=(),
    )  # fmt: skip
    rest = replace(
        fish, species="", mark="", length_cm=None, weight_g=None, preparations=(), by_eye=()
    )
    nothing = "nothing found" if fish.preparations else "no preparation"
    parts = (say(first), ", ".join(found) or nothing, say(rest))
    return " · ".join(part for part in parts if part)
