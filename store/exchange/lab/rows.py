"""The results of a sheet, line by line: each wholly understood, asked about, or refused."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from store.errors import BadInput
from store.exchange.columns.dates import day_cell, resolved
from store.exchange.columns.lines import DITTO
from store.exchange.columns.named import NamedRow, NamedSheet
from store.exchange.columns.question import Answer, Question
from store.exchange.columns.said import key_of
from store.exchange.columns.words import same
from store.exchange.lab.looked_for import hazards_of, words_folded
from store.exchange.lab.report_number import ReportNumber, report_number
from store.exchange.lab.resistance import Tested, letter_of
from store.exchange.lab.result_words import ANSWERS, ResultSaid, folded, result_said
from store.exchange.lab.sheet_kind import DAYS, RESISTANCE, TEST
from store.facts.hazards import hazards
from store.text import day_said, joined, plain

SHORT_NUMBER = 4
"""A number of fewer figures names a sample within its report alone."""
NO_HAZARD = "none"
"""The answer that a test is about no hazard of the list."""


@dataclass(frozen=True, slots=True)
class Result:
    """One result as the file says it: whose sample, which test, what was said, and when.

    `result` is one of the book's, `awaited` among them. `hazard` is a code of the list, empty where
    the test is about none of it. `raw` are the words of the result as they stand in the file.
    """

    row: NamedRow
    number: ReportNumber
    case: str
    sample: str
    mark: str
    species: str
    organ: str
    test: str
    method: str
    hazard: str
    result: str
    raw: str
    number_only: bool
    said: str
    laboratory: str
    client: str
    pond: str
    code: str
    taken_on: date | None
    sent_on: date | None
    received_on: date | None
    reported_on: date | None

    @property
    def line(self) -> int:
        """Where it stands in the file."""
        return self.row.line

    @property
    def label(self) -> str:
        """What is written on the sample, as far as the file knows: the sender's mark goes first.

        A number within a report, such as 1, stands behind that of the report.
        """
        report = self.case or self.number.number
        if self.mark or not self.sample:
            return self.mark or report
        short = self.sample.isdigit() and len(self.sample) < SHORT_NUMBER and report
        return f"{report}/{self.sample}" if short else self.sample

    @property
    def material(self) -> str:
        """What it is, such as `gill of koi`."""
        return " of ".join(part for part in (self.organ, self.species) if part)

    @property
    def named(self) -> str:
        """The test with its method, as what is said of it begins."""
        return named_test(self.test, self.method)

    @property
    def notifiable(self) -> str:
        """The notifiable disease that it reports detected, in plain words; else empty."""
        hazard = hazards().get(self.hazard) if self.result == "detected" else None
        return hazard.plain_name if hazard is not None and hazard.notifiable else ""

    @property
    def key(self) -> str:
        """What tells the tests of one sample apart."""
        return words_folded(self.named)


@dataclass
class Asked:
    """A word that is asked about, with the lines that wait for it."""

    about: str
    shown: str
    lines: list[int]


class ResultRows:
    """Reads the rows of a sheet of results.

    Parameters
    ----------
    sheet
        The sheet; its `order` of days is found.
    facts
        What the lines above the headings say, by role.
    """

    def __init__(self, sheet: NamedSheet, facts: Mapping[str, str]) -> None:
        self.sheet, self.facts = sheet, facts
        self.refused: list[tuple[NamedRow, str]] = []
        self.not_tested: list[int] = []
        self.prose: list[int] = []
        self._words: dict[str, Asked] = {}
        self._tests: dict[str, tuple[Asked, tuple[str, ...]]] = {}
        self._fresh: set[str] = set()
        self._case = ""

    @property
    def questions(self) -> tuple[Question, ...]:
        """The words and tests that only a person can place."""
        words = [
            Question(
                "result",
                f"The file gives “{one.shown:.60}” as a result ({_lines(one.lines)}). What does "
                "the laboratory mean by it?",
                tuple(Answer(value, f"{value}: {means}") for value, means in ANSWERS.items()),
                about=one.about,
            )
            for one in self._words.values()
        ]
        tests = [_which(one, codes) for one, codes in self._tests.values()]
        return (*words, *tests)

    def results(self) -> list[Result]:
        """Every result that is understood; the others are asked about or refused."""
        found: list[Result] = []
        for row in self.sheet.rows:
            self._begin(row)
            try:
                found.extend(self._of(row))
            except BadInput as error:
                self.refused.append((row, error.message))
        return found

    def notifiable_in(self, row: NamedRow) -> str:
        """The notifiable disease that a refused row reports detected, as far as it can be read.

        Parameters
        ----------
        row
            The row.
        """
        pairs = [(row.text("test"), row.text("result")), (row.text("test"), row.text("verdict"))]
        pairs += [
            (one.meaning.removeprefix(TEST), row.cell(one))
            for one in row.columns
            if one.meaning.startswith(TEST)
        ]
        for test, cell in pairs:
            said = result_said(cell, self._answer)
            if said is None or said.said != "detected":
                continue
            for code in hazards_of(test) or hazards_of(cell):
                if hazards()[code].notifiable:
                    return hazards()[code].plain_name
        return ""

    def beside(self, row: NamedRow) -> list[Tested]:
        """What the columns of S, I and R of a row say; to be asked for once its result is read.

        Parameters
        ----------
        row
            The row.
        """
        return [
            Tested(row.raw, one.meaning.removeprefix(RESISTANCE), letter_of(cell), "",
                   plain(row.text("sample") or row.text("mark")), plain(row.text("case")), "")
            for one in row.columns
            if one.meaning.startswith(RESISTANCE) and (cell := row.raw.cell(one.place).strip())
        ]  # fmt: skip

    def _begin(self, row: NamedRow) -> None:
        """A new case begins: what stands above belongs to another one."""
        own = row.own("case") or row.own("report")
        if own and not DITTO.fullmatch(own) and same(own) != self._case:
            self._case, self._fresh = same(own), set()
        for one in row.columns:
            text = row.raw.cell(one.place).strip()
            if text and not DITTO.fullmatch(text):
                self._fresh.add(one.meaning)

    def _text(self, row: NamedRow, role: str) -> str:
        text = row.text(role)
        if text and role not in self._fresh:
            text = ""
        return plain(" ".join(text.split())) or (
            "" if self.sheet.has(role) else self.facts.get(role, "")
        )

    def _of(self, row: NamedRow) -> Iterator[Result]:
        own = [one for one in row.columns if one.meaning.startswith(TEST)]
        if not own:
            words = self._result(row)
            if words is not None:
                yield self._made(row, self._text(row, "test"), *words, self._text(row, "unit"))
            return
        held = [(one, cell) for one in own if (cell := row.cell(one))]
        if not held:
            raise BadInput("The row has no result.")
        for one, cell in held:
            test = one.meaning.removeprefix(TEST)
            said = result_said(cell, self._answer)
            if said is not None and self._placed(row, said, test):
                yield self._made(row, test, said, said.words, one.unit)

    def _result(self, row: NamedRow) -> tuple[ResultSaid, str] | None:
        """What result, interpretation and Ct value of a row say together."""
        first = result_said(row.text("result"), self._answer)
        verdict = result_said(row.text("verdict"), self._answer)
        ct = " ".join(plain(row.text("ct")).split())
        if ct and ct[0].isdigit():
            ct = f"Ct {ct}"
        parts = [one.words for one in (first, verdict) if one is not None]
        words = "; ".join(dict.fromkeys([*parts, *([ct] if ct else [])]))
        decisive = ("detected", "not detected")
        said = first
        if verdict is not None and (first is None or first.number_only or first.prose):
            said = verdict
        elif first is not None and verdict is not None and first.said != verdict.said:
            # A laboratory that is not sure says neither; what it did not find becomes unclear.
            both = {first.said, verdict.said}
            if both == set(decisive) or (first.said, verdict.said) == ("detected", "unclear"):
                raise BadInput(
                    f"The result “{first.words:.40}” and the interpretation “{verdict.words:.40}” "
                    "say two things. Ask the laboratory."
                )
            if (first.said, verdict.said) == ("not detected", "unclear"):
                said = verdict
            else:
                said = verdict if verdict.said in (*decisive, "asked") else first
        if said is None and ct:
            said = ResultSaid("unclear", ct, number_only=True)
        if said is None:
            raise BadInput("The row has no result.")
        return (said, words) if self._placed(row, said, self._text(row, "test")) else None

    def _answer(self, word: str) -> str:
        # Said of that word alone: what is said of a whole file would turn found into not found.
        return self.sheet.said.answers.get(key_of("result", word), "")

    def _placed(self, row: NamedRow, said: ResultSaid, test: str) -> bool:
        """Whether the words say a result; what has to be asked is noted."""
        if said.said == "asked":
            shown = said.words if folded(said.words) == said.word else said.word
            asked = self._words.setdefault(said.word, Asked(said.word, shown, []))
            asked.lines.append(row.line)
        elif said.said == "not tested":
            self.not_tested.append(row.line)
        elif said.prose:
            self.prose.append(row.line)
        return said.said not in ("asked", "not tested")

    def _made(self, row: NamedRow, test: str, found: ResultSaid, words: str, unit: str) -> Result:
        hazard = self._hazard(row, test, found)
        # While the order of day and month is asked, all else that is open is asked beside it.
        open_order = any(one.field in ("order", "year") for one in self.sheet.questions)
        days = {role: None if open_order else self._day(row, role) for role in DAYS}
        number = self._text(row, "report") or self._text(row, "case")
        case = self._text(row, "case")
        text = {
            role: self._text(row, role)
            for role in ("sample", "mark", "species", "organ", "laboratory", "client", "pond",
                         "code")
        }  # fmt: skip
        if unit and not any(map(str.isdigit, words)):
            unit = ""
        return Result(
            row, report_number(number, self._text(row, "version")),
            report_number(case).number if case else "",
            test=test, method=self._text(row, "method"),
            hazard=hazard,
            result=found.said, raw=words, number_only=found.number_only,
            said=self._said(row, test, words, unit, days["received"]),
            taken_on=days["taken"], sent_on=days["sent"], received_on=days["received"],
            reported_on=days["reported"], **text,
        )  # fmt: skip

    def _hazard(self, row: NamedRow, test: str, found: ResultSaid) -> str:
        """The hazard of the list; asked where a test names several, or finds one it does not name.

        A result that is not detected or unclear opens nothing, so nobody is asked about it.
        """
        about = test or "result"
        codes = hazards_of(test)
        if not codes:  # “Aeromonas salmonicida isolated” names what the test does not
            named = hazards_of(found.words)
            codes = named if len(named) == 1 else ()
            if codes and found.said == "detected":
                # What was said of the test, perhaps for an earlier file, does not unsay the words.
                return codes[0]
        answer = self.sheet.said.answers.get(key_of("test", about), "")
        if answer in hazards():
            return answer
        if answer.casefold() == NO_HAZARD:
            return ""
        if len(codes) == 1:
            return codes[0]
        if codes or found.said == "detected":
            asked, _ = self._tests.setdefault(words_folded(about), (Asked(about, about, []), codes))
            asked.lines.append(row.line)
        return ""

    def _day(self, row: NamedRow, role: str) -> date | None:
        cell = self._text(row, role)
        if not cell:
            return None
        found = day_cell(cell)
        return resolved(found, self.sheet.order, self.sheet.years.of(found, self.sheet.order))

    def _said(
        self, row: NamedRow, test: str, words: str, unit: str, received: date | None
    ) -> str:  # fmt: skip
        """What the report says of it, in words; the words of the file stay as they are."""
        sample = self._text(row, "sample")
        return joined(
            (
                f"{named_test(test, self._text(row, 'method'))}: {words}"
                + (f" {unit}" if unit else ""),
                f"sample {sample}" if sample and self._text(row, "mark") else "",
                f"received {day_said(received)}" if received is not None else "",
                plain(" ".join(row.text("note").split())),
            )
        )


def named_test(test: str, method: str) -> str:
    """A test with its method, where its name does not say it; no colon in it.

    Parameters
    ----------
    test, method
        As they stand in the file.

    Examples
    --------
    >>> named_test("KHV", "real-time PCR"), named_test("KHV PCR", "PCR"), named_test("", "")
    ('KHV (real-time PCR)', 'KHV PCR', 'Result')
    """
    known = words_folded(method) in words_folded(test)
    named = (test or "Result") + (f" ({method})" if method and not known else "")
    return " ".join(named.replace(":", " ").split())


def _which(one: Asked, codes: Sequence[str]) -> Question:
    """Which disease of the list a test is about; the notifiable ones first where none is named."""
    named = bool(codes)
    if named:
        text = (
            f"“{one.shown:.60}” names more than one disease ({_lines(one.lines)}). Which of them "
            "is its result about?"
        )
    else:
        text = (
            f"“{one.shown:.60}” found something ({_lines(one.lines)}), and its name is of no "
            "disease of the list. Is it about one of them?"
        )
        known = [each for each in hazards().values() if each.kind != "environment"]
        codes = [each.code for each in sorted(known, key=lambda each: not each.notifiable)]
    none = Answer(NO_HAZARD, "none of them alone: it is kept in words")
    listed = [Answer(code, hazards()[code].plain_name) for code in codes]
    # Where diseases are named one of them is likelier than none, and else none than any.
    answers = (*listed, none) if named else (none, *listed)
    return Question("test", text, answers, about=one.about)


def _lines(lines: Sequence[int]) -> str:
    if len(lines) == 1:
        return f"line {lines[0]}"
    return f"{len(lines)} times, line {lines[0]} first"
