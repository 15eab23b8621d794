"""A sheet of water tests in words: the lines of its preview, and what the strip tells of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import UUID

from rich.text import Text

from store.text import day_said
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from datetime import tzinfo

    from store.exchange.columns import Guess, LeftOut, Question
    from store.exchange.plain.planned import Refused
    from store.exchange.water.doubled import Doubled
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
        one.number: (one.part or "no time said")
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
    said = [one for one in (preview.sheet and f"sheet “{preview.sheet}”", sheet.one_pond) if one]
    asked = len(preview.questions)
    plan = preview.plan
    if plan is None:
        waits = "say what the columns are" if preview.trouble is not None else f"{asked} asked"
        return one_line("   ".join([*said, waits, "nothing is read before that"]))
    new = len(plan.items)
    said.append(f"{new:,} {'test' if new == 1 else 'tests'} to save")
    if plan.already:
        said.append(f"{plan.already:,} there already")
    if plan.refused:
        said.append(f"{len(plan.refused):,} left out")
    if asked:
        said.append(f"{asked} asked")
    return one_line("   ".join(said))


def told(sheet: Sheet, key: object) -> Told | None:
    """What the strip tells of a line.

    Parameters
    ----------
    sheet
        What is shown.
    key
        Of the line.
    """
    preview = sheet.preview
    match key:
        case (str() as kind, _) if kind == TROUBLE and preview.trouble is not None:
            return Told(one_line(preview.trouble.message), "", "",
                        "Next: c shows the columns; enter on one says what it is.")  # fmt: skip
        case (str() as kind, int(at)) if kind == ASK and at < len(preview.questions):
            return _told_question(preview.questions[at])
        case (str() as kind, int(at)) if kind == SAID and at < len(sheet.answered):
            one = sheet.answered[at]
            return Told(one_line(one.question.text), one_line(f"Answered: {one.words}."), "",
                        "Next: enter answers otherwise.")  # fmt: skip
        case (str() as kind, _) if kind == KEPT and preview.kept is not None:
            day = day_said(preview.kept.said_at.astimezone(sheet.zone).date())
            return Told(
                one_line(f"Read as was said on {day} for {preview.kept.name}"),
                one_line(kept_said(preview)), "It has the same headings.",
                "Next: f takes the file afresh; a column can be said otherwise.",
            )  # fmt: skip
        case (str() as kind, _) if kind == COLUMN:
            column = sheet.column_of(key)
            return None if column is None else _told_column(preview, column)
    test = sheet.test_of(key)
    if test is not None:
        double = preview.doubled[key[1]] if isinstance(key, tuple) and key[0] == DOUBLE else None
        return _told_test(sheet, test, double)
    return _told_left(sheet, key)


def _told_question(one: Question) -> Told:
    labels = "; ".join(each.label for each in one.answers)
    need = "" if one.needed else "It may stay open; then those rows are left out."
    return Told(one_line(one.text), one_line(labels), need, "Next: enter answers.")


def _told_column(preview: Preview, one: Guess) -> Told:
    means = "not read" if one.meaning == "ignore" else f"taken for {one.words}"
    first = first_cells(preview, one)
    return Told(
        one_line(f"Column {one.column + 1}, “{one.title}”: {means}"),
        one_line(f"It begins: {first}" if first else "Its first cells are empty."),
        one_line(f"Why: {one.why}."),
        "Next: enter says what it is, and in which unit.",
    )


def _told_test(sheet: Sheet, test: PlannedTest, double: Doubled | None) -> Told:
    head = f"Line {test.line}, {sheet.when(test)}, {sheet.pond(test)}"
    if double is not None:
        return Told(one_line(f"{head}: passed over"), one_line(double.why),
                    one_line(test.words))  # fmt: skip
    return Told(
        one_line(head),
        one_line("; ".join(beside(test))),
        one_line(f"By {test.by}." if test.by else ""),
        one_line(f"Note: {test.test.note}" if test.test.note else ""),
    )


def _told_left(sheet: Sheet, key: object) -> Told | None:
    refused = sheet.refused_of(key)
    if refused is not None:
        cells = " · ".join(cell.strip() for cell in refused.cells if cell.strip())
        return Told(f"Line {refused.line} is left out", one_line(cells), "",
                    one_line(refused.reason))  # fmt: skip
    match key:
        case (str() as kind, int(at)) if kind == NOTHING:
            out: LeftOut = sheet.preview.left_out[at]
            return Told(one_line(f"Line {out.line} is {out.why}"), one_line(out.text))
    return None


def beside(test: PlannedTest) -> list[str]:
    """Each reading as it would be saved, with the heading and the cell it was read from.

    Parameters
    ----------
    test
        A test of the file.
    """
    from store.water.understood import shown

    return [
        f"{shown(reading)} ← {title} “{cell}”"
        for reading, (title, cell) in zip(test.test.readings, test.raw, strict=True)
    ]


def in_full(sheet: Sheet, key: object) -> tuple[str, str] | None:
    """Title and text of a line of the file that is told on a sheet of its own; else nothing.

    Parameters
    ----------
    sheet
        What is shown.
    key
        Of the line.
    """
    test = sheet.test_of(key)
    preview = sheet.preview
    if test is not None:
        lines = [f"{sheet.pond(test)}, {sheet.when(test)}", "", *beside(test), ""]
        lines += [f"Note: {test.test.note}"] if test.test.note else []
        lines += [f"In: {test.test.place}"] if test.test.place else []
        lines += [f"Taken by {test.by}"] if test.by else []
        if isinstance(key, tuple) and key[0] == DOUBLE:
            lines.insert(0, f"Passed over: {preview.doubled[key[1]].why}.")
        return f"Line {test.line}", "\n".join(lines).strip()
    refused = sheet.refused_of(key)
    if refused is not None:
        cells = _under_headings(preview.header, refused.cells)
        return f"Line {refused.line} is left out", "\n".join([refused.reason, "", *cells])
    match key:
        case (str() as kind, int(at)) if kind == NOTHING:
            out = preview.left_out[at]
            return f"Line {out.line} is no test", f"It is {out.why}.\n\n{out.text}"
        case (str() as kind, _) if kind == TROUBLE and preview.trouble is not None:
            return "What the columns are", preview.trouble.message
        case (str() as kind, _) if kind == KEPT and preview.kept is not None:
            text = f"{kept_said(preview)}.\n\nf takes the file afresh, without it."
            return f"As was said of {preview.kept.name}", text
    return None


def _under_headings(header: Sequence[str], cells: Sequence[str]) -> list[str]:
    return [
        f"{header[at]}: {cell}" if at < len(header) and header[at] else cell
        for at, cell in enumerate(cells)
        if cell.strip()
    ]
