"""A fish and its findings in words: shown back before saving, and written as it may be typed."""

from __future__ import annotations

from collections.abc import Iterator

from store.exams.line_words import MOTILE, SPECIES, typed_as
from store.exams.values import SCORES, ExamFish, Found, Prep
from store.facts.hazards import hazards
from store.facts.signs import signs
from store.water.given import figures


def say(fish: ExamFish) -> str:
    """A fish and all that was found on it, to be read before it is saved.

    Parameters
    ----------
    fish
        As it was understood.

    Examples
    --------
    >>> say(ExamFish(species="koi", length_cm=42.0, preparations=(
    ...     Prep("gill clip", "", 100, 5, found=(Found("gill_flukes", counted=23),)),)))
    'koi · 42 cm · gill clip, 100x, 5 fields: gill flukes 23 in 5 fields (4.6 a field)'
    """
    parts = [fish.species, f"“{fish.mark}”" if fish.mark else ""]
    if fish.length_cm is not None:
        kind = "" if fish.length_kind == "not said" else f" {fish.length_kind}"
        parts.append(f"{figures(fish.length_cm)} cm{kind}")
    if fish.weight_g is not None:
        parts.append(f"{figures(fish.weight_g)} g {fish.weight_how}")
    if fish.condition != "not looked":
        parts.append(f"condition {fish.condition}")
    parts += [signs()[code].words for code in (*fish.behaviour, *fish.signs)]
    parts += [f"{said_found(one)} by eye" for one in fish.by_eye]
    for prep in fish.preparations:
        found = ", ".join(said_found(one, prep.fields) for one in prep.found)
        note = f"; {prep.note}" if prep.note else ""
        parts.append(f"{prep.looked_as}: {found or 'nothing found'}{note}")
    parts.append(f"treated: {fish.treated}" if fish.treated else "")
    parts.append(f"photographs {', '.join(fish.photos)}" if fish.photos else "")
    parts.append(fish.other)
    return " · ".join(part for part in parts if part)


def said_found(found: Found, fields: int | None = None) -> str:
    """One finding in words, such as `costia ++ (2 of 3), suspected`.

    Parameters
    ----------
    found
        What was found.
    fields
        Over how many fields it was counted.
    """
    name = hazards()[found.hazard].plain_name
    said = name if found.counted is None and found.score is None else (
        f"{name} {found.measure(fields)}"
    )  # fmt: skip
    if not found.present:
        said = f"{name} looked for, none"
    if found.motile != "not looked":
        said += ", motile" if found.motile == "yes" else ", not motile"
    if found.confidence == "suspected":
        said += ", suspected"
    return said + (f" ({found.note})" if found.note else "")


def write(fish: ExamFish) -> str:
    """A fish as the line that is understood as this fish.

    Parameters
    ----------
    fish
        Any fish whose texts hold none of the marks of the line (`,;:()` and `//`).

    Examples
    --------
    >>> write(ExamFish(species="koi", length_cm=42.0, condition="thin", preparations=(
    ...     Prep("skin scrape", "", 100, found=(Found("costia", score=2),)),)))
    'koi, 42 cm, thin; skin scrape 100x: costia ++'
    """
    first = ", ".join(one for one in _of_the_fish(fish) if one)
    parts = [first, *(_prep(one) for one in fish.preparations)]
    if fish.species and fish.species not in SPECIES:
        parts.append(f"species {fish.species}")
    parts += [
        f"mark {fish.mark}" if fish.mark else "",
        f"treated {fish.treated}" if fish.treated else "",
        f"photo {', '.join(fish.photos)}" if fish.photos else "",
    ]
    line = "; ".join(part for part in parts if part)
    return f"{line} // {fish.other}".strip() if fish.other else line


def _of_the_fish(fish: ExamFish) -> Iterator[str]:
    if fish.species in SPECIES:
        yield fish.species
    if fish.length_cm is not None:
        kind = "" if fish.length_kind == "not said" else f" {fish.length_kind}"
        yield f"{fish.length_cm:.10g} cm{kind}"
    if fish.weight_g is not None:
        yield f"{fish.weight_g:.10g} g {fish.weight_how}"
    if fish.condition != "not looked":
        yield fish.condition
    for code in (*fish.behaviour, *fish.signs):
        yield typed_as(signs()[code])
    for found in fish.by_eye:
        yield _found(found)


def _prep(prep: Prep) -> str:
    head = [prep.kind, f"({prep.place})" if prep.place else ""]
    head.append(f"{prep.magnification}x" if prep.magnification else "")
    head.append(f"{prep.fields} fields" if prep.fields else "")
    body = [_found(one) for one in prep.found] or ["nothing"]
    body.append(f"note {prep.note}" if prep.note else "")
    return f"{' '.join(filter(None, head))}: {', '.join(filter(None, body))}"


def _found(found: Found) -> str:
    said = [hazards()[found.hazard].plain_name]
    if found.counted is not None:
        said.append(str(found.counted))
    elif found.score is not None:
        said.append(SCORES[found.score] if found.score else "score 0")
    motile = next((word for word, code in MOTILE.items() if code == found.motile), "")
    said += [motile, "suspected" if found.confidence == "suspected" else ""]
    said.append(f"({found.note})" if found.note else "")
    return " ".join(filter(None, said))
