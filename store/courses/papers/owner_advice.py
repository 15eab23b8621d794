"""What stands beside the doses on an owner's sheet: how to give, what to watch, when to ring."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass

from store.courses.papers.sheet_step import SheetStep, concentration_said, listed
from store.courses.planning.course import Plan
from store.courses.planning.oral import oral
from store.facts.advice import advice_for
from store.facts.agent import OFF, Route
from store.facts.bathing import bath_rules
from store.facts.entry import Standing
from store.facts.sources import cite_with_standing, sources
from store.paper.paper import Part, one_line
from store.water.given import figures

_RULES_OF_BATHS = {"watch": ("air", "no_feed", "watch"), "people": ("discharge",)}
_TOLD_BY_TASKS = ("filter",)
"""A filter is bypassed for hours and would die in days: its task says so with its day."""
_REST = "The rest is common practice of the trade, without a published source."


@dataclass(frozen=True, slots=True)
class _Sentence:
    says: str
    source: str
    standing: Standing


_Said = Iterator[tuple[SheetStep, _Sentence]]


def beside_the_doses(plan: Plan, given: Sequence[SheetStep], telephone: str) -> tuple[Part, ...]:
    """The parts of the sheet that go with the agents, each sentence once.

    Parameters
    ----------
    plan
        The course; what its tasks say already is not said again.
    given
        Its steps. How to give an agent is told only where the owner has a dose of it to give.
    telephone
        Number to ring.

    Returns
    -------
    tuple of Part
        Those that hold something.
    """
    own = listed(agent_names(one for one in given if one.by_owner))
    told = {one_line(task.says) for task in plan.tasks}
    parts = (
        Part(f"Before you give {own}", _lines(given, _before(given), own=True)),
        Part(f"How to give {own}", _lines(given, _spread(given), own=True)),
        Part("Switched off while it works", _lines(given, _off(given))),
        Part("Afterwards watch", _lines(given, _watch(given, told))),
        Part("When something is wrong", _lines(given, _advice(given, "trouble")), "words"),
        Part(f"Ring us ({telephone}) when", _lines(given, _advice(given, "ring"))),
        Part("To keep yourself and others safe", _lines(given, _people(given, told))),
    )
    return tuple(part for part in parts if part.lines)


def rests_on(plan: Plan, given: Sequence[SheetStep]) -> tuple[str, ...]:
    """The sources of a sheet: of each dose, and of the sentences that have one.

    A dose is never said to rest on a publication that gives another.

    Parameters
    ----------
    plan
        The course.
    given
        Its steps.
    """
    found: dict[str, list[str]] = {}
    for one in given:
        for cited, what in _dose_rests(one):
            found.setdefault(cited, []).append(what)
    for _, said in (*_before(given), *_spread(given), *_watch(given, ()), *_people(given, ())):
        if said.standing != "common practice":
            found.setdefault(_cited(said.source, said.standing), []).append("instructions")
    for task in plan.tasks:
        if task.source and not task.source.startswith("common practice"):
            found.setdefault(one_line(task.source).rstrip("."), []).append("instructions")
    lines = tuple(
        f"{_capital(', '.join(dict.fromkeys(told)))}: {where}." for where, told in found.items()
    )
    return (*lines, _REST)


def _dose_rests(one: SheetStep) -> Iterator[tuple[str, str]]:
    """Which publication gives this very dose, and where none does, that the vet set it."""
    step, route, name = one.step, one.route, one.agent.plain_name
    if step.ration is not None:
        yield from _ration_rests(one)
        return
    if route is None:
        yield _cited(step.source, step.standing), f"dose of {name}"
        return
    stated = (
        (route.dose_low, route.dose_high, route.unit, route.source, route.standing),
        *((other.dose_low, other.dose_high, other.unit, other.source, other.standing)
          for other in route.alternates),
    )  # fmt: skip
    holding = [
        (source, standing)
        for low, high, unit, source, standing in stated
        if (factor := _to_unit(unit, step.unit))
        and (low or 0.0) * factor <= step.dose * (1.0 + 1e-9)
        and step.dose <= high * factor * (1.0 + 1e-9)
    ]
    for source, standing in holding:
        yield _cited(source, standing), f"dose of {name}"
    if not holding:
        published = concentration_said(route.dose_high, route.unit)
        yield (
            _cited(route.source, route.standing),
            f"{name}, of which {published} is published here, the dose being set by the "
            "prescribing vet",
        )


def _ration_rests(one: SheetStep) -> Iterator[tuple[str, str]]:
    """The same for a dose with the feed."""
    ration, name = one.step.ration, one.agent.plain_name
    assert ration is not None
    stands = oral(
        one.agent, (), mg_kg_day=one.step.dose, mg_per_kg_feed=ration.mg_per_kg_feed,
        days=ration.feed_days,
    )  # fmt: skip
    every = () if stands is None else (stands.nearest, *stands.others)
    holding = [each for each in every if not each.judged.level]
    for each in holding:
        yield _cited(each.source, each.standing), f"dose of {name}"
    if not holding:
        said = "of which another dose is published here, this one being set by the prescribing vet"
        yield _cited(one.step.source, one.step.standing), f"{name}, {said}"


def _to_unit(unit: str, wished: str) -> float | None:
    """The factor between two units of a bath; None where it would take a density."""
    if unit == wished:
        return 1.0
    return 1000.0 if (unit, wished) == ("g/L", "mg/L") else None


def _advice(given: Sequence[SheetStep], part: str) -> _Said:
    for one in given:
        for advice in advice_for(
            part, form=one.form, family=one.agent.family, route=one.step.route
        ):
            yield one, _Sentence(advice.says, advice.source, advice.standing)


def _rules(given: Sequence[SheetStep], part: str, told: Collection[str]) -> _Said:
    """The rules of every bath that no task of the plan tells already."""
    for rule in bath_rules():
        if rule.code in _RULES_OF_BATHS[part] and rule.says not in told:
            for one in _baths(given):
                yield one, _Sentence(rule.says, rule.source, rule.standing)


def _baths(given: Sequence[SheetStep]) -> Iterator[SheetStep]:
    return (one for one in given if one.step.ration is None)


def _before(given: Sequence[SheetStep]) -> _Said:
    by_owner = [one for one in given if one.by_owner]
    yield from _advice(by_owner, "before")
    for one in by_owner:
        for says in _limits(one.route):
            assert one.route is not None
            yield one, _Sentence(says, one.route.source, one.route.standing)


def _limits(route: Route | None) -> Iterator[str]:
    """The limits of the route that an owner can read off a thermometer or a test kit."""
    if route is None:
        return
    for name, low, high, unit in (
        ("the water temperature", route.temp_low_c, route.temp_high_c, " °C"),
        ("the oxygen, if you have a meter", route.least_oxygen_mg_l, None, " mg/L"),
        ("the pH, if you have a test", route.ph_low, route.ph_high, ""),
    ):
        bounds = ([] if low is None else [f"below {figures(low)}{unit}"]) + (
            [] if high is None else [f"above {figures(high)}{unit}"]
        )
        if bounds:
            yield f"Read {name}: {' or '.join(bounds)} give nothing and ring us."


def _spread(given: Sequence[SheetStep]) -> _Said:
    yield from _advice([one for one in given if one.by_owner], "spread")


def _off(given: Sequence[SheetStep]) -> _Said:
    for one in _baths(given):
        things = ", ".join(OFF[code] for code in one.agent.off if code not in _TOLD_BY_TASKS)
        if things:
            yield (
                one,
                _Sentence(
                    f"Off or taken out: {things}. Back on the day named above, or else when we say "
                    "so, not before.",
                    one.agent.source,
                    one.agent.standing,
                ),
            )


def _watch(given: Sequence[SheetStep], told: Collection[str]) -> _Said:
    yield from _advice(given, "watch")
    for one in _baths(given):
        taken = one.agent.oxygen_taken
        if taken is not None:
            yield (
                one,
                _Sentence(
                    "It takes oxygen out of the water, most of it within "
                    f"{figures(taken.high_h)} h. Leave all air on, day and night.",
                    taken.source,
                    taken.standing,
                ),
            )
    yield from _rules(given, "watch", told)


def _people(given: Sequence[SheetStep], told: Collection[str]) -> _Said:
    for one in given:
        for says in one.agent.handling:
            yield one, _Sentence(says, one.agent.source, one.agent.standing)
    yield from _advice(given, "people")
    yield from _rules(given, "people", told)


def _lines(given: Sequence[SheetStep], said: _Said, *, own: bool = False) -> tuple[str, ...]:
    """Each sentence once; one that does not hold for all agents of the part says for which."""
    holds: dict[str, list[str]] = {}
    for one, sentence in said:
        names = holds.setdefault(one_line(sentence.says), [])
        if one.agent.plain_name not in names:
            names.append(one.agent.plain_name)
    every = agent_names(one for one in given if one.by_owner or not own)
    return tuple(
        says if set(names) >= set(every) else f"{_capital(listed(names))}: {says}"
        for says, names in holds.items()
    )


def agent_names(given: Iterable[SheetStep]) -> tuple[str, ...]:
    """The plain names of the agents, each once.

    Parameters
    ----------
    given
        The steps.
    """
    return tuple(dict.fromkeys(one.agent.plain_name for one in given))


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _cited(source: str, standing: Standing) -> str:
    if source in sources():
        return cite_with_standing(source, standing).rstrip(".")
    return one_line(source).rstrip(".") or standing
