"""The chain through the record: every line a link, every link where it belongs."""

from __future__ import annotations

from itertools import groupby
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, func, select

from store.book.copies.chain import BEGINNING
from store.book.copies.log import CHAIN, COPY
from store.book.tables import table
from store.guard.found import OUTSIDE, Found, Progress
from store.text import plain

BAG = "bag"
"""What a book says of itself that holds only a part of another."""
_AT_ONCE = 5000


def check_links(connection: Connection, found: Found) -> None:
    """Go along the chain of every copy of the book that wrote into it.

    The hashes of the lines themselves are reckoned anew in `store.guard.rows`, where the lines are
    read anyway.

    Parameters
    ----------
    connection
        On the book.
    found
        Takes what is found.
    """
    change, link, meta = table("change"), table("change_link"), table("book_meta").c
    said = {row.key: row.value for row in connection.execute(select(meta.key, meta.value))}
    own, bag = said.get(COPY, ""), BAG in said
    end_nth, _, end_hash = said.get(CHAIN, f"0 {BEGINNING}").partition(" ")
    end_nth = end_nth if end_nth.isdecimal() else "0"
    whole = connection.execute(select(func.count()).select_from(link)).scalar() or 0
    query = (
        select(link.c.copy, link.c.nth, link.c.prior, link.c.hash)
        .order_by(link.c.copy, link.c.nth)
        .execution_options(yield_per=_AT_ONCE)
    )
    done, walked = 0, None
    for copy, links in groupby(connection.execute(query), key=lambda row: row.copy):
        walk = _Walk(copy, str(copy) == own, bag, found, (end_nth, end_hash))
        for nth, same in groupby(links, key=lambda row: row.nth):
            done += walk.step(nth, list(same))
            if done % _AT_ONCE == 0:
                found.told(Progress("the chain of the record", done, whole))
        walked = walk if walk.own else walked
    found.looked_at["links of the chain"] = done
    found.chain = plain(said.get(CHAIN, ""))
    if not (walked.ends_well if walked else (end_nth, end_hash) == ("0", BEGINNING)):
        found.fault(
            "chain", OUTSIDE,
            f"The chain of the record ends at link {walked.nth if walked else 0:,}, but the book "
            f"says that it wrote link {int(end_nth):,}: lines of the record were taken out, or the "
            "book's word was altered.",
        )  # fmt: skip
    loose = connection.execute(
        select(func.count())
        .select_from(change)
        .where(~select(1).where(link.c.change_id == change.c.id).exists())
    ).scalar()
    if loose:
        found.fault(
            "chain", OUTSIDE,
            f"{loose:,} line{'s' * (loose > 1)} of the record {'are' if loose > 1 else 'is'} no "
            "link of the chain: written past Pondround.",
        )  # fmt: skip


class _Walk:
    """Along the chain of one copy."""

    def __init__(
        self, copy: UUID, own: bool, bag: bool, found: Found, end: tuple[str, str]
    ) -> None:
        self._end, self._met = end, end == ("0", BEGINNING)
        self.own, self.nth, self.hashes = own, 0, {BEGINNING}
        self._whose = "this copy" if own else f"copy {str(copy)[:8]}"
        self._bag, self._found, self._forked = bag, found, False

    @property
    def ends_well(self) -> bool:
        """Whether the link that the book says is its newest is there, and none behind it."""
        return self._met and (self._forked or str(self.nth) == self._end[0])

    def step(self, nth: int, links: list[Any]) -> int:
        """The links of one place; how many they are."""
        if nth != self.nth + 1:
            self._gap(nth)
        elif any(one.prior not in self.hashes for one in links):
            self._found.fault(
                "chain", OUTSIDE,
                f"Link {nth:,} of {self._whose} does not follow from the link before it: one of "
                "the two was altered.",
            )  # fmt: skip
        if len(links) > 1 and not self._forked:
            self._forked = True
            self._found.remark(
                "fork",
                "Give a copy of the file to another computer by “pondround restore” or as a bag, "
                "so that each has a chain of its own.",
                f"Two copies of this file were written to: the chain of {self._whose} has "
                f"{len(links)} links in place {nth:,}.",
            )  # fmt: skip
        self.nth, self.hashes = nth, {one.hash for one in links}
        self._met = self._met or (str(nth) == self._end[0] and self._end[1] in self.hashes)
        return len(links)

    def _gap(self, nth: int) -> None:
        missing = nth - self.nth - 1
        said = (
            f"{missing:,} link{'s' * (missing > 1)} before place {nth:,} of the chain of "
            f"{self._whose} {'are' if missing > 1 else 'is'} missing"
        )
        if self.own:
            self._found.fault(
                "chain", OUTSIDE, f"{said}: lines of the record were taken out."
            )  # fmt: skip
        elif not self._bag:
            self._found.remark(
                "gap", "Bring in the copy that wrote them, or its next bag.", f"{said} in this one."
            )
