"""What a name in a list says: surname first or last, title, a couple, a firm or a house."""

from __future__ import annotations

import re
from dataclasses import dataclass

from store.exchange.catch_up.folding import choice_of, squeezed, words
from store.text import plain

TITLES = choice_of(
    "mr|mrs|ms|miss|mx|dr|prof|professor|sir|lady|lord|dame|rev|reverend|herr|frau|fam|familie|"
    "family|m|mme|mlle|mijnheer|mevrouw|dhr|mevr|sig|signora|sra|sr|capt|captain|major|col"
)
"""Words before a name that are not the name."""
_FIRM = choice_of(
    "ltd|limited|plc|llc|llp|inc|gmbh|ag|bv|co|company|hotel|inn|house|farm|school|college|centre|"
    "center|garden|gardens|nursery|nurseries|aquatics|club|trust|council|park|court|hall|society|"
    "church|hospital|zoo|fisheries|fishery|cottage|lodge|manor|home|homes|estate|estates|sons|bros|"
    "restaurant|cafe|museum|university|surgery|practice|association|group|castle|abbey"
)
_JOINING = frozenset({"and", "und", "et", "en", "y", "e"})
_PARTICLES = choice_of("van|von|der|den|de|la|le|du|di|da|ter|ten|zu|zum|mac|mc|st")
_TITLE = re.compile(
    rf"(?:{'|'.join(sorted(TITLES - {'m', 'e'}, key=len, reverse=True))})\b\.?", re.IGNORECASE
)
_COUPLE = re.compile(r"\s*(?:&|\+|\band\b|\bund\b|\bet\b)\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class ListedName:
    """A name as it was typed, as it will be shown, and its parts for comparing.

    `surname` and `given` are folded words; a firm or house has its words in `surname` and no
    `given`. `couple` says that two people are named.
    """

    typed: str
    shown: str
    surname: tuple[str, ...]
    given: tuple[str, ...]
    firm: bool = False
    couple: bool = False

    @property
    def turned(self) -> bool:
        """Whether it is shown in another way than it was typed."""
        return self.shown != self.typed

    @property
    def compared(self) -> str:
        """All words without titles, as one text for comparing."""
        return " ".join(sorted({*self.surname, *self.given}))


def listed_name(text: str) -> ListedName:
    """A name out of one cell.

    Turned round are names whose surname stands first beyond doubt: before a comma (`Alder, Anne`),
    before a title (`Alder Mrs A`) or alone in capitals (`ALDER Anne`). Any other stays as typed.

    Parameters
    ----------
    text
        The cell.

    Returns
    -------
    ListedName
        Without a title nothing is left out of what is shown.

    Examples
    --------
    >>> listed_name("ALDER, Mr & Mrs J.").shown
    'Mr & Mrs J. Alder'
    >>> listed_name("O'BRIEN Siobhan").shown
    "Siobhan O'Brien"
    >>> listed_name("Harbour Hotel Ltd").firm
    True
    """
    typed = squeezed(plain(text))
    first, comma, rest = (part.strip() for part in typed.partition(","))
    if set(words(typed)) & _FIRM and not _person_after(rest):
        shown = f"{rest} {first}" if rest.casefold() == "the" else typed
        return _firm(typed, shown)
    if comma and set(words(rest)) <= TITLES and " " in first:
        return _as_it_stands(typed)  # `Anne Alder, Prof.`: which of the two is the surname?
    if comma and first and rest and "," not in rest and not any(map(str.isdigit, typed)):
        return _person(typed, _cased(first), rest, f"{rest} {_cased(first)}")
    parts = typed.split(" ")
    at = next((place for place, part in enumerate(parts) if _TITLE.fullmatch(part)), 0)
    if at:
        surname, rest = " ".join(parts[:at]), " ".join(parts[at:])
        if not _COUPLE.search(surname) and at <= 3:
            return _person(typed, _cased(surname), rest, f"{rest} {_cased(surname)}")
    capitals = _capitals_first(parts)
    if capitals:
        surname, rest = _cased(" ".join(parts[:capitals])), " ".join(parts[capitals:])
        return _person(typed, surname, rest, f"{rest} {surname}")
    return _as_it_stands(typed)


def joined_name(title: str, given: str, surname: str, firm: str = "") -> ListedName:
    """A name out of columns of its own.

    Parameters
    ----------
    title, given, surname
        The cells.
    firm
        A firm or house; where there is a person too, the person goes first.

    Returns
    -------
    ListedName
        What was typed are the cells with a comma between.

    Examples
    --------
    >>> joined_name("Dr", "anne", "ALDER").shown
    'Dr anne Alder'
    """
    title, given, surname, firm = (squeezed(plain(one)) for one in (title, given, surname, firm))
    if not surname and not given:
        whole = firm or title
        return _firm(whole, whole)
    if not surname:
        return listed_name(f"{title} {given}".strip())
    before = " ".join(part for part in (title, given) if part)
    shown = " ".join(part for part in (before, _cased(surname)) if part)
    if firm and words(firm) != words(surname):
        shown = f"{shown}, {firm}"
    return _person(shown, surname, before, shown)


def _person_after(rest: str) -> bool:
    """Whether a title stands behind the comma: `Court, Mrs A` is a person, not a house."""
    return bool(rest) and bool(_TITLE.match(rest))


def _firm(typed: str, shown: str) -> ListedName:
    kept = tuple(word for word in words(typed) if word not in {"the", "ltd", "limited"})
    return ListedName(typed, shown, kept or words(typed), (), firm=True)


def _person(typed: str, surname: str, rest: str, shown: str) -> ListedName:
    given = tuple(
        word for word in words(rest) if word not in TITLES - {"m"} and word not in _JOINING
    )
    return ListedName(
        typed, squeezed(shown), words(surname), given, couple=bool(_COUPLE.search(rest))
    )


def _as_it_stands(typed: str) -> ListedName:
    kept = [word for word in words(typed) if word not in TITLES - {"m"} and word not in _JOINING]
    if not kept:
        return ListedName(typed, typed, words(typed), ())
    couple = bool(_COUPLE.search(typed))
    if len(kept) > 1 and len(kept[0]) > 1 and all(len(word) == 1 for word in kept[1:]):
        # `Alder J`: initials stand behind a surname. It is compared so, and shown as it was typed.
        return ListedName(typed, typed, (kept[0],), tuple(kept[1:]), couple=couple)
    at = len(kept) - 1
    while at > 0 and kept[at - 1] in _PARTICLES:
        at -= 1
    return ListedName(typed, typed, tuple(kept[at:]), tuple(kept[:at]), couple=couple)


def _capitals_first(parts: list[str]) -> int:
    """How many words at the beginning are a surname in capitals before one that is not."""
    count = 0
    while count < len(parts) and len(parts[count].strip(".-'’")) > 1 and parts[count].isupper():
        count += 1
    rest = parts[count:]
    if not count or not rest or parts[0].rstrip(".").casefold() in TITLES:
        return 0
    if len("".join(parts[:count])) < 3 or not all(one[:1].isupper() or one in "&+" for one in rest):
        return 0
    return count


def _cased(surname: str) -> str:
    """A surname in capitals as names are written; any other as it is."""
    if not surname.isupper() or len(surname) < 2:
        return surname
    return re.sub(
        r"[^\W\d_]+",
        lambda word: (
            word[0].casefold()
            if word[0].casefold() in _PARTICLES - {"mac", "mc", "st"}
            else word[0].capitalize()
        ),
        surname,
    )
