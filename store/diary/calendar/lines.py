"""The lines of a calendar file as RFC 5545, 3.1, describes them, with the number of each.

A file that is broken in one place is read in all others, and what is wrong is told with its line.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from store.errors import BadInput
from store.text import plain

MOST_BYTES = 20_000_000
"""The largest file that is read [bytes]."""
MOST_FAULTS = 1000
"""A file with more lines that cannot be read is no calendar."""

_DEEPEST = 20
_LONGEST_TEXT = 20_000
_NAME = re.compile(r"[A-Za-z0-9-]+")
_PARAMETER = re.compile(r';([A-Za-z0-9-]+)=((?:"[^"]*"|[^";:,]*)(?:,(?:"[^"]*"|[^";:,]*))*)')
_ONE_VALUE = re.compile(r'"([^"]*)"|([^",]+)')
_BREAK = re.compile(rb"\r\n|\n|\r")
_ESCAPED = re.compile(r"\\([\\;,nN])")
_CARET = re.compile(r"\^([\^n'])")


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong with a file, and on which line it begins, counted from 1."""

    line: int
    says: str


@dataclass(frozen=True, slots=True)
class ContentLine:
    """One property: its name in capitals, its parameters, its value as it is written."""

    number: int
    name: str
    parameters: Mapping[str, tuple[str, ...]]
    value: str

    def parameter(self, name: str) -> str:
        """The first value of a parameter, empty where there is none."""
        return (self.parameters.get(name) or ("",))[0]


@dataclass(slots=True)
class Component:
    """What stands between BEGIN and END: properties and further components."""

    kind: str
    line: int
    lines: list[ContentLine] = field(default_factory=list)
    inner: list[Component] = field(default_factory=list)

    def one(self, name: str) -> ContentLine | None:
        """The first property of a name."""
        return next((one for one in self.lines if one.name == name), None)

    def every(self, name: str) -> list[ContentLine]:
        """All properties of a name."""
        return [one for one in self.lines if one.name == name]

    def text(self, name: str) -> str:
        """The words of a property, empty where there is none."""
        found = self.one(name)
        return "" if found is None else words(found.value[:_LONGEST_TEXT])


def components(data: bytes) -> tuple[tuple[Component, ...], tuple[Fault, ...]]:
    """The calendars of a file, and what could not be read.

    Parameters
    ----------
    data
        The file, at most `MOST_BYTES`.

    Returns
    -------
    tuple
        The calendars with all that stands in them, and the faults by line; of a component that has
        no end nothing is taken.

    Raises
    ------
    BadInput
        The file holds no calendar at all, is too large, or has too many lines that cannot be read.
    """
    if len(data) > MOST_BYTES:
        raise BadInput(
            f"The file is larger than {MOST_BYTES // 1_000_000} MB; nothing was brought in."
        )
    faults: list[Fault] = []
    whole = Component("", 0)
    open_ones = [whole]
    for number, text in _lines(data, faults):
        line = _content_line(number, text, faults)
        if len(faults) > MOST_FAULTS:
            raise BadInput(
                f"More than {MOST_FAULTS:,} lines of the file cannot be read, the first of them "
                f"line {faults[0].line}; nothing was brought in."
            )
        if line is None:
            continue
        if line.name == "BEGIN":
            if len(open_ones) > _DEEPEST:
                raise BadInput(f"Line {number} opens the {_DEEPEST}th part within others.")
            open_ones.append(Component(line.value.strip().upper(), number))
        elif line.name == "END":
            _end(line, open_ones, faults)
        else:
            open_ones[-1].lines.append(line)
    for one in open_ones[1:]:
        faults.append(Fault(one.line, _unended(one)))
        if one.kind == "VCALENDAR":
            # A file that was cut off: all that is whole in it counts.
            whole.inner.append(one)
    found = tuple(one for one in whole.inner if one.kind == "VCALENDAR")
    if not found:
        raise BadInput(
            "The file holds no calendar (no line BEGIN:VCALENDAR); nothing was brought in.",
            title="No calendar",
        )
    return found, tuple(sorted(faults, key=lambda one: one.line))


def words(value: str) -> str:
    r"""A text as it was before it was written into a calendar, made harmless.

    Parameters
    ----------
    value
        As it stands in the file.

    Examples
    --------
    >>> words(r"Leave\, all week\;\nback Monday")
    'Leave, all week;\nback Monday'
    """
    return plain(
        _ESCAPED.sub(lambda found: "\n" if found[1] in "nN" else found[1], value), lines=True
    )


def _lines(data: bytes, faults: list[Fault]) -> Iterator[tuple[int, str]]:
    """Every line with those folded below it, put together before letters are made of bytes.

    Some writers fold within a letter of several bytes.
    """
    data = data.removeprefix(b"\xef\xbb\xbf")
    held: list[bytes] = []
    began = 0
    for number, raw in enumerate(_BREAK.split(data), start=1):
        if raw[:1] in (b" ", b"\t") and held:
            held.append(raw[1:])
            continue
        if held:
            yield began, _decoded(began, b"".join(held), faults)
            held = []
        if raw.strip():
            held, began = [raw], number
    if held:
        yield began, _decoded(began, b"".join(held), faults)


def _decoded(number: int, raw: bytes, faults: list[Fault]) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        faults.append(Fault(number, "holds letters that are not UTF-8; they were replaced."))
        return raw.decode("utf-8", errors="replace")


def _content_line(number: int, text: str, faults: list[Fault]) -> ContentLine | None:
    name = _NAME.match(text)
    at = name.end() if name else 0
    parameters: dict[str, tuple[str, ...]] = {}
    while name and (found := _PARAMETER.match(text, at)) is not None:
        parameters[found[1].upper()] = tuple(
            _CARET.sub(_from_caret, quoted or bare) for quoted, bare in _ONE_VALUE.findall(found[2])
        )
        at = found.end()
    if name is None or text[at : at + 1] != ":":
        faults.append(Fault(number, f"is no line of a calendar: “{plain(text[:60])}”."))
        return None
    return ContentLine(number, name[0].upper(), MappingProxyType(parameters), text[at + 1 :])


def _from_caret(found: re.Match[str]) -> str:
    return {"^": "^", "n": "\n", "'": '"'}[found[1]]


def _end(line: ContentLine, open_ones: list[Component], faults: list[Fault]) -> None:
    """Close the component that ends here; those within it that have no end are told and left."""
    kind = line.value.strip().upper()
    if all(one.kind != kind for one in open_ones[1:]):
        faults.append(Fault(line.number, f"ends a {plain(kind)[:20]} that nothing began."))
        return
    while open_ones[-1].kind != kind:
        faults.append(Fault(open_ones[-1].line, _unended(open_ones.pop())))
    done = open_ones.pop()
    open_ones[-1].inner.append(done)


def _unended(one: Component) -> str:
    return f"begins a {plain(one.kind)[:20]} that is not ended."
