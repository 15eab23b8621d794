"""What becomes of results: they answer an awaited sample, amend a report, are new, or known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from uuid import UUID

from store.errors import BadInput
from store.exams.specimens import AMENDED, LabSample
from store.exchange.lab.looked_for import words_folded
from store.exchange.lab.report_number import number_folded, report_number
from store.exchange.lab.rows import Result
from store.exchange.lab.samples import Samples, awaited_for, labels_of, report_of
from store.exchange.plain.cells import cell_value
from store.facts.hazards import hazards
from store.text import day_said


@dataclass(frozen=True, slots=True)
class Planned:
    """A result that would be saved at a pond.

    `answers` is the awaited sample that gets it, `amends` the report that it takes the place of,
    `after` the result of the same file that it amends; `beside` the sample in the book from whose
    label, fish and days a further test of it takes its own.
    """

    result: Result
    pond: UUID
    called: str
    said: str
    answers: LabSample | None = None
    amends: LabSample | None = None
    after: int | None = None
    beside: LabSample | None = None

    @property
    def line(self) -> int:
        """Where it stands in the file."""
        return self.result.line

    @property
    def words(self) -> str:
        """In one line, as a person looks it over before it is saved."""
        result = self.result
        raw = "" if result.raw.casefold() == result.result else f" (“{result.raw:.60}”)"
        return f"{self.called}, “{result.label}”, {result.named}: {result.result}{raw}; {self.how}"

    @property
    def how(self) -> str:
        """What would be done with it, in words; what opens a suspicion says so."""
        if self.opens_suspicion:
            return f"STOP, notifiable: its suspicion opens; {self._how}"
        if self.takes_back:
            return f"STOP, notifiable: takes back what its suspicion rests on; {self._how}"
        return self._how

    @property
    def opens_suspicion(self) -> bool:
        """Whether it reports a notifiable disease detected."""
        return bool(self.result.notifiable)

    @property
    def takes_back(self) -> bool:
        """Whether it amends a report of a notifiable disease detected, and finds it no longer."""
        if self.result.result == "detected" or self.amends is None:
            return False
        hazard = hazards().get(self.amends.hazard)
        return hazard is not None and hazard.notifiable and self.amends.result == "detected"

    @property
    def _how(self) -> str:
        if self.answers is not None:
            one = self.answers
            return f"the result of “{one.label}”, awaited since {day_said(one.taken_on)}"
        if self.amends is not None or self.after is not None:
            before = "" if self.amends is None else f" “{self.amends.result}”"
            return f"amends the report before it{before}, which stays to be read"
        if self.beside is not None:
            return f"a further test of “{self.beside.label}”"
        return "a sample that the book does not have yet"


@dataclass(frozen=True, slots=True)
class Settled:
    """What would be saved, what is known already, and what is refused with the reason."""

    planned: tuple[Planned, ...]
    already: int
    refused: tuple[tuple[Result, str], ...]


def settle(
    results: Sequence[tuple[Result, UUID, str, str]], samples: Sequence[LabSample], today: date
) -> Settled:
    """What becomes of each result; the versions of one report in their order.

    Parameters
    ----------
    results
        Result, pond, the pond's name, and all that the report says of it.
    samples
        Every sample of those ponds, those struck through as well.
    today
        The practice's calendar day.
    """
    return _Settling(Samples(samples), today).all(results)


class _Settling:
    def __init__(self, samples: Samples, today: date) -> None:
        self._today = today
        self._samples = samples
        self._taken: set[UUID] = set()
        self.planned: list[Planned] = []
        self.already = 0
        self.refused: list[tuple[Result, str]] = []
        self._here: dict[tuple[UUID, str, str, str], int] = {}

    def all(self, results: Sequence[tuple[Result, UUID, str, str]]) -> Settled:
        """Settle every result, and hand out what was found."""
        first_by_hazard = sorted(
            results, key=lambda one: (one[0].number.version, not one[0].hazard, one[0].line)
        )
        for result, pond, called, said in first_by_hazard:
            reason = _cannot_be_kept(result, said) or self._one(Planned(result, pond, called, said))
            if reason:
                self.refused.append((result, reason))
        return Settled(tuple(self.planned), self.already, tuple(self.refused))

    def _one(self, one: Planned) -> str:
        result = one.result
        known = [
            sample for sample in self._samples.reported(result)
            if sample.pond_id == one.pond and sample.result != "awaited"
        ]  # fmt: skip
        report = result.number.folded or str(result.reported_on)
        place = (one.pond, number_folded(result.label), report, result.key)
        before = self._here.get(place)
        if before is not None:
            return self._again(one, before, place)
        of_it = [each for each in known if _same_sample(each, result)]
        reported = [each for each in of_it if _same_test(each, result)]
        if any(_says_the_same(each, one) or _struck_by_a_person(each) for each in reported):
            self.already += 1
            return ""
        standing = [each for each in reported if each.struck_at is None]
        if not standing and result.hazard:
            # The laboratory may have put the test in other words when it amended its report.
            older = [
                each for each in of_it
                if each.struck_at is None and each.hazard == result.hazard
                and report_number(report_of(each)).version < result.number.version
            ]  # fmt: skip
            standing = older if len(older) == 1 else []
        if standing:
            return self._amend(one, standing[0], place)
        return self._answer(one, place)

    def _again(self, one: Planned, before: int, place: tuple[UUID, str, str, str]) -> str:
        """The same test of the same sample once more in the file."""
        earlier = self.planned[before]
        if earlier.result.number.version == one.result.number.version:
            if (earlier.said, earlier.result.result) == (one.said, one.result.result):
                self.already += 1
                return ""
            return (
                f"Line {earlier.line} gives another result of the same test of the same sample. "
                "Write v2 behind the number of the report that the laboratory amended."
            )
        if earlier.result.result == "awaited":
            reason = _wrong_days(replace(one, answers=earlier.answers), None, self._today)
            if not reason:
                self.planned[before] = replace(earlier, result=one.result, said=one.said)
            return reason
        return self._keep(replace(one, after=before), place, earlier.result.reported_on)

    def _amend(self, one: Planned, standing: LabSample, place: tuple[UUID, str, str, str]) -> str:
        version = report_number(report_of(standing)).version
        if ":" not in standing.said and version == one.result.number.version:
            if one.opens_suspicion and not standing.hazard:
                # Typed without its disease, so that no suspicion opened: the report names it.
                return self._keep(replace(one, amends=standing), place, standing.reported_on)
            self.already += 1  # typed by hand, with the same result
            return ""
        if version > one.result.number.version:
            self.already += 1
            return ""
        if version == one.result.number.version:
            said = standing.said.split("\n", 1)[0]
            return (
                f"The book has this report with other words: {standing.result}, “{said:.60}”. If "
                "the laboratory amended it, write v2 behind its number."
            )
        if one.result.result == "awaited":
            return "An amended report has a result. This one says that it is still awaited."
        return self._keep(replace(one, amends=standing), place, standing.reported_on)

    def _answer(self, one: Planned, place: tuple[UUID, str, str, str]) -> str:
        result = one.result
        there = [
            each for each in awaited_for(result, self._samples, one.pond)
            if each.result == "awaited"
        ]  # fmt: skip
        fits = [each for each in there if each.hazard in ("", result.hazard)]
        if result.result == "awaited":
            labelled = [
                each for each in self._samples.labelled({place[1]})
                if each.pond_id == one.pond and each.struck_at is None
                and each.result == "awaited" and each.hazard in ("", result.hazard)
            ]  # fmt: skip
            if fits or labelled:
                self.already += 1
                return ""
            return self._keep(one, place, None)
        open_ones = [each for each in fits if each.id not in self._taken]
        named = [each for each in open_ones if each.hazard and each.hazard == result.hazard]
        asked = [each for each in open_ones if _asks_for(each, result)]
        chosen = named or asked or open_ones
        if len(chosen) > 1:
            labels = ", ".join(f"“{each.label}”" for each in chosen[:3])
            return (
                f"{len(chosen)} samples are awaited that it may be of: {labels}. Enter this "
                "result by hand."
            )
        if chosen:
            last = max(filter(None, (chosen[0].taken_on, chosen[0].sent_on)))
            reason = self._keep(replace(one, answers=chosen[0]), place, last)
            if not reason:
                self._taken.add(chosen[0].id)
            return reason
        beside = fits or there
        return self._keep(replace(one, beside=beside[0] if beside else None), place, None)

    def _keep(
        self, one: Planned, place: tuple[UUID, str, str, str], not_before: date | None
    ) -> str:  # fmt: skip
        reason = _wrong_days(one, not_before, self._today)
        if not reason:
            self._here[place] = len(self.planned)
            self.planned.append(one)
        return reason


def taken_on(one: Planned) -> date | None:
    """The day on which a new sample was taken, or the day by which it was, as far as it is known.

    Parameters
    ----------
    one
        The result.
    """
    if one.beside is not None:
        return one.beside.taken_on
    result = one.result
    return result.taken_on or result.sent_on or result.received_on


def _wrong_days(one: Planned, not_before: date | None, today: date) -> str:
    result = one.result
    ahead = [day for day in (result.taken_on, result.sent_on, result.received_on,
                             result.reported_on) if day is not None and day > today]  # fmt: skip
    if ahead:
        return f"{day_said(ahead[0])} lies ahead."
    new = one.answers is None and one.amends is None and one.after is None
    taken = taken_on(one)
    if new and taken is None:
        return "The row does not say when the sample was taken, sent or received. Fill in one."
    if new and result.result == "awaited":
        return ""
    if result.reported_on is None:
        return "The row does not say when it was reported. Fill in the day of the report."
    first = not_before if not_before is not None else taken
    for day, what in (
        (first, "the sample was known here until"), (result.taken_on, "it was taken on"),
        (result.sent_on, "it was sent on"), (result.received_on, "it was received on"),
    ):  # fmt: skip
        if day is not None and result.reported_on < day:
            return (
                f"The report cannot be of {day_said(result.reported_on)}: {what} {day_said(day)}."
            )
    if taken is not None and result.sent_on is not None and result.sent_on < taken:
        return (
            f"The sample cannot have been sent on {day_said(result.sent_on)}: it was taken on "
            f"{day_said(taken)}."
        )
    return ""


def _cannot_be_kept(result: Result, said: str) -> str:
    """What the book would refuse, found out before anything is saved."""
    if not number_folded(result.label):
        return "The row names neither sample nor report. Fill in one."
    try:
        for column, text in (
            ("label", result.label), ("material", result.material), ("asked", result.named),
            ("laboratory", result.laboratory), ("report", result.number.shown), ("said", said),
        ):  # fmt: skip
            cell_value("lab_sample", column, text)
    except BadInput as error:
        return error.message
    return ""


def _same_sample(sample: LabSample, result: Result) -> bool:
    """Whether a sample of the book is the same one, in the same report of any version."""
    number = report_number(report_of(sample))
    if number.folded != result.number.folded:
        return False
    if not number.folded and sample.reported_on != result.reported_on:
        return False
    return number_folded(sample.label) in labels_of(result)


def _same_test(sample: LabSample, result: Result) -> bool:
    """Whether it is the same test: by its name in what was said, else as a person typed it."""
    head, mark, _ = sample.said.partition(":")
    if mark:
        return words_folded(head) == result.key
    return sample.hazard in ("", result.hazard) and sample.result == result.result


def _says_the_same(sample: LabSample, one: Planned) -> bool:
    version = report_number(report_of(sample)).version
    return (
        sample.result == one.result.result
        and sample.said.strip() == one.said.strip()
        and version == one.result.number.version
    )


def _struck_by_a_person(sample: LabSample) -> bool:
    return sample.struck_at is not None and sample.struck_why != AMENDED


def _asks_for(sample: LabSample, result: Result) -> bool:
    asked, test = f" {words_folded(sample.asked)} ", words_folded(result.test)
    return bool(test) and f" {test} " in asked
