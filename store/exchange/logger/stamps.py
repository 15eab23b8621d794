"""Days and times as loggers write them: where in the text each part stands.

The same layout reads one text, and thousands of texts of the same shape at once, so that a fast
reader cannot understand a time otherwise than a careful one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal

from store.exchange.logger.zones import NO_OFFSET, WORDS
from store.exchange.plain.moments import Order

Span = tuple[int, int]
DAY_MS = 86_400_000
_EPOCH_DAY = date(1970, 1, 1).toordinal()

_MORNING = (
    "am,a.m.,a.m,a. m.,a m,vorm.,vorm,vm.,πμ,π.μ.,π. μ.,上午,午前,오전,fm,de.,dop.,öö,дп,sa,ص,ق.ظ,"
    "f.h.,pd,ap.,पूर्वाह्न,הבקר,לפנה״צ,a.i.,rano,म.पू."
)
_EVENING = (
    "pm,p.m.,p.m,p. m.,p m,nachm.,nachm,nm.,μμ,μ.μ.,μ. μ.,下午,午後,오후,em,du.,odp.,ös,пп,ch,م,"
    "ب.ظ,e.h.,md,ip.,अपराह्न,הערב,אחה״צ,p.i.,म.उ."
)
_HALVES = {
    **{mark.casefold(): "a" for mark in _MORNING.split(",")},
    **{mark.casefold(): "p" for mark in _EVENING.split(",")},
}
_HALF = "|".join(re.escape(mark) for mark in sorted(_HALVES, key=len, reverse=True))

_MONTH_WORDS = (
    "jan,januar,january,janv,janvier,ene,enero,gen,gennaio,januari,janeiro",
    "feb,februar,february,févr,fév,février,febrero,febbraio,februari,fev,fevereiro",
    "mar,march,mär,märz,mrz,mars,marzo,maart,mrt,março",
    "apr,april,avr,avril,abr,abril,aprile",
    "may,mai,mayo,mag,maggio,mei,maj,maio",
    "jun,june,juni,juin,junio,giu,giugno,junho",
    "jul,july,juli,juil,juillet,julio,lug,luglio,julho",
    "aug,august,août,aoû,ago,agosto,augustus,augusti",
    "sep,sept,september,septembre,septiembre,set,settembre,setembro",
    "oct,okt,october,oktober,octobre,octubre,ott,ottobre,out,outubro",
    "nov,november,novembre,noviembre,novembro",
    "dec,dez,december,dezember,déc,décembre,dic,diciembre,dicembre,dezembro",
)
_MONTHS = {
    word: month for month, words in enumerate(_MONTH_WORDS, start=1) for word in words.split(",")
}
_MONTH = "|".join(sorted(_MONTHS, key=len, reverse=True))

_DAYS = (
    r"(?P<y>\d{4})(?P<s>[-/.])(?P<m>\d{1,2})(?P=s)(?P<d>\d{1,2})(?!\d)",
    r"(?P<y>\d{4})\. (?P<m>\d{1,2})\. (?P<d>\d{1,2})\.?(?!\d)",
    r"(?P<y>\d{4})[年년] ?(?P<m>\d{1,2})[月월] ?(?P<d>\d{1,2})[日일]",
    r"(?P<y>\d{4})(?P<m>\d{2})(?P<d>\d{2})(?!\d)",
    r"(?P<n1>\d{1,2})(?P<t>[-/.])(?P<n2>\d{1,2})(?P=t)(?P<n3>\d{4}|\d{2})(?!\d)",
    rf"(?P<d>\d{{1,2}})(?:\.? |[-/])(?P<word>{_MONTH})\.?(?:,? |[-/])(?P<y>\d{{4}}|\d\d)(?!\d)",
    rf"(?P<word>{_MONTH})\.? (?P<d>\d{{1,2}}),? (?P<y>\d{{4}})(?!\d)",
)
_CLOCK = (
    rf"(?:(?P<half1>{_HALF}) ?)?"
    r"(?P<h>\d{1,2})"
    r"(?:[:.時时시h] ?(?P<mi>\d{2})[分분]?(?:[:.] ?(?P<se>\d{2})[秒초]?(?:[.,](?P<f>\d{1,9}))?)?)?"
    rf"(?:\s?(?P<half2>{_HALF}))?"
    r"(?: ?(?P<z>Z|UTC|GMT)?(?P<sign>[+-])(?P<oh>\d{1,2})(?::?(?P<om>\d{2}))?"
    rf"| ?\(?(?P<word>{WORDS})\)?)?"
)
_DAY_RE = tuple(re.compile(pattern, re.IGNORECASE) for pattern in _DAYS)
_CLOCK_RE = re.compile(_CLOCK, re.IGNORECASE)
_BETWEEN = re.compile(r"(?:T|,? {1,2}|_)")
_PACKED = re.compile(
    r"(?P<y>\d{4})(?P<m>\d{2})(?P<d>\d{2})[T ]?(?P<h>\d{2})(?P<mi>\d{2})(?P<se>\d{2})?"
)
_EPOCH = re.compile(r"(?P<n>\d{10}|\d{13})(?:\.(?P<f>\d{1,9}))?", re.ASCII)
EPOCH_S = (946_684_800, 4_102_444_800)
"""Seconds since 1970 that are taken for a time: 2000 to 2099."""
_THREE = re.compile(r"(\d{1,2})[-/.](\d{1,2})[-/.](\d{4}|\d{2})(?!\d)")


_UTC_ALONE: Mapping[str, int] = {"z": 0, "utc": 0, "gmt": 0}


@dataclass(frozen=True, slots=True)
class Layout:
    """Where the parts of a day and a time stand in texts of one shape."""

    year: Span | None = None
    month: Span | None = None
    day: Span | None = None
    month_said: int = 0
    hour: Span | None = None
    minute: Span | None = None
    second: Span | None = None
    fraction: Span | None = None
    half: Literal["", "a", "p"] = ""
    offset_sign: int = 0
    """0 where the text names no offset from UTC in figures."""
    offset_hour: Span | None = None
    offset_minute: Span | None = None
    zone: str = ""
    """The short name of a clock, in small letters."""
    epoch: Span | None = None
    """Seconds since 1970, or thousandths of them where there are 13 figures."""

    @property
    def has_clock(self) -> bool:
        """Whether a time of day stands there."""
        return self.hour is not None or self.epoch is not None


@dataclass(frozen=True, slots=True)
class Stamp:
    """What one text says: milliseconds of its calendar and clock, and its offset from UTC."""

    wall_ms: int
    offset_min: int | None
    has_clock: bool


def day_layout(text: str, order: Order) -> Layout | None:
    """Where a day, and the time behind it if there is one, stand in a text.

    Parameters
    ----------
    text
        Without blanks at its ends; figures may be replaced by zeros.
    order
        In which order three figures are day, month and year.

    Returns
    -------
    Layout or None
        None when the text is neither.

    Examples
    --------
    >>> day_layout("2026-03-14 07:40", "ymd").minute
    (14, 16)
    """
    if (ticks := _EPOCH.fullmatch(text)) is not None:
        fraction = ticks.span("f") if ticks["f"] and len(ticks["n"]) == 10 else None
        return Layout(epoch=ticks.span("n"), fraction=fraction)
    for pattern in _DAY_RE:
        found = pattern.match(text)
        if found is None:
            continue
        parts = _day_parts(found, order)
        if parts is None:
            return None
        end = found.end()
        if end == len(text):
            return Layout(**parts)  # type: ignore[arg-type]
        between = _BETWEEN.match(text, end)
        if between is None:
            continue
        clock = clock_layout(text, between.end())
        if clock is not None:
            return _joined(parts, clock)
    packed = _PACKED.fullmatch(text)
    if packed is not None:
        names = {"y": "year", "m": "month", "d": "day", "h": "hour", "mi": "minute", "se": "second"}
        spans = {to: packed.span(one) for one, to in names.items() if packed[one]}
        return Layout(**spans)  # type: ignore[arg-type]
    return None


def _day_parts(found: re.Match[str], order: Order) -> dict[str, object] | None:
    groups = found.groupdict()
    if "n1" in groups:
        if order == "ymd" and len(found["n3"]) == 4:
            return None  # day and month could be either
        places = {"ymd": ("n1", "n2", "n3"), "dmy": ("n3", "n2", "n1"), "mdy": ("n3", "n1", "n2")}
        year, month, day = places[order]
        if found["n3"] and len(found["n3"]) == 4 and order == "ymd":
            year, month, day = "n3", "n2", "n1"  # the caller has to know the order
        return {name: found.span(one) for name, one in
                (("year", year), ("month", month), ("day", day))}  # fmt: skip
    parts: dict[str, object] = {"year": found.span("y"), "day": found.span("d")}
    if groups.get("word"):
        said = _MONTHS.get(groups["word"].casefold())
        return None if said is None else parts | {"month_said": said}
    return parts | {"month": found.span("m")}


def clock_layout(text: str, start: int = 0) -> Layout | None:
    """Where a time of day stands, from a place to the end of a text.

    Parameters
    ----------
    text
        Without blanks at its ends; figures may be replaced by zeros.
    start
        Where it begins, counted from 0.

    Returns
    -------
    Layout or None
        None when there is no time, or an hour alone that names no half of the day.
    """
    found = _CLOCK_RE.fullmatch(text, start)
    if found is None:
        return None
    marks = [found[name] for name in ("half1", "half2") if found[name]]
    if len(marks) > 1 or (not marks and found["mi"] is None):
        return None
    half = _HALVES.get(marks[0].casefold(), "") if marks else ""
    if marks and not half:
        return None
    names = {"h": "hour", "mi": "minute", "se": "second", "f": "fraction",
             "oh": "offset_hour", "om": "offset_minute"}  # fmt: skip
    spans = {to: found.span(one) for one, to in names.items() if found[one] is not None}
    sign = {"-": -1, "+": 1}.get(found["sign"], 0)
    word = (found["word"] or "").casefold()
    return Layout(**spans, half=half, offset_sign=sign, zone=word)  # type: ignore[arg-type]


def _joined(parts: dict[str, object], clock: Layout) -> Layout:
    return Layout(
        **parts,  # type: ignore[arg-type]
        hour=clock.hour, minute=clock.minute, second=clock.second, fraction=clock.fraction,
        half=clock.half, offset_sign=clock.offset_sign, offset_hour=clock.offset_hour,
        offset_minute=clock.offset_minute, zone=clock.zone,
    )  # fmt: skip


def read_stamp(
    text: str, clock: str, order: Order, words: Mapping[str, int] = _UTC_ALONE
) -> Stamp | str:
    """The day and time of a row, or the reason why they cannot be read.

    Parameters
    ----------
    text
        Day, or day and time; without blanks at its ends.
    clock
        Time of day, where it stands in a cell of its own.
    order
        In which order three figures are day, month and year.
    words
        Short names of clocks with their offsets from UTC [min], see `zones.zone_words`.

    Returns
    -------
    Stamp or str
        A day alone has no clock, and stands for its first moment.

    Examples
    --------
    >>> read_stamp("14.3.2026", "2:15 μ.μ.", "dmy").wall_ms == read_stamp(
    ...     "2026-03-14T14:15", "", "ymd").wall_ms
    True
    """
    layout = day_layout(text, order)
    if layout is None:
        return f"“{text:.40}” is no day and time."
    if layout.epoch is not None:
        at_ms = _epoch_ms(text, layout)
        return f"“{text:.40}” is no day and time." if at_ms is None else Stamp(at_ms, 0, True)
    day_ms = _day_ms(text, layout)
    if day_ms is None:
        return f"“{text:.40}” is no day of the calendar."
    if layout.has_clock or not clock:
        source, timed = text, layout
    else:
        found = clock_layout(clock)
        if found is None:
            return f"“{clock:.40}” is no time of day."
        source, timed = clock, found
    if not timed.has_clock:
        return Stamp(day_ms, None, False)
    clock_ms = _clock_ms(source, timed)
    if clock_ms is None:
        return f"“{source:.40}” is no time of day."
    if timed.zone and timed.zone not in words:
        return (
            f"“{timed.zone.upper()}” in “{source:.40}” is the name of more than one clock; say "
            "which with --clock and its offset, as +10:00."
        )
    offset = _offset(source, timed, words)
    if offset is not None and abs(offset) >= 1440:
        return f"“{source:.40}” has no offset from UTC that there is."
    return Stamp(day_ms + clock_ms, offset, True)


def _figure(text: str, span: Span | None) -> int:
    return 0 if span is None else int(text[span[0] : span[1]])


def _day_ms(text: str, layout: Layout) -> int | None:
    year = _figure(text, layout.year)
    if layout.year is not None and layout.year[1] - layout.year[0] == 2:
        year += 2000
    try:
        day = date(
            year, layout.month_said or _figure(text, layout.month), _figure(text, layout.day)
        )
    except ValueError:
        return None
    if not 1900 < year < 2199:
        return None
    return (day.toordinal() - _EPOCH_DAY) * DAY_MS


def _clock_ms(text: str, layout: Layout) -> int | None:
    hour, minute = _figure(text, layout.hour), _figure(text, layout.minute)
    second = _figure(text, layout.second)
    if layout.half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if layout.half == "p" else 0)
    thousandths = _thousandths(text, layout)
    if hour == 24 and not (layout.half or minute or second or thousandths):
        return DAY_MS  # the end of the day
    if hour > 23 or minute > 59 or second > 59:
        return None
    return ((hour * 60 + minute) * 60 + second) * 1000 + thousandths


def _thousandths(text: str, layout: Layout) -> int:
    if layout.fraction is None:
        return 0
    return int(text[layout.fraction[0] : layout.fraction[1]][:3].ljust(3, "0"))


def _epoch_ms(text: str, layout: Layout) -> int | None:
    assert layout.epoch is not None
    ticks = _figure(text, layout.epoch)
    at_ms = ticks if layout.epoch[1] - layout.epoch[0] == 13 else 1000 * ticks
    if not 1000 * EPOCH_S[0] <= at_ms < 1000 * EPOCH_S[1]:
        return None
    return at_ms + _thousandths(text, layout)


def _offset(text: str, layout: Layout, words: Mapping[str, int]) -> int | None:
    if layout.zone:
        minutes = words[layout.zone]
        return None if minutes == NO_OFFSET else minutes
    if not layout.offset_sign:
        return None
    minutes = 60 * _figure(text, layout.offset_hour) + _figure(text, layout.offset_minute)
    return layout.offset_sign * minutes


def orders_of(texts: Iterable[str]) -> set[Order] | None:
    """In which orders all of these days could be read, where they are three short figures.

    Parameters
    ----------
    texts
        Cells that begin with a day.

    Returns
    -------
    set of str or None
        None when no day is written so; empty when no one order reads them all.

    Examples
    --------
    >>> sorted(orders_of(["3/4/2026", "3/14/2026"]))
    ['mdy']
    """
    left: set[Order] = {"ymd", "dmy", "mdy"}
    any_seen = False
    for text in texts:
        found = _THREE.match(text)
        if found is None:
            continue
        first, second, third = (int(part) for part in found.groups())
        here: set[Order] = set()
        if len(found[3]) == 2 and 1 <= second <= 12 and 1 <= third <= 31:
            here.add("ymd")
        if 1 <= first <= 31 and 1 <= second <= 12:
            here.add("dmy")
        if 1 <= first <= 12 and 1 <= second <= 31:
            here.add("mdy")
        if here:  # else it is no day in any order, and tells nothing of the others
            any_seen = True
            left &= here
        if not left:
            break
    return left if any_seen else None
