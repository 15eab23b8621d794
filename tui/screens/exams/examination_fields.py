"""The fields of one fish in the form, and of the occasion of an examination."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from tui.widgets.fields import Field

if TYPE_CHECKING:
    from tui.screens.exams.examination_typed import Beginning

CELLS = 30
"""Every entry is as wide, so that hints stand under each other."""
PURPOSES = (
    ("first look", "first look"), ("routine", "routine"),
    ("control", "control after a course"), ("losses", "losses: fish died"),
)  # fmt: skip
MOTILE = (("not looked", "not looked at"), ("yes", "yes"), ("no", "no"))
SURE = (("seen", "seen"), ("suspected", "suspected"))


def groups_of(texts: Mapping[str, str]) -> dict[int, int]:
    """How many hazards each preparation of the texts has, by its place; one of one at least."""
    found: dict[int, int] = {1: 1}
    for name in texts:
        parts = name.split(".")
        if len(parts) >= 2 and parts[0].isdecimal():
            place = int(parts[0])
            number = int(parts[1]) if len(parts) == 3 and parts[1].isdecimal() else 1
            found[place] = max(found.get(place, 1), number)
    return {place: found.get(place, 1) for place in range(1, max(found) + 1)}


def fish_fields(texts: Mapping[str, str], groups: Mapping[int, int]) -> tuple[Field, ...]:
    """The fields of one fish with its preparations and their hazards.

    Parameters
    ----------
    texts
        What stands in them at first.
    groups
        How many hazards each preparation has, by its place.
    """
    from store.exams.line_words import SPECIES
    from store.exams.values import CONDITIONS, LENGTH_KINDS

    def field(name: str, label: str, hint: str = "", choices: tuple[tuple[str, str], ...] = (),
              value: str = "") -> Field:  # fmt: skip
        return Field(
            name, label, hint, texts.get(name, value), choices=choices, width=CELLS
        )  # fmt: skip

    fields = [
        field("species", "species", ", ".join(SPECIES[:3])),
        field("mark", "name or mark", "tag, pattern, name"),
        field("length", "length", "cm"),
        field("length_kind", "measured as", "", tuple((one, one) for one in LENGTH_KINDS),
              "not said"),
        field("weight", "weight", "g, or 1.2 kg"),
        field("weight_how", "weight is", "", (("weighed", "weighed"), ("reckoned", "reckoned"))),
        field("condition", "condition", "", tuple((one, one) for one in CONDITIONS), "not looked"),
        field("signs", "behaviour, signs", "F6 is the list"),
        field("treated", "wounds treated", "with what"),
        field("photos", "photographs", "a.jpg, b.jpg"),
        field("other", "other", "in words"),
    ]  # fmt: skip
    for place, count in groups.items():
        fields += _prep_fields(field, place)
        for number in range(1, count + 1):
            fields += _found_fields(field, place, number)
    return tuple(fields)


def _prep_fields(field: _Made, place: int) -> list[Field]:
    from store.exams.values import BY_EYE, PREP_KINDS

    kinds = (*((one, one) for one in PREP_KINDS), (BY_EYE, "none: by the naked eye"))
    return [
        field(f"{place}.kind", f"{place}. preparation", "scrape or clip", kinds),
        field(f"{place}.place", "  from where", "left gill, flank"),
        field(f"{place}.magnification", "  magnification", "40, 100, 400"),
        field(f"{place}.fields", "  fields", "of view looked at"),
        field(f"{place}.note", "  note"),
    ]


def _found_fields(field: _Made, place: int, number: int) -> list[Field]:
    at = f"{place}.{number}."
    return [
        field(f"{at}hazard", "  found" if number == 1 else "  and found", "letters find",
              hazard_choices()),
        field(f"{at}much", "  how much", "all fields, or + to +++"),
        field(f"{at}motile", "  motile", "", MOTILE, "not looked"),
        field(f"{at}sure", "  sure", "", SURE, "seen"),
    ]  # fmt: skip


def hazard_choices(*, nothing: bool = True) -> tuple[tuple[str, str], ...]:
    """Every hazard by its plain name, after `nothing found` where that may be chosen."""
    from store.exams.fish_form import NOTHING
    from store.facts.hazards import hazards

    named = sorted(
        ((code, hazard.plain_name) for code, hazard in hazards().items()), key=lambda one: one[1]
    )
    return (((NOTHING, "nothing found"),) if nothing else ()) + tuple(named)


def occasion_fields(texts: Mapping[str, str], beginning: Beginning) -> tuple[Field, ...]:
    """When, why and by whom the fish were looked at.

    Parameters
    ----------
    texts
        What stands in them at first.
    beginning
        What the screen of the examination began with.
    """

    def field(name: str, label: str, hint: str = "", choices: tuple[tuple[str, str], ...] = (),
              value: str = "") -> Field:  # fmt: skip
        return Field(name, label, hint, texts.get(name, value), choices=choices, width=CELLS)

    fields = [
        field("purpose", "what for", "", PURPOSES, beginning.purpose),
        field("on_day", "day", "today, Mon, 12 Mar", (), "today"),
        field("at_time", "time", "now, or 09:30", (), "now"),
        field("examiner", "who looked", "empty: whoever saves"),
    ]
    if beginning.courses:
        at = texts.get("course", "")
        fields.append(Field("course", "controls", "", at, choices=beginning.courses, width=56))
    note = Field("note", "note", "in words", texts.get("note", ""), lines=2)
    return (*fields, note)


if TYPE_CHECKING:
    from collections.abc import Callable

    _Made = Callable[..., Field]
