"""What a logger's file does not say of its dates, its clock and its unit: found, or asked."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

from store.errors import BadInput
from store.exchange.logger.clock import Clock
from store.exchange.logger.head import Head
from store.exchange.logger.keep import instant_of
from store.exchange.logger.pieces import Source
from store.exchange.logger.read import Reading, day_texts
from store.exchange.logger.stamps import DAY_MS, orders_of
from store.exchange.logger.zones import zone_words
from store.exchange.plain.moments import Order
from store.text import day_said
from store.water.parameters import PARAMETERS

_OFFSET = re.compile(r"(?:UTC|GMT)?\s*([+-])(\d{1,2})(?::?(\d{2}))?", re.I)


@dataclass(frozen=True, slots=True)
class Ask:
    """What the file does not tell and nobody may guess."""

    field: str
    """`clock` or `unit`."""
    sentence: str
    choices: tuple[str, ...]


class Unclear(BadInput):
    """The file can be read in more than one way, and a person has to say in which.

    Parameters
    ----------
    message
        One or two sentences.
    field
        What is to be said.
    choices
        What can be said.
    """

    def __init__(self, message: str, field: str, choices: tuple[str, ...]) -> None:
        super().__init__(message, field=field)
        self.choices = choices


def order_shown(source: Source, head: Head) -> Order:
    """The order of day and month that the days of the file show.

    Parameters
    ----------
    source
        The file; it is read to its end where its beginning does not tell.
    head
        Its beginning.

    Raises
    ------
    Unclear
        When every day could be read in more than one way, or no way suits all.
    """
    if head.at is None:
        return "ymd"
    orders = orders_of(cells[head.at] for cells in head.sample)
    if orders is not None and len(orders) > 1:
        orders = orders_of(day_texts(source, [head.at], head.separator, head.first_line))
    if orders is None:
        return "ymd"
    if len(orders) == 1:
        return next(iter(orders))
    choices = tuple(sorted(orders)) or ("dmy", "mdy")
    example = next((cells[head.at] for cells in head.sample), "")
    raise Unclear(
        f"“{example:.40}” may be day and month in either order, and no row of {source.path.name} "
        f"tells which; nothing was brought in. Say --dates {' or --dates '.join(choices)}.",
        "dates",
        choices,
    )


def zone_of(practice: tzinfo, head: Head, clock: str) -> tuple[tzinfo, str, bool]:
    """The zone in which times are read, the sentence that says so, and whether it is certain.

    Parameters
    ----------
    practice
        The practice's time zone.
    head
        The beginning of the file.
    clock
        What a person said of the logger's clock; empty when nothing.

    Raises
    ------
    BadInput
        When what was said is no clock.
    """
    if clock == "local":
        return practice, "", True
    if clock:
        return _said_zone(clock), f"Times are read on the clock {clock}, as was said.", True
    if head.zone_word:
        minutes = zone_words(practice).get(head.zone_word)
        if minutes is None:
            return practice, "", False
        word = head.zone_word.upper()
        told = f"Times are read with {offset_said(minutes)}, which the file calls {word}."
        return timezone(timedelta(minutes=minutes)), told, True
    if head.offset_min is not None:
        zone = timezone(timedelta(minutes=head.offset_min))
        return zone, f"Times are read with {offset_said(head.offset_min)}, as the file says.", True
    if head.zone:
        return ZoneInfo(head.zone), f"Times are read in {head.zone}, as the file says.", False
    return practice, "", False


def _said_zone(clock: str) -> tzinfo:
    if clock.upper() in ("UTC", "GMT", "Z"):
        return timezone(timedelta(0))
    if found := _OFFSET.fullmatch(clock.strip()):
        minutes = 60 * int(found[2]) + int(found[3] or 0)
        if minutes < 1440:
            return timezone(timedelta(minutes=-minutes if found[1] == "-" else minutes))
    try:
        return ZoneInfo(clock)
    except (OSError, ValueError, LookupError) as error:
        raise BadInput(
            f"“{clock:.40}” is no clock; nothing was brought in. Say local, an offset from UTC as "
            "+01:00, or the name of a time zone as Europe/London.",
            field="clock",
        ) from error


def offset_said(minutes: int) -> str:
    """An offset from UTC as it is written.

    Parameters
    ----------
    minutes
        East of Greenwich is positive [min].

    Examples
    --------
    >>> offset_said(-330)
    'UTC-05:30'
    """
    sign = "-" if minutes < 0 else "+"
    return f"UTC{sign}{abs(minutes) // 60:02}:{abs(minutes) % 60:02}"


def clock_seen(clock: Clock) -> tuple[str, ...]:
    """The sentence that the logger's clock followed local time, where its rows show it.

    Parameters
    ----------
    clock
        After the file was read to its end.
    """
    verdict, changes = clock.verdict()
    if verdict != "followed":
        return ()
    days = ", ".join(
        day_said(instant_of(one.first_ms).date()) for one in changes[:4]
    ) + (" …" if len(changes) > 4 else "")  # fmt: skip
    return (f"The logger's clock followed the change of local time ({days}), as its rows show.",)


def ask_clock(clock: Clock, zone: tzinfo, *, sure: bool) -> tuple[Ask, ...]:
    """What is to be asked of a clock that may or may not have followed a change of local time.

    Parameters
    ----------
    clock
        After the file was read to its end.
    zone
        In which its times were read.
    sure
        The file or a person said how the clock ran.
    """
    verdict, changes = clock.verdict()
    if sure or verdict not in ("kept", "unknown") or not changes:
        return ()
    day = instant_of(changes[0].first_ms)
    offsets = []
    for away in (-2, 2):
        at = (day + timedelta(days=away)).astimezone(zone).utcoffset() or timedelta(0)
        offsets.append(offset_said(round(at.total_seconds() / 60)).removeprefix("UTC"))
    choices = (*sorted(set(offsets)), "local")
    seen = (
        "its rows run through as if its own clock did not"
        if verdict == "kept"
        else "no row shows whether its own clock did too"
    )
    return (
        Ask(
            "clock",
            f"Local time changed on {day_said(day.date())} within this file, and {seen}; nothing "
            f"was saved. Say --clock {' or --clock '.join(choices)}.",
            choices,
        ),
    )


def ask_word(clock: Clock, head: Head, practice: tzinfo) -> tuple[Ask, ...]:
    """What is to be asked where a heading names a clock by its short name.

    Parameters
    ----------
    clock
        After the file was read to its end.
    head
        The beginning of the file.
    practice
        The practice's time zone.

    Returns
    -------
    tuple of Ask
        The name means more than one clock; or it is the practice's own, which local time does not
        keep through all of the file.
    """
    if not head.zone_word or not clock.local_rows:
        return ()
    word = head.zone_word.upper()
    minutes = zone_words(practice).get(head.zone_word)
    if minutes is None:
        return (
            Ask(
                "clock",
                f"{word} is the name of more than one clock; nothing was saved. Say --clock with "
                "its offset, as +10:00, or --clock local.",
                ("local",),
            ),
        )
    assert clock.first_wall_ms is not None
    assert clock.last_wall_ms is not None
    names, offsets = set(), set()
    day = clock.first_wall_ms
    while day < clock.last_wall_ms + DAY_MS:
        at = instant_of(min(day, clock.last_wall_ms) - 60_000 * minutes).astimezone(practice)
        names.add((at.tzname() or "").upper())
        offsets.add(at.utcoffset())
        day += DAY_MS
    if offsets == {timedelta(minutes=minutes)} or not _uses(practice, word):
        return ()
    said = offset_said(minutes).removeprefix("UTC")
    return (
        Ask(
            "clock",
            f"The file says {word}, and local time in it is {' and '.join(sorted(names))}; nothing "
            f"was saved. Say --clock {said} if the logger's clock kept {word}, or --clock local.",
            (said, "local"),
        ),
    )


def _uses(practice: tzinfo, word: str) -> bool:
    """Whether a practice's own clock goes by that name for a part of the year."""
    days = (datetime(2026, month, 15, tzinfo=practice) for month in range(1, 13))
    return word in {(day.tzname() or "").upper() for day in days}


def ask_unit(reading: Reading) -> tuple[Ask, ...]:
    """What is to be asked where water without a unit is warmer on average than ponds get.

    Parameters
    ----------
    reading
        A file that was read to its end.
    """
    for place, column in enumerate(reading.how.roles.columns):
        n, total = reading.level.get(place, (0, 0.0))
        if column.parameter != "temperature_c" or column.unit or not n:
            continue
        if total / n > PARAMETERS["temperature_c"].usual_high:
            return (
                Ask(
                    "unit",
                    f"The file names no unit, and {total / n:.0f} °C on average is warmer than "
                    "ponds get; nothing was saved. Say --unit F or --unit C.",
                    ("F", "C"),
                ),
            )
    return ()
