"""One line typed at the pond, understood: `19,5C pH 6.8 TAN 0.5 NO2 0-0.25 KH 4 // after rain`.

Any order, the name before or after its number, a point or a comma as decimal mark. Nothing of the
line is lost: each number ends in a reading, a question, the time or the note. Nothing is invented:
what is not plausible is asked, with a proposal where one is evident.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, tzinfo

from store.text import plain
from store.water.pairs import Item, Pair, items_of, pair
from store.water.parameters import PARAMETERS
from store.water.pieces import Amount, Piece, cut, is_quiet, unit_and_form
from store.water.plausible import fits, judge, named_later, retyped
from store.water.understood import (
    Doubt,
    KitForms,
    ReadingValue,
    Understood,
    accept,
    echo_of,
    keep_in_note,
    proposal_text,
    shown,
    write,
)
from store.water.when import find_time
from store.water.words import LOOKALIKES, NAMED_BY_UNIT, Name, name_of

__all__ = [
    "Doubt",
    "KitForms",
    "ReadingValue",
    "Understood",
    "accept",
    "keep_in_note",
    "proposal_text",
    "read_cell",
    "shown",
    "understand",
    "write",
]

_NOT_TESTED = re.compile(
    r"[\s.–—-]*|n/?a|n\.a\.|n/?t|not tested|not done|none taken", re.IGNORECASE
)


@dataclass(slots=True)
class _Found:
    """What one part of the line gave, each with its place so that the order typed is kept."""

    readings: list[tuple[int, ReadingValue]] = field(default_factory=list)
    doubts: list[tuple[int, Doubt]] = field(default_factory=list)
    alone: list[tuple[int, str, Amount]] = field(default_factory=list)
    words: list[str] = field(default_factory=list)


def understand(text: str, *, kit: KitForms, now: datetime, zone: tzinfo) -> Understood:
    """What a line says: readings, questions, note and time, with an echo to show before saving.

    After `//` everything is the note; so is a part after `;` that does not wholly consist of
    readings. Words that are not understood are a question whose answer is to keep them in the note.

    Parameters
    ----------
    text
        Any text.
    kit
        As what the kits of the pond report ammonia, nitrite and nitrate.
    now
        The present instant, aware; `at 07:40` is today's.
    zone
        The zone of the practice.

    Returns
    -------
    Understood
        Readings hold only what is beyond doubt, in the order typed.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> kit = KitForms(ammonia="nh3", nitrite="no2", nitrate="no3")
    >>> now = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
    >>> understand("66F, pH 6,8 TAN 0.5 KH 4", kit=kit, now=now, zone=UTC).echo
    '18.9 °C (66 °F) · pH 6.8 · TAN 0.41 mg/L N (0.5 as NH3) · KH 4.0 dKH (71 mg/L CaCO3)'
    >>> [doubt.question for doubt in understand("pH 68", kit=kit, now=now, zone=UTC).doubts]
    ['“pH 68” cannot be. pH 6.8?']
    """
    body, _, after = plain(text, lines=True).partition("//")
    notes: list[str] = []
    kept: list[str] = []
    for place, part in enumerate(body.split(";")):
        if place and not _only_readings(part, kit):
            notes.append(part)
        else:
            kept.append(part)
    notes.append(after)
    line = "\n".join(kept)
    when = find_time(line.translate(LOOKALIKES), now, zone)
    found = _read(_without(line, when.places), line, kit)
    readings, doubts = _once_each(found)
    doubts.extend(when.doubts)
    if found.words:
        words = ", ".join(found.words)
        doubts.append(Doubt("", words, f"“{words}” is not understood. Keep it as a note?"))
    note = "; ".join(one for one in (" ".join(part.split()) for part in notes) if one)
    understood = Understood(tuple(readings), tuple(doubts), note, when.taken_at, "")
    return replace(understood, echo=echo_of(understood))


def read_cell(
    parameter: str, text: str, unit: str | None, kit: KitForms
) -> ReadingValue | Doubt | None:
    """One cell of a sheet, or one field of the form, by the rules of the typed line.

    Parameters
    ----------
    parameter
        Code of the parameter that the column or field holds.
    text
        The cell.
    unit
        Unit and form of the column (`F`, `mg/L`, `ppm NH3-N`), or nothing where it has none.
    kit
        As what the kits of the pond report.

    Returns
    -------
    ReadingValue or Doubt or None
        None is not tested: an empty cell, `-`, `n/a`. A doubt never stops other cells.

    Examples
    --------
    >>> shown(read_cell("temperature_c", "66", "F", KitForms()))
    '18.9 °C (66 °F)'
    >>> read_cell("ph", "n/a", None, KitForms()) is None
    True
    """
    cell = " ".join(plain(text).split())
    if _NOT_TESTED.fullmatch(cell):
        return None
    pieces = cut(cell)
    amounts = [piece.amount for piece in pieces if piece.amount is not None]
    names = [piece.name for piece in pieces if piece.name is not None]
    label = PARAMETERS[parameter].label
    if len(amounts) != 1:
        question = f"“{cell}” for {label} is not one number. Please type it again."
        return Doubt(parameter, cell, question)
    name = Name(parameter)
    column = _column(parameter, unit)
    if column is None:
        question = f"“{unit}” is no unit of {label}. In which unit is “{cell}”?"
        return Doubt(parameter, cell, question)
    amount = amounts[0]
    for said in names:
        if said.parameter != parameter:
            question = f"“{cell}” stands under {label} but names another. What is it?"
            return Doubt(parameter, cell, question)
        name = said
    amount = replace(
        amount, unit=amount.unit or column[0], form=amount.form or name.form or column[1]
    )
    if amount.unit == "other" or not fits(name, amount):
        question = f"“{cell}” does not suit {label}. Please type it again."
        return Doubt(parameter, cell, question)
    answer = judge(name, amount, kit, cell)
    strange = any(piece.kind in {"word", "filler", "stop"} for piece in pieces)
    if isinstance(answer, ReadingValue) and strange:
        proposed = retyped(answer, cell)
        return Doubt(parameter, cell, f"“{cell}” has words in it. {shown(answer)}?", proposed)
    return answer


def _column(parameter: str, unit: str | None) -> tuple[str, str] | None:
    """Unit and form of a column; nothing where they are not understood."""
    text = " ".join(plain(unit or "").split()).translate(LOOKALIKES).strip("()[] ")
    if not text or text.lower() == "ph":
        return "", ""
    found, form, _, end = unit_and_form(text, 0)
    rest = text[end:].strip(" -,()")
    if rest:
        named = name_of(rest)
        if named is None or named.parameter != parameter:
            return None
        form = form or named.form
    if not found and not form:
        return None
    return found, form


def _only_readings(part: str, kit: KitForms) -> bool:
    """Whether a part of the line is nothing but readings, so that it is no note."""
    found = _read(part, part, kit)
    return bool(found.readings or found.doubts) and not (found.alone or found.words)


def _without(line: str, places: Sequence[tuple[int, int]]) -> str:
    """The line with commas in those places, of the same length."""
    for start, end in places:
        line = line[:start] + ",".ljust(end - start) + line[end:]
    return line


def _read(line: str, original: str, kit: KitForms) -> _Found:
    """Readings, doubts and leftovers of one line without time and note."""
    pieces = cut(line)
    items = items_of(pieces)

    def cost(name: Name, piece: Piece) -> float:
        if not name.parameter or piece.amount is None:
            return 0.0
        answer = judge(name, piece.amount, kit, "")
        if isinstance(answer, ReadingValue):
            return 0.0
        return 4.0 if answer.proposal is None else 2.0

    found = _Found()
    claimed: list[tuple[int, int]] = []
    pairs = pair(items, cost)
    skip = False
    for place, one in enumerate(pairs):
        if skip:
            skip = False
            continue
        following = pairs[place + 1] if place + 1 < len(pairs) else None
        end = one.end
        if _split_number(one, following) and following is not None:
            end = following.end
            skip = True
        typed = original[one.start : end].strip()
        answer = _answer(one, following if skip else None, kit, typed)
        if answer is None:
            skip = False
            continue
        if isinstance(answer, ReadingValue):
            found.readings.append((one.start, answer))
        else:
            found.doubts.append((one.start, answer))
        claimed.append((one.start, end))
    _leftovers(found, pieces, claimed, original)
    taken = frozenset(
        [reading.parameter for _, reading in found.readings]
        + [doubt.parameter for _, doubt in found.doubts]
    )
    for start, typed, amount in found.alone:
        found.doubts.append((start, _nameless(typed, amount, kit, taken)))
    return found


def _split_number(one: Pair, following: Pair | None) -> bool:
    """`pH 7 4`: a name, its number and one more number with nothing between."""
    return (
        not one.sure
        and one.name is not None
        and one.name.piece.name is not None
        and bool(one.name.piece.name.parameter)
        and one.amount is not None
        and one.amount.piece.start > one.name.piece.start
        and following is not None
        and following.name is None
        and following.amount is not None
        and following.amount.gap == 0.0
        and following.amount.piece.amount is not None
        and not following.amount.piece.amount.unit
    )


def _answer(one: Pair, more: Pair | None, kit: KitForms, typed: str) -> ReadingValue | Doubt | None:
    """What a pair gives; nothing where it is left over."""
    amount = one.amount.piece.amount if one.amount is not None else None
    if amount is None or one.amount is None:
        return None
    if one.name is None:
        parameter = NAMED_BY_UNIT.get(amount.unit)
        if parameter is None or not fits(Name(parameter), amount):
            return None
        return judge(Name(parameter), amount, kit, typed)
    name = one.name.piece.name
    if name is None or not name.parameter:
        return None
    if more is not None:
        return _joined_number(name, one.amount, more, kit, typed)
    answer = judge(name, amount, kit, typed)
    if one.sure or isinstance(answer, Doubt):
        return answer
    question = f"“{typed}” can be read in more than one way. {shown(answer)}?"
    return Doubt(answer.parameter, typed, question, answer)


def _joined_number(name: Name, first: Item, more: Pair, kit: KitForms, typed: str) -> Doubt:
    """A doubt over two numbers behind one name; a decimal mark between them is proposed."""
    question = f"“{typed}”: two numbers stand behind one name."
    before = first.piece.amount
    after = more.amount.piece.amount if more.amount is not None else None
    if before is not None and after is not None:
        figures = f"{before.typed}.{after.typed}"
        tenths = after.typed.isdecimal() and (len(after.typed) == 1 or before.typed == "0")
        if before.typed.isdecimal() and tenths and len(figures) < 12:
            amount = Amount(figures, (float(figures),), decimal_typed=True)
            apart = f"{before.typed} {after.typed}"
            joined = judge(name, amount, kit, typed) if fits(name, amount) else None
            if isinstance(joined, ReadingValue):
                question += f" {shown(joined)}?"
                return Doubt(joined.parameter, typed, question, retyped(joined, apart))
    return Doubt(name.parameter, typed, f"{question} Please type the one that is meant.")


def _leftovers(
    found: _Found, pieces: list[Piece], claimed: list[tuple[int, int]], original: str
) -> None:
    """Sort what belongs to no reading into numbers without a name and words not understood."""
    runs: list[list[Piece]] = [[]]
    for piece in pieces:
        read_already = any(start <= piece.start < end for start, end in claimed)
        if read_already or piece.kind in {"comma", "stop"}:
            runs.append([])
        elif piece.kind != "bind":
            runs[-1].append(piece)
    for run in runs:
        amounts = [piece for piece in run if piece.amount is not None]
        nameless = [
            (piece, piece.amount)
            for piece in amounts
            if piece.amount is not None and piece.amount.unit != "other" and not piece.amount.word
        ]
        if run and len(nameless) == len(run):
            for piece, amount in nameless:
                found.alone.append((piece.start, original[piece.start : piece.end], amount))
        elif run:
            words = original[run[0].start : run[-1].end].strip()
            if not is_quiet(words):
                found.words.append(" ".join(words.split()))


def _nameless(typed: str, amount: Amount, kit: KitForms, taken: frozenset[str]) -> Doubt:
    """A number without a name, and what it could be."""
    could_be = named_later(amount, kit, taken)
    if not could_be:
        return Doubt("", typed, f"“{typed}” has no name. What is it? It can be kept in the note.")
    proposal = could_be[0] if len(could_be) == 1 else None
    if amount.form == "caco3" or (amount.unit == "%" and len(could_be) > 1):
        proposal = could_be[0]
    labels = ", ".join(PARAMETERS[reading.parameter].label for reading in could_be)
    others = could_be if proposal is None else could_be[1:]
    return Doubt("", typed, f"“{typed}” has no name. Is it {labels}?", proposal, others)


def _once_each(found: _Found) -> tuple[list[ReadingValue], list[Doubt]]:
    """Readings and doubts in the order typed; two of one parameter become one doubt."""
    both: list[tuple[int, ReadingValue | Doubt]] = [*found.readings, *found.doubts]
    both.sort(key=lambda placed: placed[0])
    by_parameter: dict[str, list[ReadingValue | Doubt]] = {}
    for _, entry in both:
        by_parameter.setdefault(entry.parameter, []).append(entry)
    readings: list[ReadingValue] = []
    doubts: list[Doubt] = []
    seen: set[str] = set()
    for _, entry in both:
        group = by_parameter[entry.parameter]
        if not entry.parameter or len(group) == 1:
            if isinstance(entry, Doubt):
                doubts.append(entry)
            else:
                readings.append(entry)
        elif entry.parameter not in seen:
            seen.add(entry.parameter)
            doubts.append(_twice(entry.parameter, group))
    return readings, doubts


def _twice(parameter: str, group: list[ReadingValue | Doubt]) -> Doubt:
    answers: list[ReadingValue] = []
    for entry in group:
        if isinstance(entry, ReadingValue):
            answers.append(entry)
        else:
            answers.extend([entry.proposal] if entry.proposal is not None else [])
            answers.extend(entry.others)
    answers = list(dict.fromkeys(answers))
    label = PARAMETERS[parameter].label
    short = PARAMETERS[parameter].short
    typed = ", ".join(
        entry.typed if isinstance(entry, Doubt) else f"{short} {entry.typed}" for entry in group
    )
    question = f"{label} is given more than once: {typed}. Which is right?"
    proposal = answers[0] if len(answers) == 1 else None
    return Doubt(parameter, typed, question, proposal, () if proposal else tuple(answers))
