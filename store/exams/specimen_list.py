"""Every sample at a laboratory in one list: awaited first, the oldest on top, then reported."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.rows import columns_of, made_of
from store.book.tables import table
from store.exams.specimens import LabSample


@dataclass(frozen=True, slots=True)
class SampleLine:
    """A sample as it stands, with where it comes from.

    `days` counts since it was sent, or since it was taken where it has not been sent [d].
    """

    sample: LabSample
    where: str
    days: int

    @property
    def amended(self) -> bool:
        """Whether this report takes the place of an earlier one."""
        return self.sample.replaces_id is not None


def sample_lines(book: Book, today: date, *, pond: UUID | None = None) -> tuple[SampleLine, ...]:
    """Samples that stand in the book, of ponds that stand in it.

    Parameters
    ----------
    book
        The book.
    today
        The practice's calendar day.
    pond
        Key of the pond; left out, all ponds.

    Returns
    -------
    tuple of SampleLine
        Without a result by the day it was taken, the oldest first; then the newest report first.
    """
    samples, ponds = table("lab_sample"), table("pond")
    sites, clients = table("site"), table("client")
    query = (
        select(*columns_of(LabSample, "lab_sample"), clients.c.name, ponds.c.name)
        .join(ponds, ponds.c.id == samples.c.pond_id)
        .join(sites, sites.c.id == ponds.c.site_id)
        .join(clients, clients.c.id == sites.c.client_id)
        .where(samples.c.struck_at.is_(None), ponds.c.struck_at.is_(None))
        .order_by(samples.c.taken_on, samples.c.id)
    )
    if pond is not None:
        query = query.where(samples.c.pond_id == pond)
    with book.reading() as connection:
        rows = connection.execute(query).all()
    waiting: list[SampleLine] = []
    reported: list[SampleLine] = []
    for *values, client, name in rows:
        one = made_of(LabSample, tuple(values))
        where = f"{client}, {name}" if name and name != client else client
        line = SampleLine(one, where, (today - (one.sent_on or one.taken_on)).days)
        (waiting if one.result == "awaited" else reported).append(line)
    reported.sort(key=lambda line: line.sample.reported_on or line.sample.taken_on, reverse=True)
    return (*waiting, *reported)
