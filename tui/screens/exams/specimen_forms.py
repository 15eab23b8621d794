"""The forms of a sample for a laboratory: taken, sent, reported."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, cast
from uuid import UUID

from store.errors import BadInput
from tui.screens.exams.examination_fields import CELLS, hazard_choices
from tui.screens.parts.edit import FormScreen
from tui.widgets.fields import Field
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.courses.kept.exam_page import ExamPage
    from store.exams.specimens import LabSample, Result

RESULTS = (
    ("not detected", "not detected"), ("detected", "detected"), ("unclear", "unclear: in words")
)  # fmt: skip


class SampleScreen(FormScreen):
    """A sample that was taken for a laboratory.

    Parameters
    ----------
    page
        The examination it comes from.
    fish
        Key of the fish under the cursor; None for none.
    """

    QUESTION = "What was taken, for whom, and what is asked?"
    ABOUT = (
        "What is written on the bag or tube finds it again when the result comes. Leave the day on "
        "which it was sent empty while it lies in the fridge. It is awaited until its report is "
        "entered. F2 saves."
    )

    def __init__(self, page: ExamPage, fish: UUID | None) -> None:
        choices = tuple(
            (str(one.id), one_line(f"fish {one.fish.nth} {one.fish.species}".strip()))
            for one in page.kept.fish
        )
        day = page.kept.exam.at.astimezone(page.zone).date().isoformat()
        fields = (
            Field("label", "written on it", "number or name", width=CELLS),
            Field("material", "what it is", "gill and kidney", width=CELLS),
            Field("fish", "of", "empty: of several", str(fish or ""), choices=choices,
                  width=CELLS),
            Field("laboratory", "laboratory", "where it goes", width=CELLS),
            Field("asked", "asked", "what to look for", width=CELLS),
            Field("hazard", "about", "if in the list", choices=hazard_choices(nothing=False),
                  width=CELLS),
            Field("taken_on", "taken on", "today, Mon, 12 Mar", day, width=CELLS),
            Field("sent_on", "sent on", "empty: not yet", width=CELLS),
        )  # fmt: skip
        super().__init__("A sample for a laboratory", fields, f"sample-{page.kept.id}")
        self._page = page

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Keep it; its result is awaited from now on."""
        app = self.ponds_app
        return await app.ask_store(self._add, app.book, act, texts)

    def _add(self, book: Book, act: Act, texts: Mapping[str, str]) -> UUID:
        from store.book.days import typed_day
        from store.exams.specimens import add_sample

        if not texts["label"].strip():
            raise BadInput("What is written on it? Nothing was saved yet.", field="label")
        today = book.today(act.at)
        sent = texts["sent_on"].strip()
        with book.writing(act) as writing:
            return add_sample(
                writing,
                self._page.kept.pond_id,
                label=texts["label"].strip(),
                taken_on=typed_day(texts["taken_on"], today, ahead=False, field="taken_on"),
                material=texts["material"].strip(),
                laboratory=texts["laboratory"].strip(),
                asked=texts["asked"].strip(),
                hazard=texts["hazard"],
                sent_on=typed_day(sent, today, ahead=False, field="sent_on") if sent else None,
                examination_id=self._page.kept.id,
                fish_id=UUID(texts["fish"]) if texts["fish"] else None,
            )


class SendScreen(FormScreen):
    """The day on which a sample was sent.

    Parameters
    ----------
    sample
        As it stands.
    """

    QUESTION = "When was it sent, and where?"
    ABOUT = "The days until its result are counted from then. F2 saves."

    def __init__(self, sample: LabSample) -> None:
        fields = (
            Field("sent_on", "sent on", "today, Mon, 12 Mar", "today", width=CELLS),
            Field("laboratory", "laboratory", "where it went", sample.laboratory, width=CELLS),
        )
        super().__init__(one_line(f"Sent: “{sample.label}”"), fields, f"send-{sample.id}")
        self._sample = sample

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Note the day."""
        app = self.ponds_app
        return await app.ask_store(self._send, app.book, act, texts)

    def _send(self, book: Book, act: Act, texts: Mapping[str, str]) -> UUID:
        from store.book.days import typed_day
        from store.exams.specimens import send_sample

        day = typed_day(texts["sent_on"], book.today(act.at), ahead=False, field="sent_on")
        with book.writing(act) as writing:
            send_sample(writing, self._sample.id, self._sample.rev, day, texts["laboratory"])
        return self._sample.id


class ReportScreen(FormScreen):
    """What a laboratory reported; a later report amends the first, which stays to be read.

    Parameters
    ----------
    sample
        As it stands.
    """

    QUESTION = "What did the laboratory report?"
    ABOUT = (
        "The result, the day of the report, and what it says in words; an unclear result needs "
        "them. The report itself is named by its file or number. Where a report stands already "
        "this one amends it, and the first stays to be read. F2 saves."
    )

    def __init__(self, sample: LabSample) -> None:
        amends = sample.result != "awaited"
        fields = (
            Field("result", "result", f"so far: {sample.result}" if amends else "",
                  choices=RESULTS, width=CELLS),
            Field("reported_on", "reported on", "today, Mon, 12 Mar", "today", width=CELLS),
            Field("said", "in words", "what it says", lines=3),
            Field("report", "report", "its file or number", width=CELLS),
        )  # fmt: skip
        title = f"{'Amended report' if amends else 'Report'}: “{sample.label}”"
        super().__init__(one_line(title), fields, f"report-{sample.id}")
        self._sample = sample

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Enter it."""
        app = self.ponds_app
        return await app.ask_store(self._report, app.book, act, texts)

    def _report(self, book: Book, act: Act, texts: Mapping[str, str]) -> UUID:
        from store.book.days import typed_day
        from store.exams.specimens import report_result

        day = typed_day(texts["reported_on"], book.today(act.at), ahead=False, field="reported_on")
        with book.writing(act) as writing:
            return report_result(
                writing, self._sample.id, self._sample.rev, cast("Result", texts["result"]), day,
                said=texts["said"], report=texts["report"].strip(),
            )  # fmt: skip
