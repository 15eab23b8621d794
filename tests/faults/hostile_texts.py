"""Files that are no sheets, made of hostile texts: calendars of days off, messages of owners."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tests.faults.hostile import Hostile

Named = tuple[str, bytes, int]
"""What a file tries, the file, and how many texts are in it."""

_LETTERS = "utf-8", "surrogatepass"

# --- calendars ---------------------------------------------------------------------------------------

GOOD = (
    "BEGIN:VEVENT\r\nUID:good-{nth}\r\nDTSTAMP:20260301T080000Z\r\nDTSTART;VALUE=DATE:202605{day:02}"
    "\r\nDTEND;VALUE=DATE:202605{next:02}\r\nSUMMARY:Leave\r\nEND:VEVENT\r\n"
)
EVENT = (
    ("UID", "{uid}"),
    ("DTSTAMP", "20260301T080000Z"),
    ("LAST-MODIFIED", "20260301T080000Z"),
    ("SEQUENCE", "1"),
    ("DTSTART", "20260402T090000"),
    ("DTEND", "20260402T110000"),
    ("SUMMARY", "Away"),
    ("DESCRIPTION", "Course"),
    ("LOCATION", "Mill Lane"),
    ("STATUS", "CONFIRMED"),
    ("TRANSP", "OPAQUE"),
    ("RRULE", "FREQ=WEEKLY;COUNT=2"),
    ("EXDATE", "20260409T090000"),
    ("RDATE", "20260411T090000"),
)
MORE = ("DURATION", "RECURRENCE-ID", "CLASS", "CATEGORIES", "X-WORD", "ATTACH", "ATTENDEE")
"""Properties that stand in other events than this one."""
_ZONE = (
    "BEGIN:VTIMEZONE\r\nTZID:{tzid}\r\nBEGIN:STANDARD\r\nDTSTART:{start}\r\nTZOFFSETFROM:{off}\r\n"
    "TZOFFSETTO:{off}\r\nTZNAME:{name}\r\nEND:STANDARD\r\nEND:VTIMEZONE\r\n"
)


def calendars(texts: Sequence[Hostile]) -> Iterator[Named]:
    """Calendars of days off: each property in turn holds each text, as it is and as words.

    Parameters
    ----------
    texts
        What is put in.
    """
    for name in (*(name for name, _ in EVENT), *MORE):
        for written, made in (("as it is", str), ("as words", escaped)):
            events = (
                _event(nth, name, f"{name}:{made(one.text)}") for nth, one in enumerate(texts)
            )
            yield f"{name} {written}", _calendar("".join(events)), len(texts)
    for name in ("DTSTART", "SUMMARY"):
        events = (
            _event(nth, name, f'{name};TZID="{one.text}":20260402T090000')
            for nth, one in enumerate(texts)
        )
        yield f"parameter of {name}", _calendar("".join(events)), len(texts)
    for start in range(0, len(texts), 100):
        part = texts[start : start + 100]
        lines = (_event(start + nth, "", one.text) for nth, one in enumerate(part))
        yield "a line", _calendar("".join(lines)), len(part)
    for nth, one in enumerate(texts[::10]):
        text = one.text
        zone = _ZONE.format(tzid=text, start="19700101T000000", off="+0100", name=text)
        used = _event(nth, "DTSTART", f"DTSTART;TZID={text}:20260402T090000")
        yield "a time zone", _calendar(zone + used), 1
        zone = _ZONE.format(tzid="Own", start=text, off=text, name="x")
        used = _event(nth, "DTSTART", "DTSTART;TZID=Own:20260402T090000")
        yield "inside a time zone", _calendar(zone + used), 1
        yield (
            "the head",
            _calendar(_event(nth, "", "")).replace(b"PRODID:x", _bytes(f"METHOD:{text}")),
            1,
        )
        yield "a part", _calendar(f"BEGIN:{text}\r\n{_event(nth, '', '')}END:{text}\r\n"), 1
        yield "the file", _bytes(text), 1


def huge_calendars(texts: Sequence[Hostile]) -> Iterator[Named]:
    """A text of a megabyte in each property, and as a whole line.

    Parameters
    ----------
    texts
        What is put in.
    """
    names = (*(name for name, _ in EVENT), *MORE, "")
    for nth, name in enumerate(names):
        for one in (texts * 2)[nth % len(texts) :][:2]:
            line = f"{name}:{one.text}" if name else one.text
            yield f"{name or 'a line'} of a megabyte", _calendar(_event(nth, name, line)), 1


def escaped(text: str) -> str:
    """Words as RFC 5545, 3.3.11, writes them, folded at 60 characters.

    Parameters
    ----------
    text
        The words.
    """
    for sign in "\\;,":
        text = text.replace(sign, f"\\{sign}")
    text = text.replace("\r\n", "\\n").replace("\n", "\\n").replace("\r", "\\n")
    return "\r\n ".join(text[at : at + 60] for at in range(0, len(text), 60))


def _event(nth: int, name: str, line: str) -> str:
    lines = [
        line if one == name else f"{one}:{value.format(uid=f'tried-{nth}')}" for one, value in EVENT
    ]
    if name not in dict(EVENT):
        lines.append(line)
    return "\r\n".join(["BEGIN:VEVENT", *lines, "END:VEVENT", ""])


def _calendar(inside: str) -> bytes:
    before, behind = (GOOD.format(nth=nth, day=day, next=day + 1) for nth, day in ((1, 4), (2, 20)))
    head = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:x\r\n"
    return _bytes(f"{head}{before}{inside}{behind}END:VCALENDAR\r\n")


def _bytes(text: str) -> bytes:
    return text.encode(*_LETTERS)


# --- messages ----------------------------------------------------------------------------------------

SHAPES = (
    "[{day}, {hour}:11] Ann Reed: {text}\n",
    "[{day}, {hour}:11] {text}: temp 16, pH 8.1\n",
    "[{text}, {hour}] Ann Reed: temp 16\n",
    "[{day}, {text}] Ann Reed: temp 16\n",
    "{day} {hour} - Ann Reed: temp {text}, pH 8.1 and nitrite 0\n",
    "{day} {hour} - {text}\n",
    "{day}: lost {text} koi, changed {text} litres\n",
    "Thu: {text}\n",
    "{text}\n",
    "From: {text} <a@example.org>\nDate: {day} {hour}\nSubject: {text}\n\ntemp 16\n",
    "On {day} at {hour}, {text} wrote:\n> ammonia 0.25 {text}\n",
    "Ann Reed, [{day} {hour}]\nsalt {text} g/L; {text} bags of salt; {text} % change on Sat\n",
)
"""Ways in which owners' texts come."""
_NO_LETTERS = {"\0", *map(chr, range(0xD800, 0xE000))}
"""By these a file is taken for no text, or for one in other letters: each stands in its own."""


def messages(texts: Sequence[Hostile]) -> Iterator[Named]:
    """Texts of owners: each place in turn holds each text.

    Parameters
    ----------
    texts
        What is put in.
    """
    letters = [one for one in texts if not set(one.text) & _NO_LETTERS]
    for shape in SHAPES:
        part: list[str] = []
        for nth, one in enumerate(letters):
            part.append(_message(shape, nth, one.text))
            if len(part) == 300:
                yield shape, _bytes("".join(part)), len(part)
                part = []
        yield shape, _bytes("".join(part)), len(part)
    for nth, one in enumerate(one for one in texts if set(one.text) & _NO_LETTERS):
        for shape in SHAPES[nth % 4 :: 4]:
            yield shape, _bytes(_message(shape, nth, one.text)), 1


def huge_messages(texts: Sequence[Hostile]) -> Iterator[Named]:
    """Texts as long as are looked through, and of a megabyte.

    Parameters
    ----------
    texts
        What is put in.
    """
    for nth, one in enumerate(texts):
        for longest in (390_000, len(one.text)):
            ahead, _, behind = SHAPES[nth % len(SHAPES)].partition("{text}")
            shape = f"{ahead}{{text}}{behind.replace('{text}', '')}"  # once is long enough
            yield "a long text", _bytes(_message(shape, nth, one.text[:longest])), 1


def _message(shape: str, nth: int, text: str) -> str:
    """One message, at an hour that none of the 600 before it has."""
    said = shape.replace("{day}", f"{nth % 28 + 1:02}/02/2026")
    return said.replace("{hour}", f"{nth // 28 % 24:02}:{nth // 672:02}").replace("{text}", text)
