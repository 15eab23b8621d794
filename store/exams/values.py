"""An examination as plain values: fish, their preparations, and what was found in them.

A count and a score are two measures and never made into one another. A preparation without a
finding was looked at and nothing was found in it; a finding of 0 says that this hazard was looked
for and not found.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Literal
from uuid import UUID

Purpose = Literal["first look", "routine", "control", "losses"]
Gear = Literal["not said", "disinfected", "own to the pond", "not disinfected"]
LengthKind = Literal["fork", "total", "not said"]
WeightHow = Literal["weighed", "reckoned", "not known"]
Condition = Literal["thin", "normal", "full", "not looked"]
PrepKind = Literal["skin scrape", "gill clip", "fin clip", "lesion edge", "other"]
Motile = Literal["yes", "no", "not looked"]
Confidence = Literal["seen", "suspected"]

PURPOSES: tuple[Purpose, ...] = ("first look", "routine", "control", "losses")
GEAR: tuple[Gear, ...] = ("not said", "disinfected", "own to the pond", "not disinfected")
LENGTH_KINDS: tuple[LengthKind, ...] = ("fork", "total", "not said")
CONDITIONS: tuple[Condition, ...] = ("thin", "normal", "full", "not looked")
PREP_KINDS: tuple[PrepKind, ...] = (
    "skin scrape", "gill clip", "fin clip", "lesion edge", "other"
)  # fmt: skip
BY_EYE = "by eye"
"""Where a finding stands that no preparation was made for."""
CLEAN_GEAR = frozenset({"disinfected", "own to the pond"})
"""What of `GEAR` carries nothing from one pond to the next."""

SCORES = ("0", "+", "++", "+++")
"""A score as it is written; what each means is the examiner's own scale."""


@dataclass(frozen=True, slots=True)
class Found:
    """One hazard on one fish: a count over all fields, or a score of 0 to 3, or only that it is."""

    hazard: str
    """A code of `store.facts.hazards`."""
    counted: int | None = None
    score: int | None = None
    motile: Motile = "not looked"
    confidence: Confidence = "seen"
    note: str = ""

    @property
    def present(self) -> bool:
        """Whether it was there: False only where 0 was counted or scored."""
        return self.counted != 0 and self.score != 0

    def per_field(self, fields: int | None) -> float | None:
        """The count per field of view; None without a count, or without the number of fields.

        Parameters
        ----------
        fields
            Over how many fields it was counted.

        Examples
        --------
        >>> Found("gill_flukes", counted=23).per_field(5)
        4.6
        >>> Found("gill_flukes", score=2).per_field(5) is None
        True
        """
        return None if self.counted is None or not fields else self.counted / fields

    def measure(self, fields: int | None = None) -> str:
        """How much of it, in words: a count with its fields, or a score on its scale.

        Parameters
        ----------
        fields
            Over how many fields it was counted.

        Examples
        --------
        >>> Found("gill_flukes", counted=23).measure(5)
        '23 in 5 fields (4.6 a field)'
        >>> Found("costia", score=2).measure(), Found("costia").measure()
        ('++ (2 of 3)', 'found')
        """
        if self.counted is not None:
            each = self.per_field(fields)
            if each is None:
                return f"{self.counted} counted"
            many = "field" if fields == 1 else "fields"
            beside = "" if fields == 1 else f" ({each:.3g} a field)"
            return f"{self.counted} in {fields} {many}{beside}"
        if self.score is not None:
            return f"{SCORES[self.score]} ({self.score} of 3)"
        return "found"


@dataclass(frozen=True, slots=True)
class Prep:
    """A scrape or clip under the microscope; without a finding nothing was found in it."""

    kind: PrepKind
    place: str = ""
    magnification: int | None = None
    fields: int | None = None
    note: str = ""
    found: tuple[Found, ...] = ()

    @property
    def looked_as(self) -> str:
        """What was looked at and how, in words, such as `gill clip, 100x, 5 fields`."""
        said = [self.kind + (f" ({self.place})" if self.place else "")]
        if self.magnification is not None:
            said.append(f"{self.magnification}x")
        if self.fields is not None:
            said.append(f"{self.fields} {'field' if self.fields == 1 else 'fields'}")
        return ", ".join(said)


@dataclass(frozen=True, slots=True)
class ExamFish:
    """One fish that was looked at.

    `mark` is its name, tag or pattern. `behaviour` and `signs` hold codes of `store.facts.signs`;
    `photos` names of files alone.
    """

    nth: int = 1
    species: str = ""
    mark: str = ""
    length_cm: float | None = None
    length_kind: LengthKind = "not said"
    weight_g: float | None = None
    weight_how: WeightHow = "not known"
    condition: Condition = "not looked"
    behaviour: tuple[str, ...] = ()
    signs: tuple[str, ...] = ()
    other: str = ""
    treated: str = ""
    photos: tuple[str, ...] = ()
    preparations: tuple[Prep, ...] = ()
    by_eye: tuple[Found, ...] = ()

    @property
    def found(self) -> tuple[tuple[Prep | None, Found], ...]:
        """Every finding with its preparation; None for those by the naked eye."""
        under = tuple((prep, one) for prep in self.preparations for one in prep.found)
        return under + tuple((None, one) for one in self.by_eye)


@dataclass(frozen=True, slots=True)
class Exam:
    """Fish of one pond looked at on one occasion."""

    at: datetime
    purpose: Purpose
    examiner: str
    fish: tuple[ExamFish, ...]
    gear: Gear = "not said"
    disinfectant: str = ""
    contact_min: float | None = None
    note: str = ""
    visit_id: UUID | None = None
    course_id: UUID | None = None

    @property
    def hazards(self) -> tuple[str, ...]:
        """Codes of all that was there on any fish, each once, in the order found."""
        named = (one.hazard for fish in self.fish for _, one in fish.found if one.present)
        return tuple(dict.fromkeys(named))
