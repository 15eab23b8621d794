"""The weight of a fish reckoned from its length, shown as reckoned, with its range and source."""

from __future__ import annotations

from dataclasses import dataclass

from store.errors import BadInput
from store.exams.values import LengthKind
from store.facts.fish import LengthWeight, relation
from store.facts.sources import cite_with_standing
from store.water.given import figures, given

RELATIONS: dict[tuple[str, LengthKind], str] = {
    ("koi", "fork"): "carp_fork", ("koi", "total"): "carp_total",
    ("carp", "fork"): "carp_fork", ("carp", "total"): "carp_total",
    ("ghost koi", "fork"): "carp_fork", ("ghost koi", "total"): "carp_total",
    ("goldfish", "fork"): "goldfish", ("goldfish", "total"): "goldfish",
    ("goldfish", "not said"): "goldfish",
}  # fmt: skip
"""Fish and kind of length to the published relation that comes nearest to it."""


@dataclass(frozen=True, slots=True)
class ReckonedWeight:
    """A weight from a length; the bounds are of single fish, None where none are published."""

    weight_g: float
    low_g: float | None
    high_g: float | None
    arithmetic: str
    source: str
    remarks: tuple[str, ...]

    @property
    def said(self) -> str:
        """In words, always as reckoned."""
        if self.low_g is None or self.high_g is None:
            return f"{figures(self.weight_g)} g reckoned"
        return (
            f"{figures(self.weight_g)} g reckoned ({figures(self.low_g)} to "
            f"{figures(self.high_g)} g)"
        )


def weight_g(length_cm: float, code: str) -> float:
    """The weight of a fish from its length, by a published relation W = a L^b.

    Parameters
    ----------
    length_cm
        Length, measured as the relation says [cm].
    code
        Code of the relation, such as `carp_total`.

    Returns
    -------
    float
        Weight [g].

    Raises
    ------
    BadInput
        A length that cannot exist; millimetres are caught.
    NotFound
        There is no such relation.

    Notes
    -----
    Valid for the lengths that were measured, `relation(code).low_cm` to `high_cm`; outside them it
    is reckoned all the same, and `reckoned_weight` says so.

    Examples
    --------
    >>> round(weight_g(40.0, "carp_total"), 1), round(weight_g(40.0, "carp_fork"), 1)
    (820.8, 1203.8)
    """
    given(length_cm, "length", "cm", low=1.0, high=150.0)
    chosen = relation(code)
    return float(chosen.a_g * length_cm**chosen.b)


def reckoned_weight(species: str, length_cm: float, length_kind: LengthKind) -> ReckonedWeight:
    """The weight that a fish of a length is expected to have.

    Parameters
    ----------
    species
        Kind of fish, such as `koi`.
    length_cm
        Its length [cm].
    length_kind
        To the fork of the tail, or in all.

    Returns
    -------
    ReckonedWeight
        Weight with the bounds of single fish, where they are published [g].

    Raises
    ------
    BadInput
        No relation is published for the fish, or the kind of length is not said and matters.

    Notes
    -----
    The bounds come from the condition of single fish, K = 100 W / L³, that is published beside the
    relation; they are wide, and no confidence stands behind them.

    Examples
    --------
    >>> reckoned_weight("koi", 40.0, "fork").said
    '1204 g reckoned (770.6 to 2565 g)'
    """
    kind = species.strip().casefold()
    code = RELATIONS.get((kind, length_kind))
    if code is None:
        if any(kind == known for known, _ in RELATIONS):
            raise BadInput(
                "Was it measured to the fork of the tail, or in all? The two differ by a third of "
                "the weight and more.",
                field="length_kind",
            )
        raise BadInput(
            f"No relation of length and weight is known here for “{species}”: weigh it.",
            field="species",
        )
    chosen = relation(code)
    weight = weight_g(length_cm, code)
    low = high = None
    if chosen.condition_low is not None and chosen.condition_high is not None:
        low = chosen.condition_low * length_cm**3 / 100.0
        high = chosen.condition_high * length_cm**3 / 100.0
    return ReckonedWeight(
        weight,
        low,
        high,
        arithmetic=f"W = {figures(chosen.a_g)} × {figures(length_cm)}^{figures(chosen.b, 5)} = "
        f"{figures(weight)} g",
        source=cite_with_standing(chosen.source, chosen.standing),
        remarks=_remarks(chosen, kind, length_cm),
    )


def _remarks(chosen: LengthWeight, kind: str, length_cm: float) -> tuple[str, ...]:
    remarks = ["Reckoned and not weighed: weigh the fish where a dose must be right."]
    if kind not in chosen.species:
        remarks.append(f"Found for {chosen.species}; none for {kind} alone was found.")
    if chosen.low_cm is None or chosen.high_cm is None:
        remarks.append(chosen.note or "The range of lengths is not published.")
    elif not chosen.low_cm <= length_cm <= chosen.high_cm:
        remarks.append(
            f"{figures(length_cm)} cm lies outside {figures(chosen.low_cm)} to "
            f"{figures(chosen.high_cm)} cm, the fish that the relation was found for."
        )
    if chosen.length == "not stated":
        remarks.append("It is not published whether fork or total length is meant.")
    return tuple(remarks)
