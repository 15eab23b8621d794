"""How a caution is put together: its sentence, its numbers, and where it stands."""

from __future__ import annotations

from store.courses.cautions.fitting import backed
from store.courses.planning.course import Caution, CautionLevel
from store.facts.entry import Standing

COMMON = "common_practice"


def caution(
    code: str,
    level: CautionLevel,
    said: str,
    arithmetic: str = "",
    source: str = COMMON,
    standing: Standing = "common practice",
) -> Caution:
    """A caution with its source written out.

    Parameters
    ----------
    code
        What kind it is, for the log.
    level
        `stop` or `mind`.
    said
        The sentence.
    arithmetic
        Its numbers.
    source
        Key of a publication, or a source in words.
    standing
        How far it can be trusted.
    """
    return Caution(code, level, said, arithmetic, backed(source, standing), standing)


def in_order(found: list[Caution]) -> tuple[Caution, ...]:
    """Cautions once each, `stop` before `mind`, else in the order in which they were found.

    Parameters
    ----------
    found
        The cautions.
    """
    return tuple(sorted(dict.fromkeys(found), key=lambda one: one.level != "stop"))
