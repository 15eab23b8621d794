"""The ponds of one client of a list: taken, in the book already, or asked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from store.exchange.catch_up.asking import Answers, Question, answered
from store.exchange.catch_up.clients_plan import PlannedPond
from store.exchange.catch_up.folding import words
from store.exchange.catch_up.pond_remarks import ProposedPond
from store.water.measures import to_litres

GALLONS = "gallons"
"""Key of the question which gallons the list means; one for the file."""


def planned_ponds(
    line: int,
    client: str,
    taken: Sequence[ProposedPond],
    proposed: Sequence[ProposedPond],
    there: Sequence[str],
    answers: Answers,
) -> tuple[tuple[PlannedPond, ...], tuple[Question, ...]]:
    """What becomes of the ponds that a list tells of one site.

    Parameters
    ----------
    line, client
        Whose they are, for the question.
    taken
        Ponds of columns of their own: new, unless the site has ponds under other names.
    proposed
        Ponds out of remarks: always asked for.
    there
        Names of the ponds that the site has in the book.
    answers
        What a person said.

    Returns
    -------
    tuple
        The ponds, and the questions about them. A pond that is to be left in the notes is not
        among them.

    Raises
    ------
    BadInput
        An answer that is none.
    """
    ponds: list[PlannedPond] = []
    questions: list[Question] = []
    present = {words(name) for name in there}
    used: set[tuple[str, ...]] = set()
    gallons = answered(answers, GALLONS, "gallons")
    for told, asked in [*((each, bool(present)) for each in taken),
                        *((each, True) for each in proposed)]:  # fmt: skip
        name = _free(told.name, used)
        used.add(words(name))
        one = replace(told, name=name)
        pond = _planned(one, gallons)
        if words(name) in present:
            ponds.append(replace(pond, state="same"))
            continue
        state = pond.state
        if asked:
            key = f"pond line {line} {name}"
            answer = answered(answers, key, "pond")
            questions.append(_question(key, answer, line, client, one, there))
            if answer == "leave":
                continue
            if answer != "take":
                state = "ask"
        ponds.append(replace(pond, state=state))
    return tuple(ponds), tuple(questions)


def needs_gallons(ponds: Sequence[ProposedPond]) -> bool:
    """Whether the volume of one of these is in gallons that do not say which.

    Parameters
    ----------
    ponds
        Of the list.
    """
    return any(one.gallons is not None for one in ponds)


def _planned(one: ProposedPond, gallons: str) -> PlannedPond:
    litres = one.litres
    waits = one.gallons is not None and gallons not in ("us", "uk")
    if one.gallons is not None and not waits:
        litres = round(to_litres(one.gallons, f"{gallons}gal"), 3)
    return PlannedPond(
        one.name, "ask" if waits else "new", one.said, one.species, one.depth_m, litres
    )


def _question(
    key: str, answer: str, line: int, client: str, one: ProposedPond, there: Sequence[str]
) -> Question:
    read = [
        f"volume {one.litres:,.0f} L (“{one.volume_typed}”)" if one.litres is not None else "",
        f"volume “{one.volume_typed}”" if one.gallons is not None else "",
        f"depth {one.depth_m:g} m" if one.depth_m is not None else "",
        one.species,
    ]
    got = ", ".join(part for part in read if part) or "no volume, depth or fish"
    reasons = [f"the list says “{one.said:.300}”", *one.doubts]
    if there:
        reasons.append(f"the site has in the book: {', '.join(there)}")
    asks = f"A pond “{one.name}” for {client} (line {line}): {got}?"
    return Question(
        key, "pond", line, asks, "; ".join(reasons), answer, None,
        (("client", client), ("the list says", one.said)),
        (("pond", one.name), *(("read", part) for part in read if part),
         *(("in the book", name) for name in there)),
    )  # fmt: skip


def _free(name: str, used: set[tuple[str, ...]]) -> str:
    number, free = 2, name
    while words(free) in used:
        free = f"{name} {number}"
        number += 1
    return free
