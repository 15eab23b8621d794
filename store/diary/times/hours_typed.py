"""The words of weekly hours, piece by piece."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import time

from store.diary.times.names import WEEKDAY_WORDS, any_of
from store.diary.times.spell import MIDNIGHT, Spell, minute_of
from store.text import plain

WHOLE_DAY = Spell(time(0), MIDNIGHT)
EVERY_DAY = frozenset(range(7))

_GROUPS = {
    **dict.fromkeys(
        ("daily", "any day", "every day", "each day", "all days", "all week", "7 days a week",
         "7 days"), EVERY_DAY),
    **dict.fromkeys(("weekdays", "weekday", "every weekday", "any weekday"), frozenset(range(5))),
    **dict.fromkeys(("weekends", "weekend", "every weekend", "any weekend"), frozenset({5, 6})),
}  # fmt: skip


_DAY = rf"\b(?:{any_of(WEEKDAY_WORDS)})\b\.?"
_AT = (
    r"\b(?:(?:12 ?)?(?:noon|midday|midnight)|[0-9]{4}"
    r"|[0-9]{1,2}(?:[:.h][0-9]{2}|h)?(?: ?[ap]\.?m\b\.?)?)"
)
_END = r"(?: ?hrs?\b)?(?![0-9:])"
_CLOCK = re.compile(r"([0-9]{1,2}?)(?:[:.h]?([0-9]{2})|h)? ?(?:([ap])\.?m\.?)?", re.I)
_TOKEN = re.compile(
    "|".join((
        rf"(?P<run>(?P<first>{_DAY}) ?(?:-|to|through|thru) ?(?P<last>{_DAY}))",
        rf"(?P<group>\b(?:{any_of(_GROUPS)})\b)",
        rf"(?P<day>{_DAY})",
        r"(?P<always>\b(?:any ?time(?! (?:after|before|from|until|till|between))|at all times"
        r"|all day|24 ?/ ?7|24 ?h(?:ours|rs)?\b))",
        rf"(?P<span>(?:\b(?:from|after) )?(?P<begins>{_AT}) ?(?:-|to|till?|until) ?(?P<ends>{_AT})"
        rf"|\bbetween (?P<low>{_AT}) and (?P<high>{_AT})){_END}",
        rf"(?P<after>\b(?:after|from|not before) (?P<since>{_AT})){_END}(?: on(?:wards?)?\b)?",
        rf"(?P<onwards>(?P<since2>{_AT})){_END} onwards?\b",
        rf"(?P<before>\b(?:before|until|till?|up to|not after) (?P<until>{_AT})){_END}",
        r"(?P<no>\b(?:not on|not|except on|except|excluding|excl\.|closed on|closed|no|never)\b:?)",
        r"(?P<comma>,)",
        rf"(?P<or>\bor\b(?= {_DAY}))",
        r"(?P<filler>[&:+/]|\b(?:and|on|only|open|but)\b|\bany ?time\b|\.(?=\s|$)|\s+)",
    )),
    re.IGNORECASE,
)  # fmt: skip
# Words that narrow the hours before them: the hours stand, the words are handed back.
_NARROWS = re.compile(
    r"\(|\b(?:in|during|by|with|when|if|unless|or|please|ring|call|phone|text|ask|gate|key|school|"
    r"term|outside|prefer|preferred|preferably|best|not|no|except|excluding|closed|never)\b",
    re.IGNORECASE,
)


@dataclass(slots=True)
class Heard:
    """What was understood of a text.

    `opened` are hours by weekday (0 is Monday), `days_only` weekdays named without hours, `closed`
    those that are excluded; `unknown` the words that were not understood, as typed.
    """

    opened: dict[int, list[Spell]] = field(default_factory=dict)
    days_only: set[int] = field(default_factory=set)
    closed: set[int] = field(default_factory=set)
    unknown: list[str] = field(default_factory=list)


class _NotUnderstood(Exception):
    """The part does not stand; its words are handed back."""


def hear(text: str) -> Heard:
    """What a text says of weekly hours.

    Parameters
    ----------
    text
        As typed; parts stand on lines of their own or between semicolons.

    Returns
    -------
    Heard
        A part that is not understood, or contradicts one before it, is unknown as a whole; words
        behind hours that only narrow them are unknown by themselves.

    Examples
    --------
    >>> hear("Sat 09:00-13:00, by appointment").unknown
    ['by appointment']
    """
    heard = Heard()
    for typed in re.split(r"[;\n]", plain(text, lines=True)):
        words = " ".join(re.sub("[–—−‒]", "-", typed).split())
        if not words:
            continue
        try:
            part = _Part(words).read()
            _without_clash(part, heard)
        except _NotUnderstood:
            heard.unknown.append(words)
            continue
        for days, spells in part.done:
            for day in days:
                if spells:
                    heard.opened.setdefault(day, []).extend(spells)
                else:
                    heard.days_only.add(day)
        heard.closed |= part.closed
        heard.unknown += part.unknown
    heard.days_only -= heard.opened.keys()
    return heard


def _without_clash(part: _Part, heard: Heard) -> None:
    """Refuse hours that overlap others for the same day: which of the two hold is not said."""
    so_far = {day: list(spells) for day, spells in heard.opened.items()}
    for days, spells in part.done:
        for day in days:
            before = so_far.setdefault(day, [])
            for spell in spells:
                if any(_overlap(spell, other) for other in before):
                    raise _NotUnderstood
                before.append(spell)


def _overlap(one: Spell, other: Spell) -> bool:
    return minute_of(one.begins) < minute_of(other.ends) and minute_of(other.begins) < minute_of(
        one.ends
    )


class _Part:
    """One part of the text, read from left to right."""

    def __init__(self, words: str) -> None:
        self.words = words
        self.done: list[tuple[frozenset[int], tuple[Spell, ...]]] = []
        self.closed: set[int] = set()
        self.unknown: list[str] = []
        self._days: set[int] = set()
        self._spells: list[Spell] = []
        self._times_first = False
        # Days that were refused, a new group after each comma; None while nothing is refused.
        self._refused: list[set[int]] | None = None

    def read(self) -> _Part:
        at = 0
        while at < len(self.words):
            found = _TOKEN.match(self.words, at)
            if found is None or (found["no"] and not self._refuses(found.end())):
                at = self._narrowed(at)
                continue
            at = found.end()
            if found["no"]:
                self._no(at)
            elif found["comma"] and self._refused:
                self._refused.append(set())
            elif (days := _days(found)) is not None:
                self._add_days(days)
            elif (spell := _spell(found)) is not None:
                self._add_spell(spell)
        self._end_refusing()
        self._flush(last=True)
        if not (self.done or self.closed):
            raise _NotUnderstood
        return self

    def _refuses(self, at: int) -> bool:
        """Whether a word such as `not` is followed by a day, or stands behind one."""
        rest = self.words[at:].lstrip()
        found = _TOKEN.match(rest)
        if found is not None and _days(found) is not None:
            return True
        return bool(self._days) and not self._spells and (not rest or rest[0] == ",")

    def _no(self, at: int) -> None:
        rest = self.words[at:].lstrip()
        if not rest or rest[0] == ",":
            self.closed |= self._days
            self._days = set()
        else:
            self._end_refusing()
            self._refused = [set()]

    def _add_days(self, days: frozenset[int]) -> None:
        if self._refused is not None:
            self._refused[-1] |= days
            return
        if self._spells and not self._days and not self.done:
            self._times_first = True
        if self._spells and not self._times_first:
            self._flush()
        self._days |= days

    def _add_spell(self, spell: Spell) -> None:
        if self._refused is not None:
            # “closed Sun, Sat 9-12”: what stands behind the last comma is open.
            if len(self._refused) == 1 or not self._refused[-1]:
                raise _NotUnderstood
            days = self._refused.pop()
            self._end_refusing()
            self._flush()
            self._days = days
        if self._times_first and self._days:
            self._flush()
        if any(_overlap(spell, other) for other in self._spells):
            raise _NotUnderstood
        self._spells.append(spell)

    def _end_refusing(self) -> None:
        if self._refused is not None:
            self.closed = self.closed.union(*self._refused)
            self._refused = None

    def _flush(self, *, last: bool = False) -> None:
        if self._spells and not self._days:
            if not last or self.done:
                raise _NotUnderstood
            self._days = set(EVERY_DAY)
        if self._days:
            self.done.append((frozenset(self._days), tuple(self._spells)))
        self._days, self._spells = set(), []

    def _narrowed(self, at: int) -> int:
        """Hand back words behind something that was understood; where they end."""
        if not (self._days or self._spells or self.done or self.closed or self._refused):
            raise _NotUnderstood
        if not _NARROWS.match(self.words, at):
            raise _NotUnderstood
        mark = ")" if self.words[at] == "(" else ","
        end = self.words.find(mark, at)
        end = len(self.words) if end < 0 else end + (mark == ")")
        self.unknown.append(self.words[at:end].strip())
        return end


def _days(found: re.Match[str]) -> frozenset[int] | None:
    if found["run"]:
        first, last = _day(found["first"]), _day(found["last"])
        return frozenset((first + ahead) % 7 for ahead in range((last - first) % 7 + 1))
    if found["group"]:
        return _GROUPS[found["group"].lower()]
    return frozenset({_day(found["day"])}) if found["day"] else None


def _day(word: str) -> int:
    return WEEKDAY_WORDS[word.lower().rstrip(".")]


def _spell(found: re.Match[str]) -> Spell | None:
    if found["always"]:
        return WHOLE_DAY
    if found["span"]:
        return _span(found["begins"] or found["low"], found["ends"] or found["high"])
    if since := found["since"] or found["since2"]:
        return _forward(_time(since), MIDNIGHT)
    return _forward(time(0), _time(found["until"], end=True)) if found["until"] else None


def _span(begins: str, ends: str) -> Spell:
    """Two hours; `9-5pm` begins in the morning and `1-5pm` in the afternoon."""
    end = _time(ends, end=True)
    half = re.search(r"[ap](?=\.?m)", ends, re.IGNORECASE)
    if half and begins.isdigit() and 1 <= int(begins) <= 12:
        if half[0].lower() == "p" and _time(f"{begins}pm") < end:
            begins = f"{begins}pm"
        else:
            begins = f"{begins}am"
    return _forward(_time(begins), end)


def _forward(begins: time, ends: time) -> Spell:
    """A stretch that runs forward; one over midnight may be a slip of the twelve hours."""
    spell = Spell(begins, ends)
    if spell.minutes <= 0:
        raise _NotUnderstood
    return spell


def _time(text: str, *, end: bool = False) -> time:
    said = text.lower()
    if said.endswith(("noon", "midday")):
        return time(12)
    if said.endswith("midnight"):
        return MIDNIGHT if end else time(0)
    match = _CLOCK.fullmatch(said)
    if match is None:
        raise _NotUnderstood
    hour, minute, half = int(match[1]), int(match[2] or 0), match[3]
    if half and not 1 <= hour <= 12:
        raise _NotUnderstood
    if half:
        hour = hour % 12 + (12 if half == "p" else 0)
    if end and ((hour, minute) in ((24, 0), (23, 59)) or (half == "a" and hour == minute == 0)):
        return MIDNIGHT
    try:
        return time(hour, minute)
    except ValueError:
        raise _NotUnderstood from None
