"""What is to be booked: of promises, of a pond or site, or of a visit that stands already."""

from __future__ import annotations

from collections.abc import Sequence
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.tables import table
from store.diary.booking.values import Purpose, Visiting, Wish
from store.diary.desk.due import Promised
from store.diary.kept.roster.visit_lengths import OTHER_KIND, length_of, visit_lengths
from store.errors import BadInput, NotFound
from store.facts.follow_ups import LONGEST_MIN, follow_up_kinds

_NO_SITE = "No garden or pond of this client is in the book yet; enter one first."


def wish_for(book: Book, promised: Sequence[Promised], *, site_id: UUID | None = None) -> Wish:
    """The visit that keeps some promises.

    Parameters
    ----------
    book
        The practice's book.
    promised
        Promises at one site, at least one.
    site_id
        Where to go for those that name no place; None where the client has but one.

    Returns
    -------
    Wish
        To the one pond, or to the whole site where they are of several. Its kind is that of the
        promise on which most hangs; its length the longest of each pond's promises, summed over
        the ponds.

    Raises
    ------
    BadInput
        No promise, promises at different sites, or a client with several sites of which none is
        named.
    NotFound
        A pond or site that is not in the book, or a client without any.
    """
    if not promised:
        raise BadInput("Nothing was chosen that a visit could keep.")
    with book.reading() as connection:
        sites = {_site_of(connection, one, site_id) for one in promised}
        lengths = visit_lengths(connection)
    if len(sites) > 1:
        raise BadInput("These promises are of different places; please book a visit for each.")
    kinds = follow_up_kinds()
    ranked = sorted(promised, key=lambda one: (-kinds[one.kind].stake, one.last_on))
    kind = next((kinds[one.kind].visit for one in ranked if kinds[one.kind].visit), OTHER_KIND)
    of_pond: dict[UUID | None, int] = {}
    for one in promised:
        minutes, _why = length_of(lengths, kinds[one.kind].visit or kind)
        of_pond[one.pond_id] = max(of_pond.get(one.pond_id, 0), minutes)
    if len(of_pond) > 1:
        # What is promised to the whole site is done while somebody is there.
        of_pond[None] = 0
    ponds = {one.pond_id for one in promised}
    return Wish(
        site_id=sites.pop(),
        pond_id=ponds.pop() if len(ponds) == 1 else None,
        kind=kind,
        minutes=min(LONGEST_MIN, sum(of_pond.values())),
        purposes=tuple(purpose_of(one) for one in promised),
    )


def purpose_of(one: Promised) -> Purpose:
    """A promise as it stands beside a visit.

    Parameters
    ----------
    one
        The promise.
    """
    return Purpose(
        one.about, one.kind, one.says, one.pond_id, one.due_on, one.first_on, one.last_on
    )


def _site_of(connection: Connection, one: Promised, chosen: UUID | None) -> UUID:
    if one.pond_id is not None:
        return _site_of_pond(connection, one.pond_id)
    if one.site_id is not None:
        return one.site_id
    sites = table("site").c
    if chosen is not None:
        of_client = select(sites.id).where(
            sites.id == chosen, sites.client_id == one.client_id, sites.struck_at.is_(None)
        )
        if connection.scalar(of_client) is None:
            raise NotFound("There is no such place of this client, or it was struck through.")
        return chosen
    query = (
        select(sites.id)
        .where(sites.client_id == one.client_id, sites.struck_at.is_(None))
        .order_by(sites.created_at, sites.id)
        .limit(2)
    )
    found = connection.scalars(query).all()
    if not found:
        raise NotFound(_NO_SITE)
    if len(found) > 1:
        raise BadInput("This client has several places; please open one of them and book there.")
    first: UUID = found[0]
    return first


def _site_of_pond(connection: Connection, pond_id: UUID) -> UUID:
    ponds = table("pond").c
    query = select(ponds.site_id).where(ponds.id == pond_id, ponds.struck_at.is_(None))
    found: UUID | None = connection.scalars(query).one_or_none()
    if found is None:
        raise NotFound("There is no such pond in the book, or it was struck through.")
    return found


def wish_of(
    book: Book,
    *,
    pond_id: UUID | None = None,
    site_id: UUID | None = None,
    kind: str = OTHER_KIND,
    purposes: Sequence[Purpose] = (),
) -> Wish:
    """A visit of a kind to a pond or a whole site, whether or not anything was promised.

    Parameters
    ----------
    book
        The practice's book.
    pond_id
        The pond; None for all of the site.
    site_id
        The site; may be left out where a pond is named.
    kind
        What for, in a word or two.
    purposes
        Promises that it is to keep.

    Raises
    ------
    BadInput
        Neither a pond nor a site.
    NotFound
        No such pond.
    """
    with book.reading() as connection:
        if pond_id is not None:
            site_id = _site_of_pond(connection, pond_id)
        if site_id is None:
            raise BadInput("Where to? Please choose a pond or a site.")
        minutes, _why = length_of(visit_lengths(connection), kind)
    return Wish(site_id, pond_id, kind, minutes, tuple(purposes))


def wish_of_visit(visit: Visiting) -> Wish:
    """What a visit that stands already wishes, to be moved.

    Parameters
    ----------
    visit
        The visit.
    """
    return Wish(
        visit.site_id,
        visit.pond_id,
        visit.kind,
        visit.minutes,
        visit.purposes,
        visit.agreed_with,
        visit.note,
        visit.fixed,
    )
