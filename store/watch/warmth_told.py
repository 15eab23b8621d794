"""A pond's temperature where nobody has read it today, and readings that are to be settled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.tables import table
from store.text import day_said
from store.warmth.doubts import FLAT, RESTLESS
from store.warmth.estimate import APART, NOT_YET, TOO_LITTLE

if TYPE_CHECKING:
    from store.warmth.estimate import Doubt, Estimate, EstimatedDay

SETTLE = (
    "Measure with another thermometer. Correct or strike the test where it was a slip; say in the "
    "pond's data where the water is heated or indoors. Until then other ponds do not lean on these "
    "readings. They stay in the book as they are."
)
"""What to do about readings that the water cannot have had."""
STRANGE: Mapping[int, tuple[str, str]] = {
    RESTLESS: (
        "Its temperature swings more than that of ponds close by, and not with them: the probe may "
        "hang in the air or the sun, or some readings may be of another pond.",
        "its temperature swings more than those close by, and not with them",
    ),
    FLAT: (
        "Its temperature hardly follows the year: the water may be heated, indoors or fed by a "
        "well, or the probe may stand in the ground.",
        "its temperature hardly follows the year",
    ),
}
"""What is strange about the whole record of a pond, in sentences and in one line."""
NONE_IN_SHORT: Mapping[str, str] = {
    APART: "no estimate: its water does not follow the weather",
    TOO_LITTLE: "no estimate: too little is known of it",
    NOT_YET: "no estimate yet: it came after the last look over all records",
}
_DAYS_TOLD = (7, 14)


@dataclass(frozen=True, slots=True)
class WarmthTold:
    """A pond's temperature by estimate; never a measurement.

    `estimate` is None where there is none, and `why_not` says why. `of_today` is None there too,
    and where the pond has a reading of today that nobody has to doubt.
    """

    today: date
    estimate: Estimate | None
    of_today: EstimatedDay | None
    says: str
    """`of_today` in words with its interval [°C]; empty without one."""
    in_short: str
    """The same with what it rests on in a few words; without an estimate why there is none."""
    grounds: tuple[str, ...]
    """What the estimate rests on, in sentences."""
    why_not: str
    """Why there is no estimate, in a sentence; empty with one."""
    measured_today: bool
    """Whether the pond has a reading of today, doubted or not."""
    ahead: tuple[tuple[EstimatedDay, str], ...]
    """Some days to come, each with its words."""
    doubts: tuple[Doubt, ...]
    """Runs of readings that the water cannot have had, old to new."""
    to_settle: tuple[str, ...]
    """The doubts in sentences, then what is strange about the whole record."""
    to_settle_short: tuple[str, ...]
    """The same in one line each, in step with `to_settle`."""
    settle: str
    """What to do about them; empty where there are none."""


def warmth_told(book: Book, pond: UUID, now: datetime) -> WarmthTold | None:
    """What is told of a pond's temperature by estimate.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant, with a time zone.

    Returns
    -------
    WarmthTold or None
        None where no fit is at hand: then nothing is said of any estimate.
    """
    from store.warmth.kept.estimates import estimates_about

    found = estimates_about(book, pond, now)
    if found is None:
        return None
    from store.warmth.words import doubt_says, grounds, in_words, why_not

    today = book.today(now)
    estimate, doubts = found.told(pond), found.doubts(pond)
    says, short, of_today = "", "", None
    rests: tuple[str, ...] = ()
    ahead: tuple[tuple[EstimatedDay, str], ...] = ()
    if estimate is None:
        measured = _measured(book, pond, today)
        short = NONE_IN_SHORT.get(found.why_not(pond), "")
    else:
        measured = estimate.own_last_on == today
        if not measured or estimate.own_doubted:
            of_today = estimate.of_today
            says = f"{in_words(of_today)} by estimate"
            short = f"{says}; {rests_in_short(estimate)}"
        with book.reading() as connection:
            names = names_of(connection, (one.pond for one in estimate.neighbours))
        rests = tuple(grounds(estimate, names))
        ahead = tuple(
            (one, in_words(one)) for one in estimate.days if (one.day - today).days in _DAYS_TOLD
        )
    strange = [STRANGE[code] for code in (found.strange(pond),) if code]
    return WarmthTold(
        today=today,
        estimate=estimate,
        of_today=of_today,
        says=says,
        in_short=short,
        grounds=rests,
        why_not="" if estimate is not None else why_not(found.why_not(pond)),
        measured_today=measured,
        ahead=ahead,
        doubts=doubts,
        to_settle=(*(doubt_says(one) for one in doubts), *(said for said, _ in strange)),
        to_settle_short=(*(doubt_in_short(one) for one in doubts), *(said for _, said in strange)),
        settle=SETTLE if doubts or strange else "",
    )


def rests_in_short(estimate: Estimate) -> str:
    """What an estimate rests on in a few words: its own last reading, how many neighbours.

    Parameters
    ----------
    estimate
        The estimate.
    """
    if estimate.own_last_on is None or estimate.own_doubted:
        own = "its season"
    else:
        days = (estimate.today - estimate.own_last_on).days
        own = f"read {days} d ago" if days else "read today"
    many = len(estimate.neighbours)
    return f"{own}, {many or 'no'} {'neighbour' if many == 1 else 'neighbours'}"


def doubt_in_short(doubt: Doubt) -> str:
    """A run of doubted readings in one line, in °C.

    Parameters
    ----------
    doubt
        The run.
    """
    day, warmer = day_said(doubt.first), doubt.read_c > doubt.expected_c
    when = f"{day}: read as"
    if doubt.readings > 1:
        when = f"{doubt.readings} readings from {day}: {'up' if warmer else 'down'} to"
    fits = "; as °F it fits" if doubt.fahrenheit else ""
    return f"{when} {doubt.read_c:.1f} °C, about {doubt.expected_c:.1f} was expected{fits}"


def _measured(book: Book, pond: UUID, today: date) -> bool:
    """Whether anybody has measured the pond's temperature today."""
    from store.warmth.kept.readings import values

    with book.reading() as connection:
        day = today.toordinal()
        return bool(values(connection, book.zone, day, day, (pond,)))


def names_of(connection: Connection, keys: Iterable[UUID]) -> dict[UUID, str]:
    """Ponds by their client's name and their own, stations of the air by theirs.

    Parameters
    ----------
    connection
        A reading connection of the book.
    keys
        Of ponds and stations.

    Returns
    -------
    dict
        Key to name, for `store.warmth.words.grounds`.
    """
    wanted = tuple(keys)
    pond, site, client = table("pond").c, table("site").c, table("client").c
    rows = connection.execute(
        select(pond.id, client.name, pond.name)
        .join_from(table("pond"), table("site"), site.id == pond.site_id)
        .join(table("client"), client.id == site.client_id)
        .where(pond.id.in_(wanted))
    )
    found = {key: f"{owner}, {own}" if own and own != owner else owner for key, owner, own in rows}
    station = table("air_station").c
    named = select(station.id, station.name).where(station.id.in_(wanted))
    return found | {row.id: row.name for row in connection.execute(named)}
