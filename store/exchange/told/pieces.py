"""A pasted text cut into its pieces: messages with stamp and sender, or days of a diary.

Nothing of the text is lost: every character stands in exactly one piece.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from store.errors import BadInput
from store.exchange.columns import DayCell, day_cell
from store.exchange.columns.day_words import MONTH, WEEKDAY
from store.water.words import LOOKALIKES

_FIGURES = (
    r"[0-9]{1,2}[./-][0-9]{1,2}[./-](?:[0-9]{4}|[0-9]{2})|[0-9]{4}[-/.][0-9]{1,2}[-/.][0-9]{1,2}"
)
_NAMED = (
    rf"[0-9]{{1,2}}(?:st|nd|rd|th|\.)?[ ](?:of[ ])?(?:{MONTH})\.?(?![^\W\d_])(?:,?[ ][0-9]{{4}})?"
    rf"|(?:{MONTH})\.?[ ][0-9]{{1,2}}(?:st|nd|rd|th)?(?:,?[ ][0-9]{{4}})?(?![0-9:.])"
)
_WEEKDAY = WEEKDAY.pattern.replace("(?P<day>", "(?:", 1)
DAY: Final = rf"(?:{_WEEKDAY},?[ ])?(?:{_FIGURES}|{_NAMED})"
"""A day written out, with or without its weekday."""
_CLOCK = r"[0-9]{1,2}[:.][0-9]{2}(?::[0-9]{2})?(?:[ ]?[ap]\.?m\.?)?"
_WHO = r"[^:\[\]<>\n]{1,60}?"
_AT = rf"(?P<day>{DAY})(?:,[ ]?|[ ](?:at[ ])?)(?P<clock>{_CLOCK})"
_TURNED = rf"(?P<clock>{_CLOCK})(?:,[ ]?|[ ])(?P<day>{DAY})"
_SENDER = rf"(?:(?P<who>{_WHO}):(?:[ ]|$))?"
_STAMPS = tuple(
    re.compile(pattern, re.IGNORECASE)
    for pattern in (
        rf"\[{_AT}\][ ]*{_SENDER}",
        rf"\[{_TURNED}\][ ]*{_SENDER}",
        rf"{_AT}[ ]-[ ]{_SENDER}",
        rf"(?P<who>{_WHO})(?:,[ ]?|[ ]-?[ ]?)\[{_AT}\][ ]*$",
        rf"(?P<who>{_WHO})(?:[ ]-[ ]|,[ ]){_AT}[ ]*$",
        rf"(?:>[ ]?)*On[ ]{_AT},?[ ](?P<who>{_WHO})(?:[ ]<[^>]*>)?[ ]wrote:[ ]*$",
        rf"\[?(?P<clock>{_CLOCK})\]?[ ]*(?:-[ ])?(?P<who>{_WHO}):[ ]",
    )
)
_HEADING = re.compile(
    rf"(?P<day>{DAY})(?:,?[ ](?:at[ ])?(?P<clock>{_CLOCK}))?(?:[ ]*[:-]+(?:[ ]|$)|[ ]*$)",
    re.IGNORECASE,
)
_WEEKDAY_HEADING = re.compile(rf"(?P<weekday>{_WEEKDAY})(?:[ ]*[:-]+[ ]|[ ]*$)", re.IGNORECASE)
_MAIL_FROM = re.compile(rf"From:[ ]*\"?(?P<who>{_WHO})\"?(?:[ ]*<[^>]*>)?[ ]*$", re.IGNORECASE)
_MAIL_DAY = re.compile(
    rf"(?:Date|Sent):[ ]*(?P<day>{DAY})(?:,?[ ](?:at[ ])?(?P<clock>{_CLOCK}))?.*$", re.IGNORECASE
)
_MAIL_REST = re.compile(r"(?:To|Cc|Bcc|Subject|Reply-To):", re.IGNORECASE)
# Marks for the direction of writing stand before many stamps; harmless, they show as this.
_NO_LETTER: Final = {0xFFFD: " ", 0x2014: "-", 0x2013: "-", 0x202F: " "}


@dataclass(frozen=True, slots=True)
class Piece:
    """A message, or a day of a diary.

    `start` and `end` are its place in the whole text, `body` where its words begin. `day` is as
    written, None where none stands; `clock` is the hour of writing as written; `weekday` the
    heading of a diary that names no more than that.
    """

    start: int
    body: int
    end: int
    stamp: str = ""
    sender: str = ""
    day: DayCell | None = None
    clock: str = ""
    weekday: str = ""


@dataclass(slots=True)
class _Begun:
    start: int
    body: int
    stamp: str = ""
    sender: str = ""
    day: DayCell | None = None
    clock: str = ""
    weekday: str = ""
    mail: bool = False
    """Lines of a mail's head still come."""


def pieces_of(text: str) -> tuple[Piece, ...]:
    """The pieces of a text, in its own order.

    Known are stamps in brackets or before a dash, with the sender before or behind, the head of a
    mail and of what it answers, and a day or a weekday as heading of a paragraph. Text before the
    first stamp is a piece of its own; a text without any is one piece.

    Parameters
    ----------
    text
        Plain, with line feeds (see `store.text.plain`).

    Returns
    -------
    tuple of Piece
        Joined from `start` to `end` they are the text; empty for a text without words.

    Examples
    --------
    >>> text = "[02/05/2026, 09:14] Ann Reed: temp 17\\npH 7.8\\n[09:20, 02/05/2026] Ann: hello"
    >>> [(one.sender, one.clock, text[one.body : one.end]) for one in pieces_of(text)]
    [('Ann Reed', '09:14', 'temp 17\\npH 7.8\\n'), ('Ann', '09:20', 'hello')]
    >>> [one.day.month for one in pieces_of("2 May: temp 17\\n\\n3 May\\npH 7.8") if one.day]
    [5, 5]
    """
    begun = list(_begun(text))
    found = []
    for place, one in enumerate(begun):
        end = begun[place + 1].start if place + 1 < len(begun) else len(text)
        found.append(
            Piece(
                one.start, min(one.body, end), end, one.stamp, one.sender, one.day, one.clock,
                one.weekday,
            )
        )  # fmt: skip
    if len(found) > 1 and not text[found[0].start : found[0].end].strip():
        found[1:2] = [_joined(found[0], found[1])]
        del found[0]
    return tuple(found) if text.strip() else ()


def _joined(blank: Piece, first: Piece) -> Piece:
    return Piece(
        blank.start, first.body, first.end, first.stamp, first.sender, first.day, first.clock,
        first.weekday,
    )  # fmt: skip


def _begun(text: str) -> Iterator[_Begun]:
    now = _Begun(0, 0)
    place = 0
    for line in text.splitlines(keepends=True):
        bare = line.rstrip("\n")
        new = _stamped(bare, place)
        if now.mail and _in_mail(now, bare, place + len(line)):
            new = None
        elif new is not None:
            yield now
            now = new
        elif not now.mail or bare.strip():
            now.mail = False
        place += len(line)
    yield now


def _in_mail(now: _Begun, bare: str, end: int) -> bool:
    """Take a line of a mail's head; whether it is one."""
    found = _MAIL_DAY.match(bare)
    if found is not None:
        now.day = _day(found["day"])
        now.clock = found["clock"] or ""
    elif (sender := _MAIL_FROM.match(bare)) is not None:
        now.sender = sender["who"].strip()
    elif _MAIL_REST.match(bare) is None:
        return False
    now.stamp = f"{now.stamp} {bare.strip()}".strip()
    now.body = end
    return True


def _stamped(bare: str, place: int) -> _Begun | None:
    """The piece that begins with this line, or nothing."""
    looked = bare.translate(LOOKALIKES).translate(_NO_LETTER)
    indent = len(looked) - len(looked.lstrip())
    head = looked[indent:]
    if not head:
        return None
    for pattern in _STAMPS:
        found = pattern.match(head)
        if found is None:
            continue
        groups = found.groupdict()
        day = _day(groups["day"]) if groups.get("day") else None
        if groups.get("day") and day is None:
            continue
        return _Begun(
            place, place + indent + found.end(), bare.strip()[: found.end()].strip(),
            (groups.get("who") or "").strip(" ~"), day, groups["clock"] or "",
        )  # fmt: skip
    for pattern in (_MAIL_FROM, _MAIL_DAY):
        if pattern.match(head):
            one = _Begun(place, place, mail=True)
            _in_mail(one, head, place + len(bare))
            return one
    found = _HEADING.match(head)
    if found is not None and (day := _day(found["day"])) is not None:
        return _Begun(
            place, place + indent + found.end(), found[0].strip(), day=day,
            clock=found["clock"] or "",
        )  # fmt: skip
    found = _WEEKDAY_HEADING.match(head)
    if found is not None:
        return _Begun(
            place, place + indent + found.end(), found[0].strip(),
            weekday=found["weekday"].strip(" ."),
        )  # fmt: skip
    return None


def _day(text: str) -> DayCell | None:
    try:
        return day_cell(text)
    except BadInput:
        return None
