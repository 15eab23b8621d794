"""A sheet of water tests in words: the lines of its preview, and what the strip tells of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import UUID

from rich.text import Text

from store.text import day_said
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from datetime import tzinfo

    from store.exchange.columns import Guess, Question
    from store.exchange.plain.planned import Refused
    from store.exchange.water.looked import Preview
    from store.exchange.water.rows import PlannedTest

TESTS = (
    Column("state", "State", 5),
    Column("line", "Line", 5, align="right", drop_order=2),
    Column("when", "Day", 18, drop_order=3),
    Column("pond", "Pond", 14, weight=1),
    Column("what", "What would be saved", 24, weight=3),
    Column("raw", "As it stands in the file", 34, weight=2, drop_order=1),
)
COLUMNS = (
    Column("state", "State", 5),
    Column("number", "No", 3, align="right", drop_order=2),
    Column("title", "Heading", 14, weight=1),
    Column("means", "Taken for", 18, weight=2),
    Column("why", "Why", 16, weight=1, drop_order=3),
    Column("cells", "First cells", 16, weight=2, drop_order=1),
)
ASK, SAID, KEPT, TEST, DOUBLE, LEFT, NOTHING, COLUMN, TROUBLE = (
    "ask", "said", "kept", "new", "there", "left", "no", "column", "trouble",
)  # fmt: skip
"""What a line is; its key is one of these with a place among its like."""
Key = tuple[str, int]
_STYLES = {"ask": "watch", "left": "act", "there": "quiet", "said": "quiet", "no": "quiet"}
_FIRST = 3
_WHOLE = "the whole file"


@dataclass(frozen=True, slots=True)
class Answered:
    """A question that was answered, as the reader takes the answer and in words."""

    question: Question
    value: str
    words: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that is shown of a sheet: the preview, the ponds by their names, what was answered."""

    preview: Preview
    ponds: Mapping[UUID, str]
    zone: tzinfo
    answered: tuple[Answered, ...] = ()

    @property
    def ponds_met(self) -> dict[UUID, str]:
        """The ponds that tests of the file are of, with client and pond."""
        plan = self.preview.plan
        tests = [*(() if plan is None else plan.items), *(one.test for one in self.preview.doubled)]
        return {one.pond: self.pond(one) for one in tests}

    @property
    def one_pond(self) -> str:
        """The pond that every test is of, by its name; empty where there are several, or none."""
        met = list(self.ponds_met.values())
        return met[0] if len(met) == 1 else ""

    @property
    def short_ponds(self) -> dict[UUID, str]:
        """The ponds of the file as a line shows them: without the client where that is enough."""
        met = self.ponds_met
        short = {key: name.rpartition(", ")[2] for key, name in met.items()}
        return short if len(set(short.values())) == len(short) else met

    @property
    def lines(self) -> list[tuple[int, Key]]:
        """Every line of the file that is told, in the order of the file."""
        plan = self.preview.plan
        tests = () if plan is None else plan.items
        refused = () if plan is None else plan.refused
        found: list[tuple[int, Key]] = [(one.line, (TEST, at)) for at, one in enumerate(tests)]
        found += [(one.test.line, (DOUBLE, at)) for at, one in enumerate(self.preview.doubled)]
        found += [(one.line, (LEFT, at)) for at, one in enumerate(refused)]
        found += [(one.line, (NOTHING, at)) for at, one in enumerate(self.preview.left_out)]
        return sorted(found, key=lambda one: one[0])

    def when(self, test: PlannedTest) -> str:
        """Day and time on the practice's clock, with a mark where the hour was supposed."""
        at = test.test.taken_at.astimezone(self.zone)
        return f"{day_said(at.date())} {at:%H:%M}{'?' if test.told else ''}"

    def pond(self, test: PlannedTest) -> str:
        """Client and pond."""
        return self.ponds.get(test.pond, test.called)

    def test_of(self, key: object) -> PlannedTest | None:
        """The test of a line, new or there already."""
        match key:
            case (str() as kind, int(at)) if kind == TEST and self.preview.plan is not None:
                return self.preview.plan.items[at]
            case (str() as kind, int(at)) if kind == DOUBLE:
                return self.preview.doubled[at].test
        return None

    def refused_of(self, key: object) -> Refused | None:
        """The refused row of a line."""
        match key:
            case (str() as kind, int(at)) if kind == LEFT and self.preview.plan is not None:
                return self.preview.plan.refused[at]
        return None

    def column_of(self, key: object) -> Guess | None:
        """The column of a line."""
        match key:
            case (str() as kind, int(at)) if kind == COLUMN:
                return columns_of(self.preview)[at][1]
        return None


def columns_of(preview: Preview) -> list[tuple[int, Guess]]:
    """Every column, those under later headings with the line of these, else 0."""
    found = [(0, one) for one in preview.columns]
    for line, columns in preview.later:
        found += [(line, one) for one in columns]
    return found


def rows_of(sheet: Sheet, *, columns: bool) -> list[Row]:
    """The lines of the page: what is asked, then the tests, or what was said and the columns.

    Parameters
    ----------
    sheet
        What is shown.
    columns
        Show what the columns are taken for in place of what would be saved.
    """
    preview = sheet.preview
    asked: list[tuple[Key, str, str, str]] = []
    if preview.trouble is not None:
        asked.append(((TROUBLE, 0), ASK, _WHOLE, preview.trouble.message))
    asked += [
        ((ASK, at), ASK, one.about or _WHOLE, one.text) for at, one in enumerate(preview.questions)
    ]
    if preview.kept is not None and preview.kept.shape.as_json():
        said = f"read as was said of {preview.kept.name}: {kept_said(preview)}"
        asked.append(((KEPT, 0), SAID, _WHOLE, said))
    if not columns:
        rows = [
            Row(key, (_styled(state), "", "", one_line(whose), one_line(text), ""))
            for key, state, whose, text in asked
        ]
        ponds = sheet.short_ponds
        rows += [_row(sheet, line, key, ponds) for line, key in sheet.lines]
        if not sheet.one_pond:
            return rows
        place = [one.key for one in TESTS].index("pond")
        return [Row(row.key, (*row.cells[:place], *row.cells[place + 1 :])) for row in rows]
    asked += [
        ((SAID, at), SAID, one.question.about or _WHOLE, one.words)
        for at, one in enumerate(sheet.answered)
    ]
    rows = [
        Row(key, (_styled(state), "", one_line(whose), one_line(text), "", ""))
        for key, state, whose, text in asked
    ]
    return [*rows, *_column_rows(preview)]


def kept_said(preview: Preview) -> str:
    """What is remembered of an earlier file, in words."""
    if preview.kept is None:
        return ""
    shape = preview.kept.shape
    orders = {
        "dmy": "day before month", "mdy": "month before day", "ymd": "the year in front",
        "each": "days that can be read in one way alone",
    }  # fmt: skip
    said = [f"“{key}” is {what}" for key, what in shape.columns.items()]
    said += [orders[shape.order]] if shape.order in orders else []
    said += {"same": ["a blank means the same as above"], "none": ["a blank is none"]}.get(
        shape.blank, []
    )
    return "; ".join(said)


def _column_rows(preview: Preview) -> list[Row]:
    names = {
        one.number: (one.part or "no time")
        if one.of_row
        else f"of {one.label or f'block {one.number + 1}'}"
        for one in preview.blocks
    }
    rows = []
    for at, (line, one) in enumerate(columns_of(preview)):
        means = "not read" if one.meaning == "ignore" else one.words
        if one.block is not None and not line:
            means = f"{means}, {names.get(one.block, '')}"
        if line:
            means = f"{means}, from line {line} on"
        sure = "" if one.sure in ("sure", "said") else ", not certain"
        rows.append(
            Row(
                (COLUMN, at),
                (
                    _styled("said" if one.sure == "said" else ""),
                    str(one.column + 1),
                    one_line(one.title) or "no heading",
                    _cell(means, "quiet" if one.meaning == "ignore" else ""),
                    _cell(f"{one.why}{sure}", "quiet"),
                    _cell("" if line else first_cells(preview, one), "quiet"),
                ),
            )
        )
    return rows


def first_cells(preview: Preview, one: Guess) -> str:
    """The first cells of a column that hold something, as they stand in the file."""
    held = [cells[one.column] for _, cells in preview.rows if one.column < len(cells)]
    return one_line(" · ".join([cell.strip() for cell in held if cell.strip()][:_FIRST]))


def _row(sheet: Sheet, line: int, key: Key, ponds: Mapping[UUID, str]) -> Row:
    kind, at = key
    if (test := sheet.test_of(key)) is not None:
        style = "quiet" if kind == DOUBLE else ""
        raw = " · ".join(cell for _, cell in test.raw)
        texts = (sheet.when(test), ponds[test.pond], test.words, raw)
        cells = tuple(_cell(text, style) for text in texts)
        return Row(key, (_styled(kind), str(line), *cells))
    refused = sheet.refused_of(key)
    if refused is not None:
        raw = " · ".join(cell.strip() for cell in refused.cells if cell.strip())
        return Row(key, (_styled(kind), str(line), "", "", one_line(refused.reason), one_line(raw)))
    out = sheet.preview.left_out[at]
    cells = (_cell(out.why, "quiet"), _cell(out.text, "quiet"))
    return Row(key, (_styled(kind), str(line), "", "", *cells))


def _styled(text: str) -> Text:
    return _cell(text, _STYLES.get(text, ""))


def _cell(text: str, style: str = "") -> Text:
    shown = one_line(text)
    return Text.assemble((shown, style), end="") if style else Text(shown, end="")


def columns_shown(sheet: Sheet, *, columns: bool) -> tuple[Column, ...]:
    """The columns of the page; the pond has none where every test is of the same one.

    Parameters
    ----------
    sheet
        What is shown.
    columns
        What the columns are taken for is shown, not what would be saved.
    """
    if columns:
        return COLUMNS
    return tuple(one for one in TESTS if one.key != "pond" or not sheet.one_pond)


def state_said(sheet: Sheet) -> str:
    """How much would be saved, is there, is left out and asked, in one line."""
    preview = sheet.preview
    whose = [one for one in (sheet.one_pond, preview.sheet and f"sheet “{preview.sheet}”") if one]
    asked = len(preview.questions)
    plan = preview.plan
    if plan is None:
        waits = "say what the columns are" if preview.trouble is not None else f"{asked} asked"
        return one_line("   ".join([waits, "nothing is read before that", *whose]))
    new = len(plan.items)
    said = [f"{new:,} {'test' if new == 1 else 'tests'} to save"]
    if asked:
        said.append(f"{asked} asked")
    if plan.refused:
        said.append(f"{len(plan.refused):,} left out")
    if plan.already:
        said.append(f"{plan.already:,} there already")
    # On a narrow terminal the names at the end go first.
    return one_line("   ".join([*said, *whose]))
