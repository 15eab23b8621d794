"""The form of a medicated feed: its fields, which of them are asked for now, and their hints."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence

from tui.screens.courses.course_fields import CELLS, NOTHING, Known, shelf_field, shelf_fitting
from tui.widgets.fields import Field

_YES_NO = (("yes", "yes"), ("no", "no, or hardly"))
_OF_MEDICINE = ("agent", "dose", "product", "strength", "density")
_GENERAL = frozenset(
    {"hazard", "reason", "fish", "eating", "days", "rate", "binder", "batch", "first_day", "share",
     "note"}
)  # fmt: skip


def feed_fields(found: Sequence[str], medicines: int, known: Known = NOTHING) -> tuple[Field, ...]:
    """The fields of the form.

    Parameters
    ----------
    found
        Codes of the hazards seen lately: the first that is treated with the feed is proposed.
    medicines
        How many substances go into the feed.
    known
        Formulary and shelf of the practice.
    """
    from store.courses.feeding.stock import lengths_known
    from store.courses.planning.feed_wished import fed_against
    from store.courses.planning.wished import SHARES
    from store.facts.binders import binders
    from store.facts.hazards import hazards

    named = tuple(
        (code, hazard.plain_name)
        for code, hazard in sorted(hazards().items(), key=lambda one: one[1].plain_name)
    )
    fields = [
        Field("hazard", "against", "what was found", fed_against(found, known.formulary),
              choices=named, width=CELLS),
        Field("reason", "reason", "in words", width=CELLS),
        # Never in sight: the draft keeps in it how many substances there are.
        Field("steps", "in the feed", "", str(medicines)),
    ]  # fmt: skip
    for place in range(1, medicines + 1):
        fields += medicine_fields(place, known)
    held = tuple((code, one.name) for code, one in binders().items())
    fields += [
        Field("fish", "the fish", "42 kg, 31 × 1.2 kg, 31 × 45 cm", width=CELLS),
        Field("relation", "weight by", "of which fish, measured how", choices=lengths_known(),
              width=CELLS),
        Field("eating", "do they eat?", "look, never guess", choices=_YES_NO, width=CELLS),
        Field("days", "days", "on how many it is fed", width=CELLS),
        Field("rate", "they eat", "% a day, or 1 kg in all days", width=CELLS),
        Field("binder", "bound with", "", next(iter(binders())), choices=held, width=CELLS),
        Field("batch", "batch at most", "2 kg or 5 d; empty: what keeps", width=CELLS),
        Field("first_day", "first fed", "today, Mon, 3 d, 12 Mar", "today", width=CELLS),
        Field("share", "fed by", "", "owner", choices=tuple(SHARES.items()), width=CELLS),
        Field("note", "note", "in words", lines=2),
    ]  # fmt: skip
    return tuple(fields)


def medicine_fields(place: int, known: Known = NOTHING) -> list[Field]:
    """The fields of one substance.

    Parameters
    ----------
    place
        Of the substance, from 1.
    known
        Formulary and shelf of the practice.
    """
    from store.courses.planning.feed_wished import feed_agents
    from store.courses.planning.wished import BASES

    def field(
        name: str, label: str, hint: str, choices: Iterable[tuple[str, str]] = ()
    ) -> Field:  # fmt: skip
        shown = label if place == 1 else f"{place}. {label}"
        return Field(f"{place}.{name}", shown, hint, choices=tuple(choices), width=CELLS)

    return [
        field("agent", "in the feed", "enter chooses", feed_agents(known.formulary)),
        field("dose", "dose", "10 mg/kg/d, or 60 mg/kg feed"),
        shelf_field(place, known),
        field("product", "product", "name on the label"),
        field("strength", "strength", "% on the label; empty: 100"),
        field("basis", "dose is of the", "", BASES.items()),
        field("density", "density", "g/mL, to measure in mL"),
    ]


def feed_asked(values: Mapping[str, str], medicines: int, known: Known = NOTHING) -> frozenset[str]:
    """Names of the fields that are asked for, as far as the others stand now.

    Parameters
    ----------
    values
        The texts of the form.
    medicines
        How many substances go into the feed.
    known
        Formulary and shelf of the practice.
    """
    from store.courses.planning.feed_wished import is_length

    names = set(_GENERAL)
    if is_length(values["fish"]):
        names.add("relation")
    for place in range(1, medicines + 1):
        names |= {f"{place}.{name}" for name in _OF_MEDICINE}
        if any(one.agent == values[f"{place}.agent"] for one in known.shelf):
            names.add(f"{place}.shelf")
        if values[f"{place}.strength"].strip():
            names.add(f"{place}.basis")
    return frozenset(names)


def feed_fitting(
    values: Mapping[str, str], place: int, practice: Known = NOTHING
) -> dict[str, str]:
    """What follows from a substance: its product on the shelf, and the days that are published.

    The days of the main substance alone, where none were typed.

    Parameters
    ----------
    values
        The texts of the form.
    place
        The substance that was chosen.
    practice
        Formulary and shelf of the practice.
    """
    from store.courses.planning.feed_wished import published_feed

    found = shelf_fitting(values, place, practice)
    known = published_feed(values[f"{place}.agent"], practice.formulary)
    if place > 1 or known is None or known.most_days is None or values["days"].strip():
        return found
    return {**found, "days": str(known.most_days)}


def feed_hints(
    values: Mapping[str, str], medicines: int, found: Container[str], practice: Known = NOTHING
) -> dict[str, str | None]:
    """What is published, said at the fields it belongs to; None brings the usual hint back.

    Parameters
    ----------
    values
        The texts of the form.
    medicines
        How many substances go into the feed.
    found
        Codes of the hazards seen lately.
    practice
        Formulary of the practice.
    """
    from store.courses.planning.feed_wished import published_feed

    said: dict[str, str | None] = {
        "hazard": "seen in the last 30 d" if values["hazard"] in found else None
    }
    for place in range(1, medicines + 1):
        known = published_feed(values[f"{place}.agent"], practice.formulary)
        said[f"{place}.dose"] = None if known is None else f"published {known.dose}"
        said[f"{place}.strength"] = (
            f"% on the label; often {known.product}" if known and known.product else None
        )
        if place == 1:
            said["days"] = f"published {known.days}" if known and known.days else None
    return said
