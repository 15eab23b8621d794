"""The form of a course: its fields, which of them are asked for now, and their hints."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from tui.widgets.fields import Field, Form, FormField

if TYPE_CHECKING:
    from store.courses.kept.formulary import ShelfProduct
    from store.courses.kept.proposal import Proposal
    from store.facts.agent import Agent

CELLS = 26
"""Every entry is as wide, so that hints stand under each other."""
_YES_NO = (("no", "no"), ("yes", "yes"))
WHOLE = ("dose", "strength", "exposure")
"""What is published of these stands in full, whether somebody types there or not."""
_ALWAYS = ("agent", "route", "dose", "doses", "product", "strength", "density", "exposure", "share")


class CourseForm(Form):
    """A form to which the fields of another step can be added, before its last field."""

    async def add(self, fields: Sequence[Field]) -> None:
        """Ask for these as well; what was typed in the others stays.

        Parameters
        ----------
        fields
            With names that the form does not have yet.
        """
        begun = {field.name: field.value for field in fields}
        self._begun |= begun
        self._values |= begun
        added = {field.name: FormField(field, field.value) for field in fields}
        name, last = self._fields.popitem()
        self._fields |= {**added, name: last}
        await self.mount(*added.values(), before=last)

    @property
    def standing(self) -> dict[str, str]:
        """What stands in the fields at this instant, also where no change was told yet."""
        return {name: field.value for name, field in self._fields.items() if field.is_mounted}

    def move_up(self, place: int, last: int) -> None:
        """Put a step behind the last one, so that those after it move up; nothing is lost.

        Parameters
        ----------
        place, last
            Of the step, and of the last one that counts.
        """
        values = self.standing
        names = [name.partition(".")[2] for name in values if name.startswith(f"{place}.")]
        order = [*range(place + 1, last + 1), place]
        self.fill(
            {
                f"{to}.{name}": values[f"{source}.{name}"]
                for to, source in zip(range(place, last + 1), order, strict=True)
                for name in names
            }
        )


@dataclass(frozen=True, slots=True)
class Known:
    """What of the practice the form is made with: its formulary, and its shelf."""

    formulary: Mapping[str, Agent] | None = None
    shelf: tuple[ShelfProduct, ...] = ()

    def product(self, key: str) -> ShelfProduct | None:
        """The product of that key; None where there is none."""
        return next((one for one in self.shelf if str(one.id) == key), None)


NOTHING = Known()


def all_fields(found: Iterable[str], steps: int, known: Known = NOTHING) -> tuple[Field, ...]:
    """The fields of the form.

    Parameters
    ----------
    found
        Codes of the hazards seen lately: the first is proposed.
    steps
        Of how many steps; those of another are added when it is wanted.
    known
        Formulary and shelf of the practice.
    """
    from store.facts.hazards import hazards

    named = tuple(
        (code, hazard.plain_name)
        for code, hazard in sorted(hazards().items(), key=lambda one: one[1].plain_name)
    )
    seen = next(iter(found), "")
    fields = [
        Field("hazard", "against", "what was found", seen, choices=named, width=CELLS),
        Field("other_hazard", "and against", "", choices=named, width=CELLS),
        Field("reason", "reason", "in words", width=CELLS),
        Field("first_day", "first dose", "today, Mon, 3 d, 12 Mar", "today", width=CELLS),
        Field("level", "level now", "80 % or 14000 L; empty: full", width=CELLS),
        Field("steps", "agents", "", "1"),
    ]  # fmt: skip
    for place in range(1, steps + 1):
        fields += step_fields(place, known)
    fields.append(Field("note", "note", "in words", lines=2))
    return tuple(fields)


def step_fields(place: int, known: Known = NOTHING) -> list[Field]:
    """The fields of one step.

    Parameters
    ----------
    place
        Of the step, from 1.
    known
        Formulary and shelf of the practice.
    """
    from store.courses.planning.wished import BASES, SALT, SHARES, bath_agents, bath_routes

    def field(
        name: str, label: str, hint: str, value: str = "",
        choices: Iterable[tuple[str, str]] = (),
    ) -> Field:  # fmt: skip
        shown = label if place == 1 else f"{place}. {label}"
        return Field(f"{place}.{name}", shown, hint, value, choices=tuple(choices), width=CELLS)

    return [
        field("agent", "agent", "enter chooses", choices=bath_agents(known.formulary)),
        field("gap", "days later", "after the last dose; empty: 7"),
        field("route", "how", "", choices=bath_routes()),
        field("volume", "water in the tank", "200 L, 1.5 m3"),
        field("dose", "dose", "such as 0.25 mg/L, 20 µL/L"),
        field("salt", "the dose is", "salt stays in the water", "reach", SALT.items()),
        field("doses", "doses", "how many", "1"),
        field("interval", "every", "days; empty: proposed"),
        field("change", "water change", "% before each later dose"),
        field("change_first", "also the first", "before the first dose as well?", "no", _YES_NO),
        field("half_life", "half-life", "h"),
        field("half_life_from", "half-life from", "label, paper, who measured it"),
        shelf_field(place, known),
        field("product", "product", "name on the label"),
        field("strength", "strength", "% on the label; empty: 100"),
        field("basis", "dose is of the", "", choices=BASES.items()),
        field("density", "density", "g/mL, to measure in mL"),
        field("exposure", "lasts", "h; empty: as published"),
        field("demand", "demand", "of the water, mg/L, by a test"),
        field("share", "given by", "", "practice", SHARES.items()),
    ]


def _shelf_said(one: ShelfProduct) -> str:
    from store.water.given import figures

    return f"{one.name}, {figures(one.strength_percent)} %"


def asked(values: Mapping[str, str], steps: int, known: Known = NOTHING) -> frozenset[str]:
    """Names of the fields that are asked for, as far as the others stand now.

    Parameters
    ----------
    values
        The texts of the form.
    steps
        How many steps the course has.
    known
        Formulary and shelf of the practice.
    """
    names = {"hazard", "reason", "first_day", "level", "note"}
    if values["hazard"]:
        names.add("other_hazard")
    for place in range(1, steps + 1):
        names |= {f"{place}.{name}" for name in _step_asked(values, place, known)}
    return frozenset(names)


def _step_asked(values: Mapping[str, str], place: int, practice: Known) -> set[str]:
    from store.courses.planning.wished import published

    def text(name: str) -> str:
        return values[f"{place}.{name}"].strip()

    names = set(_ALWAYS)
    known = published(text("agent"), text("route"), practice.formulary)
    if any(one.agent == text("agent") for one in practice.shelf):
        names.add("shelf")
    in_tank = known is not None and known.in_tank
    if place > 1:
        names.add("gap")
    if in_tank:
        names.add("volume")
    if known is not None and known.by_demand:
        names.add("demand")
    if known is not None and known.is_salt:
        names.add("salt")
    if text("doses") not in ("", "1"):
        names.add("interval")
        if not in_tank:
            names.add("half_life")
            if text("half_life"):
                names.add("half_life_from")
    if not in_tank:
        names.add("change")
        if text("change"):
            names.add("change_first")
    if text("strength") or text("basis") == "product":
        names.add("basis")
    return names


def fitting(values: Mapping[str, str], place: int, practice: Known = NOTHING) -> dict[str, str]:
    """What follows from another agent: a route that it has, and its only product on the shelf.

    Where all that is published of it counts the product as it comes, so does the dose.

    Parameters
    ----------
    values
        The texts of the form.
    place
        The step whose agent was chosen.
    practice
        Formulary and shelf of the practice.
    """
    from store.courses.planning.wished import published

    agent = values[f"{place}.agent"]
    found = shelf_fitting(values, place, practice)
    known = published(agent, "", practice.formulary)
    if known is None:
        return found
    if known.routes and values[f"{place}.route"] not in known.routes:
        found[f"{place}.route"] = known.routes[0]
        if "pond_bath" in known.routes:
            found[f"{place}.route"] = "pond_bath"
    if f"{place}.basis" in values and not found.get(f"{place}.shelf"):
        route = found.get(f"{place}.route", values[f"{place}.route"])
        there = published(agent, route, practice.formulary)
        of_product = there is not None and there.of_product
        basis = values[f"{place}.basis"]
        if of_product and not basis:
            found[f"{place}.basis"] = "product"
        elif basis == "product" and not of_product and not values[f"{place}.strength"].strip():
            found[f"{place}.basis"] = ""
    return found


def shelf_fitting(values: Mapping[str, str], place: int, practice: Known) -> dict[str, str]:
    """The only product of an agent on the shelf, where none was typed; none of another agent.

    Parameters
    ----------
    values
        The texts of the form.
    place
        The step whose agent was chosen.
    practice
        Shelf of the practice.
    """
    agent = values[f"{place}.agent"]
    held = practice.product(values.get(f"{place}.shelf", ""))
    own = [one for one in practice.shelf if one.agent == agent]
    if practice.shelf and (held is None or held.agent != agent):
        if len(own) == 1 and not values[f"{place}.product"].strip():
            return {f"{place}.shelf": str(own[0].id)}
        if held is not None:
            return {f"{place}.shelf": ""}
    return {}


def shelf_field(place: int, known: Known) -> Field:
    """The field that a product of the shelf is chosen in.

    Parameters
    ----------
    place
        Of the step, from 1.
    known
        Shelf of the practice.
    """
    label = "from the shelf" if place == 1 else f"{place}. from the shelf"
    named = tuple((str(one.id), _shelf_said(one)) for one in known.shelf)
    return Field(f"{place}.shelf", label, "fills the lines below",
                 choices=named or (("", "none"),), width=CELLS)  # fmt: skip


def from_shelf(values: Mapping[str, str], place: int, practice: Known) -> dict[str, str]:
    """What a product of the shelf fills in: its name, strength, of what that is, and density.

    Parameters
    ----------
    values
        The texts of the form.
    place
        The step for which it was chosen.
    practice
        Shelf of the practice.
    """
    from store.water.given import figures

    chosen = practice.product(values[f"{place}.shelf"])
    if chosen is None:
        return {}
    density = "" if chosen.density_g_ml is None else figures(chosen.density_g_ml)
    return {
        f"{place}.product": chosen.name,
        f"{place}.strength": f"{figures(chosen.strength_percent, 8)} %",
        f"{place}.basis": chosen.strength_basis,
        f"{place}.density": density,
    }


def hints(
    values: Mapping[str, str], steps: int, found: Container[str], practice: Known = NOTHING
) -> dict[str, str | None]:
    """What is published, said at the fields it belongs to; None brings the usual hint back.

    Parameters
    ----------
    values
        The texts of the form.
    steps
        How many steps the course has.
    found
        Codes of the hazards seen lately.
    practice
        Formulary and shelf of the practice.
    """
    from store.courses.planning.wished import published
    from store.facts.agent import ROUTES

    said: dict[str, str | None] = {
        name: "seen in the last 30 d" if values[name] in found else None
        for name in ("hazard", "other_hazard")
    }
    for place in range(1, steps + 1):
        known = published(values[f"{place}.agent"], values[f"{place}.route"], practice.formulary)
        if known is None:
            for name in ("agent", "route", "dose", "strength", "exposure", "interval"):
                said[f"{place}.{name}"] = None
            continue
        other = [ROUTES[code] for code in known.routes if code != values[f"{place}.route"]]
        said[f"{place}.route"] = f"or: {', '.join(other)}" if other else None
        doses = [f"published {known.dose}"] if known.dose else []
        doses += [f"our own {known.own}"] if known.own else []
        said[f"{place}.dose"] = "; ".join(doses) or None
        said[f"{place}.strength"] = (
            f"% on the label; often {known.product}" if known.product else None
        )
        said[f"{place}.exposure"] = f"h; published {known.exposure}" if known.exposure else None
        said[f"{place}.interval"] = (
            f"published {known.every}; empty: proposed" if known.every else None
        )
    return said


def said_intervals(values: Mapping[str, str], proposal: Proposal) -> dict[str, str]:
    """At an empty interval, the one that the life cycle asks for; at a half-life, what stands.

    Parameters
    ----------
    values
        The texts of the form.
    proposal
        What was proposed for them.
    """
    from store.courses.planning.timing import is_by_estimate
    from store.water.given import figures

    said = {}
    for step in proposal.plan.steps:
        interval, half_life = f"{step.place}.interval", f"{step.place}.half_life"
        if step.interval_days is not None and not values[interval].strip():
            by = " by estimate" if is_by_estimate(step) else ""
            said[interval] = f"proposed: every {step.interval_days} d{by}"
        if not values[half_life].strip():
            said[half_life] = (
                "h; none published here" if step.half_life_h is None
                else f"h; published here: {figures(step.half_life_h, 2)}"
            )  # fmt: skip
    return said
