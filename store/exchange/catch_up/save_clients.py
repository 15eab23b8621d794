"""Saving a client list that was looked at: one action, all of it or nothing."""

from __future__ import annotations

from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import select

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.book.volumes import record_estimate
from store.book.writing import Writing
from store.errors import ChangedMeanwhile
from store.exchange.catch_up.clients_plan import CatchUp, PlannedClient, PlannedPond, PlannedSite
from store.exchange.catch_up.known_clients import TABLES
from store.exchange.catch_up.said_columns import keep_said
from store.exchange.out.rows import Progress, Told, quiet
from store.exchange.plain.planned import Done, keep_file
from store.water.volume import stated


def save_clients(book: Book, act: Act, looked_at: CatchUp, *, told: Told = quiet) -> Done:
    """Save the clients of a list that need no answer, with their sites and ponds.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the list in, and when.
    looked_at
        From `read_clients`.
    told
        Is told how far it is.

    Returns
    -------
    Done
        How many clients were added or got something.

    Raises
    ------
    ChangedMeanwhile
        A client, site or pond was written since the list was looked at; nothing was saved.
    BadInput, BookTrouble
        Nothing was saved.
    """
    plan = looked_at.plan
    if not plan.items:
        return Done(0, plan.already, len(plan.refused))
    file, today = plan.path.name, book.today(act.at)
    with book.writing(act) as writing:
        if _stamp(writing) != looked_at.stamp:
            raise ChangedMeanwhile(
                "A client, site or pond was written since the list was looked at. Nothing was "
                "saved; look at the list again."
            )
        for at, one in enumerate(plan.items):
            _save(writing, one, file, today)
            told(Progress("saving", at + 1, len(plan.items)))
        if looked_at.remembers is not None:
            keep_said(writing, looked_at.remembers[0], file, looked_at.remembers[1])
        keep_file(writing, plan, sum(len(one.lines) for one in plan.items))
    return Done(len(plan.items), plan.already, len(plan.refused))


def _stamp(writing: Writing) -> str:
    """As `Book.stamp`, within the action."""
    meta = table("book_meta").c
    query = select(meta.key, meta.value).where(meta.key.in_([f"stamp.{name}" for name in TABLES]))
    found = writing.connection.execute(query).all()
    return " ".join(sorted(f"{key}={value}" for key, value in found))


def _save(writing: Writing, one: PlannedClient, file: str, today: date) -> None:
    why = f"from the list {file}, line {one.line}"[:2000]
    client = one.client_id
    if client is None:
        client = writing.add(
            "client", log_why=why, name=one.name, phone=one.phone, phone2=one.phone2,
            email=one.email, notes=one.notes,
        )  # fmt: skip
    elif one.changes:
        writing.change_values("client", client, one.client_rev, one.changes, why)
    for site in one.sites:
        if site.state != "ask":
            _save_site(writing, client, site, why, file, today)


def _save_site(
    writing: Writing, client: UUID, site: PlannedSite, why: str, file: str, today: date
) -> None:
    address: dict[str, Any] = {
        "address": site.address,
        "town": site.town,
        "postcode": site.postcode,
    }
    key = site.site_id
    if key is None:
        key = writing.add("site", log_why=why, client_id=client, name=site.name, **address)
    elif site.fills:
        writing.change_values("site", key, site.site_rev, address, why)
    for pond in site.ponds:
        if pond.state == "new":
            _save_pond(writing, key, pond, why, file, today)


def _save_pond(
    writing: Writing, site: UUID, pond: PlannedPond, why: str, file: str, today: date
) -> None:
    values: dict[str, Any] = {"name": pond.name, "depth_m": pond.depth_m, "species": pond.species}
    said = f"In the list {file}: {pond.said}" if pond.said else ""
    key = writing.add("pond", log_why=why, site_id=site, notes=said, **values)
    if pond.litres is None:
        return
    volume = stated(pond.litres)
    record_estimate(
        writing, key, method=volume.method, litres=volume.litres, low_l=volume.low_l,
        high_l=volume.high_l, workings=f"{volume.workings}; the list says “{pond.said}”",
        measured_on=today, pond_rev=1,
    )  # fmt: skip
