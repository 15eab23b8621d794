"""Saving results: an awaited sample gets its report, an amended one takes the first one's place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal, cast
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.rows import columns_of, made_of
from store.book.tables import table
from store.book.writing import Writing
from store.exams.specimens import LabSample, add_sample, report_result
from store.exchange.lab.settled import Planned, settle, taken_on

_Reported = Literal["not detected", "detected", "unclear"]
NAMED_BY_REPORT = "The laboratory's report names it."


def all_samples(book: Book) -> tuple[LabSample, ...]:
    """Every sample of the book, those struck through as well.

    Parameters
    ----------
    book
        The practice's book.
    """
    with book.reading() as connection:
        return _samples(connection)


class Saving:
    """Saves a plan item by item within one action, looking once more at what is in the book.

    Parameters
    ----------
    items
        Of the plan, in its order: what amends another comes after it.
    """

    def __init__(self, items: Sequence[Planned]) -> None:
        self._items = items
        self._fresh: dict[int, Planned] | None = None
        self._keys: dict[int, UUID] = {}
        self._place: dict[int, int] = {}

    def add(self, writing: Writing, item: Planned, file: UUID) -> bool:
        """Save one result.

        Parameters
        ----------
        writing
            The action it belongs to.
        item
            Of the plan.
        file
            Key of the file.

        Returns
        -------
        bool
            False where it came into the book meanwhile.
        """
        if self._fresh is None:
            settled = settle(
                [(one.result, one.pond, one.called, one.said) for one in self._items],
                _samples(writing.connection),
                writing.book.today(writing.act.at),
            )
            self._place = {id(one.result): at for at, one in enumerate(settled.planned)}
            self._fresh = {id(one.result): one for one in settled.planned}
        fresh = self._fresh.get(id(item.result))
        if fresh is None:
            return False
        self._keys[self._place[id(item.result)]] = self._save(writing, fresh)
        return True

    def _save(self, writing: Writing, one: Planned) -> UUID:
        result = one.result
        known = one.answers or one.amends
        if one.after is not None:
            key, rev = self._keys[one.after], _rev(writing.connection, self._keys[one.after])
        elif known is not None:
            key, rev = known.id, _named(writing, known, one)
        else:
            beside = one.beside
            taken = taken_on(one)
            assert taken is not None
            key, rev = add_sample(
                writing,
                one.pond,
                label=result.label if beside is None else beside.label,
                taken_on=taken,
                sent_on=result.sent_on if beside is None else beside.sent_on,
                material=result.material or ("" if beside is None else beside.material),
                laboratory=result.laboratory or ("" if beside is None else beside.laboratory),
                asked=result.named if result.test else "",
                hazard=result.hazard,
                examination_id=None if beside is None else beside.examination_id,
                fish_id=None if beside is None else beside.fish_id,
            ), 1  # fmt: skip
        if result.result == "awaited":
            return key
        assert result.reported_on is not None
        return report_result(
            writing, key, rev, cast("_Reported", result.result), result.reported_on,
            said=one.said, report=result.number.shown,
        )  # fmt: skip


def _named(writing: Writing, known: LabSample, one: Planned) -> int:
    """What the entry of a sample left open and the report names; the revision afterwards."""
    result = one.result
    values = {
        "hazard": result.hazard,
        "laboratory": result.laboratory,
        "material": result.material,
        "asked": result.named if result.test else "",
    }
    open_ones = {
        name: text for name, text in values.items() if text and not getattr(known, name)
    }  # fmt: skip
    if not open_ones:
        return known.rev
    return writing.change_values("lab_sample", known.id, known.rev, open_ones, NAMED_BY_REPORT)


def _rev(connection: Connection, key: UUID) -> int:
    samples = table("lab_sample").c
    return int(connection.execute(select(samples.rev).where(samples.id == key)).scalar_one())


def _samples(connection: Connection) -> tuple[LabSample, ...]:
    query = select(*columns_of(LabSample, "lab_sample")).order_by(
        table("lab_sample").c.taken_on, table("lab_sample").c.id
    )
    return tuple(made_of(LabSample, row) for row in connection.execute(query))
