"""What examinations left open: findings without an answer, and results that a laboratory owes."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from store.book.book import Book
from store.diary.desk.about import About
from store.diary.desk.due import Promised
from store.diary.kept.due.gather.whereabouts import Whereabouts
from store.exams.open_findings import open_findings
from store.exams.specimens import LabSample, awaited
from store.facts.follow_ups import follow_up_kinds
from store.facts.hazards import hazards
from store.text import day_said
from store.watch.found import OpenFinding
from store.watch.kinds.finding import level_of
from store.watch.rests import read_rests
from store.watch.rulebook import rulebook

RESULT_DAYS = 14
"""A result is asked after so many days at the laboratory; common practice, without a source [d]."""
SEND_DAYS = 1
"""A sample is sent so many days after it was taken; common practice, without a source [d]."""
FOUND_RULE = "finding_open"
"""The alert rule that speaks of findings; what it is put to rest for is no business of the desk."""


def from_findings(book: Book, where: Whereabouts, today: date, until: date) -> Iterator[Promised]:
    """Findings that neither a course nor another look has answered; a vet decides on each.

    Parameters
    ----------
    book
        The practice's book.
    where
        The ponds that are wanted.
    today
        The practice's calendar day.
    until
        The last day on which a window may begin.

    Yields
    ------
    Promised
        Without those that are only noted, such as a few of what is normal in few numbers, and
        those of a pond where the vet has put what was found to rest.
    """
    kind, rules, names = follow_up_kinds()["finding"], rulebook(book), hazards()
    found = open_findings(book)
    with book.reading() as connection:
        rests = read_rests(connection, today)
    for pond, open_ones in found.items():
        place = where.ponds.get(pond)
        if place is None:
            continue
        rule = next(one for one in rules.of(pond) if one.code == FOUND_RULE)
        rest = rests.get(pond, {}).get(FOUND_RULE)
        if not rule.enabled:
            continue
        for one in open_ones:
            if level_of(rule, one) == "calm" or one.on_day > until:
                continue
            if rest is not None and one.entered_ms <= rest.made_ms:
                continue
            yield Promised(
                about=str(About("finding", pond, one.hazard)),
                kind="finding",
                client_id=place.client_id,
                site_id=place.site_id,
                pond_id=pond,
                says=f"{names[one.hazard].plain_name} found, no answer yet",
                because=_found_said(one),
                origin="examination",
                promised_by=one.by,
                promised_on=one.on_day,
                due_on=one.on_day,
                first_on=one.on_day - timedelta(days=kind.early_days),
                last_on=one.on_day + timedelta(days=kind.late_days),
                needs=kind.needs,
            )


def _found_said(one: OpenFinding) -> str:
    sure = "Suspected" if one.suspected else "Found"
    said = [f"{sure} on {day_said(one.on_day)}"]
    if one.by:
        said.append(f"by {one.by}")
    if one.fish and one.of:
        said.append(f"on {one.fish} of {one.of} fish")
    if one.after_course:
        said.append(f"after {one.after_course}")
    heavy = f" Heavy: {one.heavy.rstrip('.')}." if one.heavy else ""
    return f"{' '.join(said)}; neither a course nor another look has answered it.{heavy}"


def from_laboratory(book: Book, where: Whereabouts, today: date, until: date) -> Iterator[Promised]:
    """Samples to be sent, and results that are to be asked for.

    Parameters
    ----------
    book
        The practice's book.
    where
        The ponds that are wanted.
    today
        The practice's calendar day.
    until
        The last day on which a window may begin.

    Yields
    ------
    Promised
        A result falls due 14 days after the sample was sent, and a sample that was not sent the
        day after it was taken.
    """
    kind = follow_up_kinds()["laboratory"]
    for one in awaited(book, today):
        sample = one.sample
        place = where.ponds.get(sample.pond_id)
        sent = sample.sent_on
        due = sample.taken_on + timedelta(days=SEND_DAYS) if sent is None else (
            sent + timedelta(days=RESULT_DAYS)
        )  # fmt: skip
        first = due - timedelta(days=kind.early_days)
        if place is None or first > until:
            continue
        yield Promised(
            about=str(About("sample", sample.id)),
            kind="laboratory",
            client_id=place.client_id,
            site_id=place.site_id,
            pond_id=sample.pond_id,
            says="sample to be sent" if sent is None else "laboratory result awaited",
            because=_sample_said(sample),
            origin="examination",
            promised_by=where.names.get(sample.created_by, "") if sent is None
            else sample.laboratory,
            promised_on=sample.taken_on if sent is None else sent,
            due_on=due,
            first_on=first,
            last_on=due + timedelta(days=kind.late_days),
            needs=kind.needs,
        )  # fmt: skip


def _sample_said(sample: LabSample) -> str:
    what = f"{sample.material or 'Sample'} “{sample.label}”"
    what = what[0].upper() + what[1:]
    asked = f" for {sample.asked}" if sample.asked else ""
    if sample.sent_on is None:
        return f"{what}{asked} was taken on {day_said(sample.taken_on)} and is not sent yet."
    to = f" to {sample.laboratory}" if sample.laboratory else ""
    return (
        f"{what}{asked} was sent{to} on {day_said(sample.sent_on)}; a result is asked for after "
        f"{RESULT_DAYS} days."
    )
