"""Hours of a week as people type them: access to a site, working hours of a person.

What a text excludes is excluded; what it does not speak of is open. Words that were not understood
are handed back as they stand, and nothing is put in their place.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from store.diary.times.hours_typed import EVERY_DAY, WHOLE_DAY, hear
from store.diary.times.spell import MIDNIGHT, Spell, minute_of

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True, slots=True)
class WeekHours:
    """The hours of a week by weekday, Monday first.

    `unknown` are the words that were not understood. `days_only` are weekdays for which no hour was
    said: their spell is the whole day, because the text sets no limit. Working hours should have no
    such day and nothing unknown.
    """

    spells: tuple[tuple[Spell, ...], ...]
    unknown: str
    days_only: frozenset[int] = frozenset()

    @property
    def limits(self) -> bool:
        """Whether any hour of the week is excluded."""
        return any(spells != (WHOLE_DAY,) for spells in self.spells)

    @property
    def minutes(self) -> int:
        """All hours of the week together, by the clock on the wall [min]."""
        return sum(spell.minutes for spells in self.spells for spell in spells)


def read_hours(text: str) -> WeekHours:
    """The hours that a text says.

    Parameters
    ----------
    text
        Such as `Mon-Fri 9-17; Sat 09:00-13:00`, `daily 06:30-10:30`, `weekdays after 5pm`,
        `Mon, Wed, Fri 09:00-15:00`, `any day after 16:00`, `not Wed`, `closed Sun`, `any time`.
        Empty sets no limit.

    Returns
    -------
    WeekHours
        Hours without a day hold for every day. Where nothing at all was understood, no day is
        excluded and all of the text is `unknown`. A restriction behind the hours that cannot be
        reckoned (in term, by appointment, in daylight) is `unknown` too, and the hours stand. The
        hours of a part that contradicts itself or is not understood do not stand.

    Notes
    -----
    Daylight, seasons and terms have no hours of their own: they depend on the place and the year.
    `9-5` runs backwards on a clock of 24 hours and is not understood; `9am-5pm` and `9-17` are.

    Examples
    --------
    >>> hours = read_hours("Mon-Fri after 17:00; Sat 9am-1pm; ring first")
    >>> said_hours(hours)
    'Mon-Fri 17:00-24:00; Sat 09:00-13:00; not understood: “ring first”'
    >>> said_hours(read_hours("any day in daylight"))
    'any day; not understood: “in daylight”'
    """
    heard = hear(text)
    days_only = frozenset(heard.days_only if heard.opened or heard.days_only else EVERY_DAY)
    spells = tuple(
        ()
        if day in heard.closed
        else (WHOLE_DAY,)
        if day in days_only
        else _joined(heard.opened.get(day, []))
        for day in range(7)
    )
    return WeekHours(spells, "; ".join(heard.unknown), days_only - heard.closed)


def spells_on(hours: WeekHours, day: date) -> tuple[Spell, ...]:
    """The hours of one day, earliest first.

    Parameters
    ----------
    hours
        The hours of the week.
    day
        The local calendar day.

    Returns
    -------
    tuple of Spell
        Empty on a day that the text excludes.

    Examples
    --------
    >>> spells_on(read_hours("Sat 09:00-13:00"), date(2026, 3, 15))
    ()
    >>> [spell.minutes for spell in spells_on(read_hours("Sat 09:00-13:00"), date(2026, 3, 14))]
    [240]
    """
    return hours.spells[day.weekday()]


def said_hours(hours: WeekHours) -> str:
    """Hours of a week in one line, as `read_hours` reads them back.

    Parameters
    ----------
    hours
        The hours of the week.

    Returns
    -------
    str
        Days with the same hours together; what was not understood at the end.

    Examples
    --------
    >>> said_hours(read_hours("weekdays 8.30am - 12 noon and 2pm-6pm, closed Wed"))
    'Mon-Tue, Thu-Fri 08:30-12:00, 14:00-18:00'
    >>> said_hours(read_hours("any time"))
    'any time'
    """
    groups: dict[tuple[tuple[Spell, ...], bool], list[int]] = {}
    for day, spells in enumerate(hours.spells):
        if spells:
            groups.setdefault((spells, day in hours.days_only), []).append(day)
    said = [_group(days, spells, only) for (spells, only), days in groups.items()]
    if not said:
        said = ["no day"]
    if hours.unknown:
        said.append(f"not understood: “{hours.unknown}”")
    return "; ".join(said)


def _group(days: list[int], spells: tuple[Spell, ...], days_only: bool) -> str:
    times = "" if days_only else ", ".join(_spell(spell) for spell in spells)
    if len(days) == len(DAYS):
        if days_only:
            return "any day"
        return times if times == "any time" else f"daily {times}"
    return f"{_days(days)} {times}".strip()


def _spell(spell: Spell) -> str:
    if spell == WHOLE_DAY:
        return "any time"
    ends = "24:00" if spell.ends == MIDNIGHT else f"{spell.ends:%H:%M}"
    return f"{spell.begins:%H:%M}-{ends}"


def _days(days: list[int]) -> str:
    """Weekdays as ranges: Mon-Wed, Sat."""
    runs: list[list[int]] = []
    for day in days:
        if runs and runs[-1][-1] == day - 1:
            runs[-1].append(day)
        else:
            runs.append([day])
    return ", ".join(
        DAYS[run[0]] if len(run) == 1 else f"{DAYS[run[0]]}-{DAYS[run[-1]]}" for run in runs
    )


def _joined(spells: list[Spell]) -> tuple[Spell, ...]:
    """The same hours without overlaps, earliest first."""
    joined: list[Spell] = []
    for spell in sorted(spells, key=lambda one: (one.begins, minute_of(one.ends))):
        if joined and minute_of(spell.begins) <= minute_of(joined[-1].ends):
            last = max(joined[-1].ends, spell.ends, key=minute_of)
            joined[-1] = Spell(joined[-1].begins, last)
        else:
            joined.append(spell)
    return tuple(joined)
