"""Whether a stock list names the fish, or the other life, that a publication warns of.

Stock lists are typed by people: case, accents, plurals and one slip in a long word are forgiven.
Only whole words count: a grayling is no ray. Which names belong to which group is common knowledge
of fish keeping, without a source, and errs on the side of asking.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from types import MappingProxyType

GROUPS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "orfe": ("orfe", "ide", "idus"),
        "tench": ("tench", "tinca"),
        "characins": ("characin", "tetra", "piranha", "pacu"),
        "rays": ("ray", "stingray"),
        "without scales": ("catfish", "wels", "silurus", "bullhead", "loach", "weatherfish", "eel",
                           "sturgeon", "sterlet", "acipenser", "leather carp", "scaleless"),
        "salmonids": ("salmonid", "trout", "salmon", "char", "charr", "grayling", "oncorhynchus",
                      "salmo", "salvelinus"),
        "crustacean": ("crustacean", "crayfish", "shrimp", "prawn", "crab", "daphnia"),
        "insect": ("insect", "dragonfly", "damselfly", "water boatman"),
        "snails": ("snail", "ramshorn"),
        "invertebrates": ("invertebrate", "snail", "mussel", "clam", "crayfish", "shrimp", "prawn",
                          "crab", "sponge"),
        "plants": ("plant", "lily", "iris", "lotus", "reed", "pondweed", "hornwort"),
        "striped bass": ("striped bass", "morone"),
        "brood stock": ("brood stock", "broodstock", "breeder", "spawner"),
        "koi": ("koi", "nishikigoi"),
        "goldfish": ("goldfish", "gold fish", "shubunkin", "comet", "sarasa", "fantail", "ryukin",
                     "oranda", "carassius"),
    }
)  # fmt: skip
"""What stands in a statement, and the names in a stock list that it means."""

SLIP_FROM = 6
"""From so many letters one slip is forgiven, if the first letter is right [count]."""
_NO_SCALES = "without scales"


def _words(text: str) -> list[str]:
    folded = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(one for one in folded if not unicodedata.combining(one))
    return [_single(one) for one in re.findall(r"[^\W\d_]+", bare)]


def _single(word: str) -> str:
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith(("shes", "ches", "sses")):
        return word[:-2]
    return word[:-1] if word.endswith("s") and not word.endswith(("ss", "us")) else word


def _one_slip(typed: str, name: str) -> bool:
    """Whether two words differ by one letter put in, left out or changed, not the first."""
    if min(len(typed), len(name)) < SLIP_FROM or typed[0] != name[0]:
        return False
    short, long = sorted((typed, name), key=len)
    if len(long) - len(short) > 1:
        return False
    start = 0
    while start < len(short) and short[start] == long[start]:
        start += 1
    rest = long[start + 1 :]
    return rest == (short[start + 1 :] if len(short) == len(long) else short[start:])


def named_in(group: str, stock: str) -> tuple[str, ...]:
    """The names of a group that a stock list has, as whole words.

    Parameters
    ----------
    group
        A key of `GROUPS`.
    stock
        The stock list as typed.

    Examples
    --------
    >>> named_in("orfe", "31 koi, 2 Golden Orfes"), named_in("rays", "grayling, trays")
    (('orfe',), ())
    >>> named_in("without scales", "1 stergeon")
    ('sturgeon',)
    """
    words = _words(stock)
    found = []
    for name in GROUPS[group]:
        parts = _words(name)
        for place in range(len(words) - len(parts) + 1):
            typed = words[place : place + len(parts)]
            if typed == parts or (len(parts) == 1 and _one_slip(typed[0], parts[0])):
                found.append(name)
                break
    return tuple(found)


def meant(statement: str, stock: str, *, soft: bool | None = None) -> tuple[str, ...]:
    """The names in a stock list that a statement on sensitive species means.

    Parameters
    ----------
    statement
        What a publication says, such as "Orfe, tench, characins and rays are sensitive."
    stock
        The stock list as typed.
    soft
        Whether the water is soft; None is not known. Koi and goldfish are warned of in soft water
        only where a statement says so.

    Examples
    --------
    >>> meant("Orfe, tench, characins and rays are sensitive.", "koi, 3 tench")
    ('tench',)
    >>> meant("Salmonids, and koi and goldfish in soft water, bear it badly.", "koi", soft=False)
    ()
    """
    said = statement.casefold()
    found: dict[str, None] = {}
    for group in GROUPS:
        if not re.search(rf"\b{group.removesuffix('s')}s?\b", said):
            continue
        if group in ("koi", "goldfish") and "in soft water" in said and soft is False:
            continue
        found.update(dict.fromkeys(named_in(group, stock)))
    return tuple(found)


def groups_of(statement: str) -> tuple[str, ...]:
    """The groups that a statement speaks of, to ask for them where the stock is not known.

    Parameters
    ----------
    statement
        What a publication says.

    Examples
    --------
    >>> groups_of("Care with fish without scales and with rays.")
    ('rays', 'fish without scales')
    """
    said = statement.casefold()
    return tuple(
        f"fish {group}" if group == _NO_SCALES else group
        for group in GROUPS
        if re.search(rf"\b{group.removesuffix('s')}s?\b", said)
    )
