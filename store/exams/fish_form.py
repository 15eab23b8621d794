"""One fish in the fields of a form: read with every fault at its field, and written into them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, cast

from store.errors import BadInput
from store.exams.line import understand_fish
from store.exams.line_found import Spot, found_in
from store.exams.line_words import typed_as
from store.exams.values import (
    BY_EYE,
    SCORES,
    Confidence,
    ExamFish,
    Found,
    Motile,
    Prep,
    PrepKind,
)
from store.facts.hazards import hazards
from store.facts.signs import signs
from store.text import plain

OF_FISH = (
    "species", "mark", "length", "length_kind", "weight", "weight_how", "condition", "signs",
    "treated", "photos", "other",
)  # fmt: skip
OF_PREP = ("kind", "place", "magnification", "fields", "note")
OF_FOUND = ("hazard", "much", "motile", "sure")
NOTHING = "nothing"
"""Chosen in the place of a hazard: the slide was looked at, and nothing was found in it."""
MOST_PREPS, MOST_FOUND = 12, 12


def read_fish_form(texts: Mapping[str, str], nth: int) -> ExamFish:
    """The fish that the fields of a form say.

    Parameters
    ----------
    texts
        By field: those of `OF_FISH`; for each preparation `1.kind` and so on (`OF_PREP`); for each
        hazard in it `1.1.hazard` and so on (`OF_FOUND`).
    nth
        Number of the fish.

    Returns
    -------
    ExamFish
        Fields left empty say that it was not looked at.

    Raises
    ------
    BadInput
        A text that is not understood, or a preparation that does not say whether anything was found
        in it; `field` names the place.

    Examples
    --------
    >>> fish = read_fish_form({"length": "42", "1.kind": "gill clip", "1.fields": "5",
    ...                        "1.1.hazard": "gill_flukes", "1.1.much": "23"}, 1)
    >>> fish.length_cm, fish.preparations[0].found[0].measure(5)
    (42.0, '23 in 5 fields (4.6 a field)')
    """
    values: dict[str, Any] = {"nth": nth}
    for name in ("species", "mark", "other", "treated"):
        values[name] = plain(texts.get(name, ""), lines=name in ("other", "treated")).strip()
    if (condition := texts.get("condition", "")) != "":
        values["condition"] = condition
    _measures(texts, values)
    values["behaviour"], values["signs"] = read_signs(texts.get("signs", ""))
    photos = (one.strip() for one in texts.get("photos", "").split(","))
    values["photos"] = tuple(one for one in photos if one)
    preps, by_eye = _preparations(texts)
    return ExamFish(**values, preparations=preps, by_eye=by_eye)


def read_signs(text: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Codes of behaviour and of marks, from words of the list with a comma between.

    Parameters
    ----------
    text
        As typed or picked.

    Raises
    ------
    BadInput
        A word that is none of the list; `field` is "signs".

    Examples
    --------
    >>> read_signs("clamped, gasps")
    (('clamped', 'gasping'), ())
    """
    if not text.strip():
        return (), ()
    understood = understand_fish(text)
    if understood.doubts:
        raise BadInput(
            f"{understood.doubts[0].question} Pick it from the list, or write it as other.",
            field="signs",
        )
    fish = understood.fish
    left = ExamFish(behaviour=fish.behaviour, signs=fish.signs)
    if fish != left:
        raise BadInput(
            "Here stand behaviour and signs of the list only; the rest has fields of its own.",
            field="signs",
        )
    return fish.behaviour, fish.signs


def write_signs(codes: tuple[str, ...]) -> str:
    """Codes of behaviour and marks in the words that are typed for them.

    Parameters
    ----------
    codes
        Of `store.facts.signs`.
    """
    return ", ".join(typed_as(signs()[code]) for code in codes)


def fish_texts(fish: ExamFish) -> dict[str, str]:
    """A fish in the fields of the form.

    Parameters
    ----------
    fish
        Any fish.

    Returns
    -------
    dict of str
        Such that `read_fish_form` gives the same fish.
    """
    texts = {
        "species": fish.species,
        "mark": fish.mark,
        "length": "" if fish.length_cm is None else f"{fish.length_cm:.10g} cm",
        "length_kind": fish.length_kind,
        "weight": "" if fish.weight_g is None else f"{fish.weight_g:.10g} g",
        "weight_how": fish.weight_how if fish.weight_g is not None else "",
        "condition": fish.condition,
        "signs": write_signs((*fish.behaviour, *fish.signs)),
        "treated": fish.treated,
        "photos": ", ".join(fish.photos),
        "other": fish.other,
    }
    groups: list[tuple[Prep | None, tuple[Found, ...]]] = [
        (prep, prep.found) for prep in fish.preparations
    ]
    if fish.by_eye:
        groups.append((None, fish.by_eye))
    for place, (prep, found) in enumerate(groups, start=1):
        texts[f"{place}.kind"] = BY_EYE if prep is None else prep.kind
        if prep is not None:
            texts[f"{place}.place"] = prep.place
            texts[f"{place}.magnification"] = str(prep.magnification or "")
            texts[f"{place}.fields"] = str(prep.fields or "")
            texts[f"{place}.note"] = prep.note
        if not found:
            texts[f"{place}.1.hazard"] = NOTHING
        for number, one in enumerate(found, start=1):
            texts |= {f"{place}.{number}.{name}": text for name, text in found_texts(one).items()}
    return texts


def found_texts(found: Found) -> dict[str, str]:
    """A finding in its four fields, named as in `OF_FOUND`.

    Parameters
    ----------
    found
        What was found.

    Examples
    --------
    >>> found_texts(Found("costia", score=2))
    {'hazard': 'costia', 'much': '++', 'motile': 'not looked', 'sure': 'seen'}
    """
    much = "" if found.counted is None else str(found.counted)
    if found.score is not None:
        much = SCORES[found.score] if found.score else "score 0"
    if found.note:
        much = f"{much} ({found.note})".strip()
    return {
        "hazard": found.hazard, "much": much, "motile": found.motile, "sure": found.confidence
    }  # fmt: skip


def read_found(
    texts: Mapping[str, str], fields: int | None = None, at: str = ""
) -> Found | None:  # fmt: skip
    """One finding from its four fields; None where no hazard was chosen.

    Parameters
    ----------
    texts
        By the names of `OF_FOUND`, each behind `at`.
    fields
        Over how many fields it was counted.
    at
        What stands before the names.

    Raises
    ------
    BadInput
        A number without a hazard, or one that is not understood.
    """
    hazard, much = texts.get(f"{at}hazard", ""), plain(texts.get(f"{at}much", "")).strip()
    if not hazard or hazard == NOTHING:
        if much:
            raise BadInput("What was counted? Choose the hazard.", field=f"{at}hazard")
        return None
    if hazard not in hazards():
        raise BadInput("Choose a hazard of the list.", field=f"{at}hazard")
    found = found_in(hazard, Spot(much, 0, len(much)), fields)
    if not isinstance(found, Found):
        raise BadInput(found[0], field=f"{at}much")
    motile, sure = texts.get(f"{at}motile", ""), texts.get(f"{at}sure", "")
    return Found(
        hazard, found.counted, found.score,
        cast("Motile", motile) if motile not in ("", "not looked") else found.motile,
        cast("Confidence", sure) if sure not in ("", "seen") else found.confidence,
        found.note,
    )  # fmt: skip


def _measures(texts: Mapping[str, str], values: dict[str, Any]) -> None:
    """Length and weight: as in the line, and a bare number in the unit of its field."""
    for name, unit in (("length", "cm"), ("weight", "g")):
        typed = plain(texts.get(name, "")).strip()
        if not typed:
            continue
        if typed.replace(",", ".").replace(".", "", 1).isdigit():
            typed = f"{typed} {unit}"
        understood = understand_fish(typed)
        key = f"{name}_{unit}"
        number = getattr(understood.fish, key)
        if understood.doubts or number is None:
            said = understood.doubts[0].question if understood.doubts else ""
            raise BadInput(said or f"“{typed}” is no {name}.", field=name)
        values[key] = number
        if name == "weight":
            how = texts.get("weight_how", "").replace("not known", "")
            if not how and not any(one in typed for one in ("weighed", "reckoned")):
                raise BadInput("Was it weighed, or reckoned?", field="weight_how")
            values["weight_how"] = how or understood.fish.weight_how
        else:
            kind = texts.get("length_kind", "")
            values["length_kind"] = (
                kind if kind not in ("", "not said") else understood.fish.length_kind
            )
    if "weight_g" not in values and texts.get("weight_how", "") not in ("", "not known"):
        raise BadInput("How heavy was it?", field="weight")


def _preparations(texts: Mapping[str, str]) -> tuple[tuple[Prep, ...], tuple[Found, ...]]:
    preps: list[Prep] = []
    by_eye: list[Found] = []
    for place in range(1, MOST_PREPS + 1):
        kind = texts.get(f"{place}.kind", "")
        own = [name for name in texts if name.startswith(f"{place}.") and texts[name].strip()]
        if not kind:
            said = [one for one in own if not one.endswith((".motile", ".sure"))]
            if said:
                raise BadInput("Which preparation was it?", field=f"{place}.kind")
            continue
        fields = _whole(texts, f"{place}.fields")
        found = list(_found_in_prep(texts, place, fields))
        nothing = any(
            texts.get(f"{place}.{number}.hazard") == NOTHING for number in range(1, MOST_FOUND + 1)
        )
        if nothing and found:
            raise BadInput(
                "Nothing was found, and something was. Which is it?", field=f"{place}.1.hazard"
            )
        if not nothing and not found:
            raise BadInput(
                "Was nothing found in it? Then choose “nothing found”.", field=f"{place}.1.hazard"
            )
        if kind == BY_EYE:
            by_eye += found
            continue
        preps.append(
            Prep(
                cast("PrepKind", kind), plain(texts.get(f"{place}.place", "")).strip(),
                _whole(texts, f"{place}.magnification"), fields,
                plain(texts.get(f"{place}.note", "")).strip(), tuple(found),
            )
        )  # fmt: skip
    _twice(texts, preps, by_eye)
    return tuple(preps), tuple(by_eye)


def _found_in_prep(
    texts: Mapping[str, str], place: int, fields: int | None
) -> Iterator[Found]:  # fmt: skip
    for number in range(1, MOST_FOUND + 1):
        found = read_found(texts, fields, f"{place}.{number}.")
        if found is not None:
            yield found


def _twice(texts: Mapping[str, str], preps: list[Prep], by_eye: list[Found]) -> None:
    for found in (*(prep.found for prep in preps), tuple(by_eye)):
        named = [one.hazard for one in found]
        for code in named:
            if named.count(code) > 1:
                field = next(
                    (name for name in reversed(list(texts)) if texts[name] == code), None
                )  # fmt: skip
                name = hazards()[code].plain_name.capitalize()
                raise BadInput(f"{name} stands twice in one place.", field=field)


def _whole(texts: Mapping[str, str], name: str) -> int | None:
    typed = plain(texts.get(name, "")).strip().casefold().strip("x× ")
    if not typed:
        return None
    if not typed.isascii() or not typed.isdigit() or int(typed) == 0:
        raise BadInput(f"“{typed:.20}” is no whole number above 0.", field=name)
    return int(typed)
