"""Samples at a laboratory: taken, sent, awaited, reported; an amended report keeps the first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any, Literal
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.rows import Kept, columns_of, made_of, read_all, read_one
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput, NotAllowed, NotFound
from store.facts.hazards import hazards
from store.text import day_said

Result = Literal["awaited", "not detected", "detected", "unclear"]
RESULTS: tuple[Result, ...] = ("not detected", "detected", "unclear")
"""What a laboratory may report."""
AMENDED = "The laboratory amended its report."


@dataclass(frozen=True, slots=True)
class LabSample(Kept):
    """A sample as it stands in the book; `replaces_id` is the report that this one amends."""

    pond_id: UUID
    examination_id: UUID | None
    fish_id: UUID | None
    label: str
    material: str
    laboratory: str
    asked: str
    hazard: str
    taken_on: date
    sent_on: date | None
    result: Result
    reported_on: date | None
    said: str
    report: str
    replaces_id: UUID | None


@dataclass(frozen=True, slots=True)
class Awaited:
    """A sample without its result, with where it comes from and how long it has been on its way."""

    sample: LabSample
    client: str
    pond: str
    days: int
    """Since it was sent, or since it was taken where it has not been sent [d]."""

    @property
    def said(self) -> str:
        """In words, such as `gill of fish 1 at the state laboratory, 9 days`."""
        many = "day" if self.days == 1 else "days"
        material = self.sample.material or "sample"
        if self.sample.sent_on is None:
            return f"{material} “{self.sample.label}” not sent yet, {self.days} {many}"
        where = f" at {self.sample.laboratory}" if self.sample.laboratory else ""
        return f"{material} “{self.sample.label}”{where}, {self.days} {many}"


def add_sample(
    writing: Writing,
    pond_id: UUID,
    *,
    label: str,
    taken_on: date,
    material: str = "",
    laboratory: str = "",
    asked: str = "",
    hazard: str = "",
    sent_on: date | None = None,
    examination_id: UUID | None = None,
    fish_id: UUID | None = None,
) -> UUID:
    """Enter a sample that was taken for a laboratory.

    Parameters
    ----------
    writing
        The action of the person.
    pond_id
        Key of the pond.
    label
        What is written on the bag or tube.
    taken_on, sent_on
        Calendar days; left out while it has not been sent.
    material
        What it is, such as `gill and kidney of a dying fish`.
    laboratory
        Where it goes.
    asked
        What is to be looked for.
    hazard
        Code of the hazard it is about, where it is one of the list.
    examination_id, fish_id
        The examination and fish it comes from.

    Returns
    -------
    UUID
        Key of the sample.

    Raises
    ------
    NotFound
        No such pond, or it was struck through.
    BadInput
        A day ahead, sent before it was taken, an unknown hazard, an examination of another pond or
        a fish of another examination.
    """
    ponds = table("pond").c
    query = select(ponds.id).where(ponds.id == pond_id, ponds.struck_at.is_(None))
    if writing.connection.execute(query).scalar() is None:
        raise NotFound("There is no such pond in the book, or it was struck through.")
    _check_days(writing, taken_on, sent_on)
    if hazard and hazard not in hazards():
        raise BadInput(f"There is no hazard “{hazard:.40}” in the list. Nothing was saved.",
                       field="hazard")  # fmt: skip
    exams, fish = table("examination").c, table("examined_fish").c
    if examination_id is not None:
        query = select(exams.id).where(exams.id == examination_id, exams.pond_id == pond_id)
        if writing.connection.execute(query).first() is None:
            raise BadInput("That examination is not of this pond. Nothing was saved.",
                           field="examination")  # fmt: skip
    if fish_id is not None:
        query = select(fish.id).where(fish.id == fish_id, fish.examination_id == examination_id)
        if writing.connection.execute(query).first() is None:
            raise BadInput("That fish does not belong to the examination. Nothing was saved.",
                           field="fish")  # fmt: skip
    return writing.add(
        "lab_sample",
        pond_id=pond_id,
        examination_id=examination_id,
        fish_id=fish_id,
        label=label,
        material=material,
        laboratory=laboratory,
        asked=asked,
        hazard=hazard,
        taken_on=taken_on,
        sent_on=sent_on,
    )


def send_sample(
    writing: Writing, key: UUID, rev: int, sent_on: date, laboratory: str = ""
) -> int:  # fmt: skip
    """Note that a sample was sent.

    Parameters
    ----------
    writing
        The action of the person.
    key, rev
        The sample, as the person saw it.
    sent_on
        The calendar day, today or earlier.
    laboratory
        Where it went; left out, what was said before stays.

    Returns
    -------
    int
        The revision afterwards.
    """
    row = _row(writing, key)
    _check_days(writing, row.taken_on, sent_on)
    place = laboratory.strip() or row.laboratory
    return writing.change("lab_sample", key, rev, sent_on=sent_on, laboratory=place)


def report_result(
    writing: Writing,
    key: UUID,
    rev: int,
    result: Result,
    reported_on: date,
    *,
    said: str = "",
    report: str = "",
) -> UUID:
    """Enter what a laboratory reported; a later report amends the first and keeps it.

    Parameters
    ----------
    writing
        The action of the person.
    key, rev
        The sample, as the person saw it; of an amended report the one that stands.
    result
        One of `RESULTS`.
    reported_on
        The calendar day of the report.
    said
        What it says, in words; needed where the result is unclear.
    report
        Name of the report's file, or its number.

    Returns
    -------
    UUID
        Key of the row that stands now: the same for the first report, a new one for an amended.

    Raises
    ------
    BadInput
        Awaited is no result; a day ahead, before the sample was taken or before the report that is
        amended; an unclear result without words.
    NotFound, NotAllowed, ChangedMeanwhile
        As for `Writing.change`.
    """
    row = _row(writing, key)
    if result not in RESULTS:
        raise BadInput("Please say what was reported. Nothing was saved.", field="result")
    if result == "unclear" and not said.strip():
        raise BadInput("Please write what the laboratory said. Nothing was saved.", field="said")
    before = max(filter(None, (row.taken_on, row.sent_on, row.reported_on)))
    today = writing.book.today(writing.act.at)
    if not before <= reported_on <= today:
        raise BadInput(
            f"The report cannot be of {day_said(reported_on)}: the sample was known here until "
            f"{day_said(before)}, and today is {day_said(today)}. Nothing was saved.",
            field="reported_on",
        )
    values: dict[str, Any] = {
        "result": result,
        "reported_on": reported_on,
        "said": said,
        "report": report,
    }
    if row.result == "awaited":
        writing.change("lab_sample", key, rev, **values)
        return key
    writing.strike("lab_sample", key, AMENDED, rev)
    kept = ("pond_id", "examination_id", "fish_id", "label", "material", "laboratory", "asked",
            "hazard", "taken_on", "sent_on")  # fmt: skip
    values |= {name: getattr(row, name) for name in kept}
    return writing.add("lab_sample", replaces_id=key, **values)


def strike_sample(writing: Writing, key: UUID, rev: int, why: str) -> int:
    """Take back a sample that was entered by mistake; it stays readable.

    Parameters
    ----------
    writing
        The action of the person.
    key, rev
        The sample, as the person saw it.
    why
        The reason; never empty.

    Returns
    -------
    int
        The revision afterwards.
    """
    return writing.strike("lab_sample", key, why, rev)


def sample(book: Book, key: UUID) -> LabSample:
    """One sample, struck through or not.

    Parameters
    ----------
    book
        The book.
    key
        Of the sample.

    Raises
    ------
    NotFound
        There is no such sample.
    """
    return read_one(book, LabSample, "lab_sample", key)


def samples_of(book: Book, pond: UUID, *, struck: bool = False) -> tuple[LabSample, ...]:
    """The samples of a pond, the newest taken first.

    Parameters
    ----------
    book
        The book.
    pond
        Key of the pond.
    struck
        Also reports that were amended, and samples taken back.
    """
    columns = table("lab_sample").c
    return read_all(
        book, LabSample, "lab_sample", columns.pond_id == pond,
        order_by=(columns.taken_on.desc(), columns.id.desc()), struck=struck,
    )  # fmt: skip


def earlier_reports(book: Book, key: UUID) -> tuple[LabSample, ...]:
    """What a laboratory reported of a sample before it amended it, the newest first.

    Parameters
    ----------
    book
        The book.
    key
        Of the sample as it stands.
    """
    found = []
    before = sample(book, key).replaces_id
    while before is not None:
        found.append(sample(book, before))
        before = found[-1].replaces_id
    return tuple(found)


def awaited(book: Book, today: date) -> tuple[Awaited, ...]:
    """Every sample whose result has not come, the oldest first; of ponds that stand in the book.

    Parameters
    ----------
    book
        The book.
    today
        The practice's calendar day.
    """
    samples, ponds = table("lab_sample"), table("pond")
    sites, clients = table("site"), table("client")
    query = (
        select(*columns_of(LabSample, "lab_sample"), clients.c.name, ponds.c.name)
        .join(ponds, ponds.c.id == samples.c.pond_id)
        .join(sites, sites.c.id == ponds.c.site_id)
        .join(clients, clients.c.id == sites.c.client_id)
        .where(
            samples.c.struck_at.is_(None),
            samples.c.result == "awaited",
            ponds.c.struck_at.is_(None),
        )
        .order_by(samples.c.taken_on, samples.c.id)
    )
    with book.reading() as connection:
        rows = connection.execute(query).all()
    found = []
    for *values, client, pond in rows:
        one = made_of(LabSample, tuple(values))
        days = (today - (one.sent_on or one.taken_on)).days
        found.append(Awaited(one, client, pond, days))
    return tuple(found)


def _row(writing: Writing, key: UUID) -> LabSample:
    samples = table("lab_sample")
    query = select(*columns_of(LabSample, "lab_sample")).where(samples.c.id == key)
    row = writing.connection.execute(query).one_or_none()
    if row is None:
        raise NotFound("There is no such sample in the book; nothing was saved.")
    one = made_of(LabSample, row)
    if one.struck_at is not None:
        raise NotAllowed("This sample is struck through, or its report was amended; nothing was "
                         "changed.", title="Struck through")  # fmt: skip
    return one


def _check_days(writing: Writing, taken_on: date, sent_on: date | None) -> None:
    today = writing.book.today(writing.act.at)
    if taken_on > today:
        raise BadInput("The sample cannot have been taken on a day ahead. Nothing was saved.",
                       field="taken_on")  # fmt: skip
    if sent_on is not None and not taken_on <= sent_on <= today:
        raise BadInput(
            f"The sample cannot have been sent on {day_said(sent_on)}: it was taken on "
            f"{day_said(taken_on)}, and today is {day_said(today)}. Nothing was saved.",
            field="sent_on",
        )
