"""What findings mean, and what to look at again: with source and standing, never a verdict."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from store.exams.values import Exam, ExamFish, Found, Prep
from store.facts.entry import Standing
from store.facts.hazards import hazards
from store.facts.sources import cite_with_standing
from store.water.given import figures

Weight = Literal["heavy", "mind", "note"]
"""`heavy`: act today; `mind`: look again, or think of something else; `note`: to be known."""

GILL_FLUKES, SKIN_FLUKES = "gill_flukes", "skin_flukes"
MOULD, COLUMNARIS = "water_mould", "columnaris"
ON_GILLS = frozenset({"gill clip"})
ON_SKIN = frozenset({"skin scrape", "fin clip", "lesion edge"})
WARM_C = 20.0
"""From here on white tufts with quick losses are more likely columnaris (common practice; the lower
end of its default window)."""

ALIKE: Mapping[str, tuple[str, ...]] = {
    GILL_FLUKES: (SKIN_FLUKES,), SKIN_FLUKES: (GILL_FLUKES,), MOULD: (COLUMNARIS,),
    COLUMNARIS: (MOULD,), "khv": ("sleepy_disease",), "sleepy_disease": ("khv",),
}  # fmt: skip
"""What is taken for one another, in notes as well as under the microscope."""
MOULD_SIGNS, COLUMNARIS_SIGNS = frozenset({"tufts"}), frozenset({"pale_patches", "mouth_eroded"})


@dataclass(frozen=True, slots=True)
class Bearing:
    """One thing that findings mean."""

    code: str
    weight: Weight
    hazard: str
    said: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Reminder:
    """What tells a hazard from others, while it is being picked."""

    hazard: str
    name: str
    identify: tuple[str, ...]
    confirm: str
    alike: tuple[tuple[str, tuple[str, ...]], ...]
    """The name of each that it is taken for, and what tells that one."""
    cautions: tuple[str, ...]
    source: str


def bearings(
    exam: Exam, *, temperature_c: float | None = None, dying_fast: bool = False
) -> tuple[Bearing, ...]:
    """What the findings of an examination mean, the heaviest first.

    Parameters
    ----------
    exam
        What was looked at and found.
    temperature_c
        Of the pond's water, where it is known [°C].
    dying_fast
        Whether fish died within days.

    Returns
    -------
    tuple of Bearing
        Each said once for the examination.
    """
    found = [
        *_spread(exam), *_once_is_enough(exam), *_swapped(exam),
        *_mould(exam, temperature_c, dying_fast), *_few_are_normal(exam), *_uncounted(exam),
    ]  # fmt: skip
    order = ("heavy", "mind", "note")
    return tuple(sorted(dict.fromkeys(found), key=lambda one: order.index(one.weight)))


def heavy_of(places: Mapping[str, Iterable[str]]) -> dict[str, str]:
    """Hazards that were found where they mean a heavy burden, each with the reason.

    Parameters
    ----------
    places
        Code of a hazard to the kinds of preparation in which it was there.

    Examples
    --------
    >>> heavy_of({"gill_flukes": ["gill clip", "skin scrape"]})
    {'gill_flukes': 'on the skin as well'}
    >>> heavy_of({"gill_flukes": ["gill clip"], "skin_flukes": ["skin scrape"]})
    {}
    """
    kinds = set(places.get(GILL_FLUKES, ()))
    if kinds & ON_GILLS and kinds & ON_SKIN:
        return {GILL_FLUKES: "on the skin as well"}
    if kinds & ON_SKIN:
        return {GILL_FLUKES: "on the skin"}
    return {}


def reminder(hazard: str) -> Reminder:
    """What tells a hazard from what it is taken for, while it is being picked.

    Parameters
    ----------
    hazard
        Its code.

    Raises
    ------
    KeyError
        There is no such hazard.

    Examples
    --------
    >>> reminder("gill_flukes").identify[0]
    'four eye spots, lobed head'
    >>> reminder("gill_flukes").alike[0][1][0]
    'no eye spots, two-lobed head'
    """
    own = hazards()[hazard]
    alike = tuple((hazards()[code].plain_name, hazards()[code].identify)
                  for code in ALIKE.get(hazard, ()))  # fmt: skip
    source = cite_with_standing(own.source, own.standing)
    return Reminder(hazard, own.plain_name, own.identify, own.confirm, alike, own.cautions, source)


def _where(exam: Exam) -> dict[str, set[str]]:
    places: dict[str, set[str]] = {}
    for fish in exam.fish:
        for prep, one in fish.found:
            if one.present and prep is not None:
                places.setdefault(one.hazard, set()).add(prep.kind)
    return places


def _common(code: str, weight: Weight, hazard: str, said: str) -> Bearing:
    source = cite_with_standing("common_practice", "common practice")
    return Bearing(code, weight, hazard, said, source, "common practice")


def _by_hazard(code: str, weight: Weight, hazard: str, said: str) -> Bearing:
    own = hazards()[hazard]
    source = cite_with_standing(own.source, own.standing)
    return Bearing(code, weight, hazard, said, source, own.standing)


def _spread(exam: Exam) -> Iterator[Bearing]:
    for hazard, why in heavy_of(_where(exam)).items():
        name = hazards()[hazard].plain_name.capitalize()
        yield _common("spread", "heavy", hazard, f"{name} {why}: the burden is heavy.")


def _once_is_enough(exam: Exam) -> Iterator[Bearing]:
    for hazard in exam.hazards:
        if hazards()[hazard].found_level == "act":
            yield _by_hazard("once", "heavy", hazard, hazards()[hazard].response)


def _swapped(exam: Exam) -> Iterator[Bearing]:
    """The two flukes stand in for one another in notes: told where a place speaks against one."""
    for fish in exam.fish:
        kinds = {prep.kind for prep in fish.preparations}
        on = {
            hazard: {p.kind for p, one in fish.found if p and one.present and one.hazard == hazard}
            for hazard in (GILL_FLUKES, SKIN_FLUKES)
        }
        if on[GILL_FLUKES] & ON_SKIN and kinds & ON_GILLS and not on[GILL_FLUKES] & ON_GILLS:
            tell = hazards()[GILL_FLUKES].identify[0]
            yield _common(
                "swapped", "mind", GILL_FLUKES,
                f"Gill flukes on the skin and none on the gill: look again for the {tell}.",
            )  # fmt: skip
        if on[SKIN_FLUKES] & ON_GILLS and not on[SKIN_FLUKES] & ON_SKIN:
            tell = hazards()[SKIN_FLUKES].identify[0]
            yield _common(
                "swapped", "mind", SKIN_FLUKES,
                f"Skin flukes on the gill alone: look again, they have {tell}.",
            )  # fmt: skip


def _mould(exam: Exam, temperature_c: float | None, dying_fast: bool) -> Iterator[Bearing]:
    """White tufts in warm water with quick losses are treated as a mould for days."""
    signs = {sign for fish in exam.fish for sign in fish.signs}
    named = set(exam.hazards)
    if COLUMNARIS in named or not (MOULD in named or signs & (MOULD_SIGNS | COLUMNARIS_SIGNS)):
        return
    warm = temperature_c is not None and temperature_c > WARM_C
    if temperature_c is not None and not warm and not dying_fast and not signs & COLUMNARIS_SIGNS:
        return
    why = [f"water at {figures(temperature_c)} °C" if warm and temperature_c is not None else "",
           "quick losses" if dying_fast else "",
           "the temperature is not known" if temperature_c is None else ""]  # fmt: skip
    said = ", ".join(one for one in why if one)
    tell = hazards()[COLUMNARIS].identify[0]
    yield _by_hazard(
        "columnaris", "mind", COLUMNARIS,
        f"Is it columnaris and no mould{f' ({said})' if said else ''}? Look at the edge of a patch "
        f"at 400x for {tell}.",
    )  # fmt: skip


def _few_are_normal(exam: Exam) -> Iterator[Bearing]:
    for hazard in exam.hazards:
        own = hazards()[hazard]
        if own.few_are_normal:
            yield _by_hazard("few", "note", hazard, own.cautions[0])


def _uncounted(exam: Exam) -> Iterator[Bearing]:
    for fish in exam.fish:
        for prep, one in fish.found:
            if prep is not None and _lacks_fields(prep, one):
                name = hazards()[one.hazard].plain_name.capitalize()
                yield _common(
                    "uncounted", "note", one.hazard,
                    f"{name} in the {prep.kind} was counted without the number of fields: after a "
                    "course nothing can be set against it.",
                )  # fmt: skip


def _lacks_fields(prep: Prep, one: Found) -> bool:
    return one.counted is not None and one.counted > 0 and prep.fields is None


def with_finding(exam: Exam, hazard: str) -> tuple[ExamFish, ...]:
    """The fish of an examination on which a hazard was there.

    Parameters
    ----------
    exam
        What was looked at and found.
    hazard
        Its code.
    """
    return tuple(
        fish
        for fish in exam.fish
        if any(one.present and one.hazard == hazard for _, one in fish.found)
    )
