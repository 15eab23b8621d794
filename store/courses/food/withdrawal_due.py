"""How long fish that were treated may not be eaten: the law for use outside the label, or a label.

The law in force, the label and the prescribing vet decide. Days on a label belong to the water of
their trial and are never turned into degree-days.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from store.errors import BadInput, NotFound
from store.facts.entry import Standing
from store.facts.sources import cite_with_standing
from store.facts.withdrawal import Bar, CascadeRule, withdrawal_facts
from store.water.given import figures, given, given_temperature

LOCAL_LAW = "Local law, the label and the prescribing vet decide."
MOST_DEGREE_DAYS = 5000.0
"""More than any period has; a slip of the decimal point."""


@dataclass(frozen=True, slots=True)
class Due:
    """The withdrawal period of one course: `degree_days` [°C x days], None where the fish never
    become food. `rule` names the law or label it follows."""

    degree_days: float | None
    rule: str
    arithmetic: str
    source: str
    standing: Standing
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LabelEnd:
    """The end of a period that a label gives in days: `until` is its last day, the fish are free
    from the day after."""

    days: float
    until: date
    free_from: date
    arithmetic: str
    source: str
    standing: Standing
    remarks: tuple[str, ...]


def due(
    food: bool | None,
    *,
    aquatic_degree_days: float | None = None,
    land_days: float | None = None,
) -> Due:
    """The least withdrawal period for use outside the label, in the European Union.

    Parameters
    ----------
    food
        True where fish of the pond may be eaten, False where it is declared never to be; None
        where nobody said, which is refused: the difference is asked and never assumed.
    aquatic_degree_days
        The longest period that the product has for any aquatic species [°C x days]; None where it
        has none.
    land_days
        The longest period that it has for any food-producing land animal [days]; None where it is
        authorised for none.

    Returns
    -------
    Due
        Degree-days [°C x days].

    Raises
    ------
    BadInput
        Nobody said whether the fish are food; a period that cannot exist; or zero for aquatic
        species with more for land animals, which is for the vet to read.

    Examples
    --------
    >>> due(True, land_days=28.0).degree_days, due(True, aquatic_degree_days=400.0).degree_days
    (500.0, 600.0)

    References
    ----------
    Regulation (EU) 2019/6, Article 115 (from memory).
    """
    for value, name, unit in (
        (aquatic_degree_days, "aquatic period", "degree-days"),
        (land_days, "land period", "d"),
    ):
        if value is not None:
            given(value, name, unit, low=0.0, high=MOST_DEGREE_DAYS)
    if food is None:
        raise BadInput(
            "Say whether fish of this pond may be eaten. Koi and goldfish are kinds of carp, which "
            "is food: it is asked and never assumed.",
            field="food",
        )
    if not food:
        return _ornamental()
    rules = withdrawal_facts().rules
    if aquatic_degree_days is not None and aquatic_degree_days > 0.0:
        return _times(rules["aquatic"], aquatic_degree_days, "degree-days")
    if aquatic_degree_days is None and land_days is None:
        return _outright(rules["unauthorised"])
    if aquatic_degree_days is None and land_days is not None and land_days > 0.0:
        return _times(rules["land"], land_days, "d")
    if land_days is not None and land_days > 0.0:
        raise BadInput(
            f"The product has zero for aquatic species and {figures(land_days)} d for land "
            "animals: which rule holds is a question of law. Nothing was reckoned; the vet reads "
            "the text and enters the degree-days.",
            field="aquatic period",
        )
    return _outright(rules["zero"])


def labelled(degree_days: float, label: str) -> Due:
    """A period as a label or the practice itself gives it.

    Parameters
    ----------
    degree_days
        The period [°C x days].
    label
        Whose figure it is, in words.

    Returns
    -------
    Due
        The same period [°C x days].

    Raises
    ------
    BadInput
        A period that cannot exist, or that nobody is named for.
    """
    given(degree_days, "degree-days", low=0.0, high=MOST_DEGREE_DAYS)
    if not label.strip():
        raise BadInput("Say whose figure it is: the label, or who in the practice.", field="label")
    return Due(degree_days, label, f"{figures(degree_days)} degree-days as given", label,
               "common practice", (LOCAL_LAW,))  # fmt: skip


def by_label(code: str, last_dose: date, coldest_c: float | None = None) -> LabelEnd:
    """The end of a period that a published label gives in days.

    Parameters
    ----------
    code
        Code of the label among the facts.
    last_dose
        Day of the very last dose.
    coldest_c
        The coldest water during the course [°C]; None where nobody knows.

    Returns
    -------
    LabelEnd
        Days and dates.

    Raises
    ------
    NotFound
        There is no such label.
    BadInput
        The water was colder than the label allows.

    Examples
    --------
    >>> by_label("oxytetracycline_salmonids", date(2026, 5, 3)).until.isoformat()
    '2026-05-24'
    """
    label = withdrawal_facts().labels.get(code)
    if label is None:
        raise NotFound(
            f"There is no label {code!r} among the facts. There are: "
            f"{', '.join(withdrawal_facts().labels)}."
        )
    remarks = [label.note] if label.note else []
    if label.least_temp_c is not None:
        least = f"{figures(label.least_temp_c)} °C"
        if coldest_c is None:
            remarks.append(f"Only for water of {least} or more; its temperature was not given.")
        elif given_temperature(coldest_c) < label.least_temp_c:
            raise BadInput(
                f"The water was at {figures(coldest_c)} °C, and this label is for {least} or more: "
                "its days do not hold. The vet decides on the period.",
                field="temperature",
            )
    until = last_dose + timedelta(days=label.days)
    return LabelEnd(
        days=label.days,
        until=until,
        free_from=until + timedelta(days=1),
        arithmetic=f"{label.product}, {label.species}: {figures(label.days)} d after the last dose",
        source=cite_with_standing(label.source, label.standing),
        standing=label.standing,
        remarks=(
            *remarks,
            "Days of a label hold for its species, dose and country, and are not degree-days.",
            LOCAL_LAW,
        ),
    )


def barred(agents: Iterable[str]) -> tuple[Bar, ...]:
    """The substances among some agents after which fish may never be food.

    Parameters
    ----------
    agents
        Codes of the agents that the pond ever had.

    Returns
    -------
    tuple of Bar
        One for each group that occurs; no number of degree-days lifts it.

    Examples
    --------
    >>> [bar.substance for bar in barred(["salt", "malachite_green"])]
    ['malachite green and related dyes']
    """
    had = set(agents)
    return tuple(bar for bar in withdrawal_facts().bars.values() if had.intersection(bar.names))


def _times(rule: CascadeRule, period: float, unit: str) -> Due:
    product = (rule.factor or 1.0) * period
    capped = rule.most_degree_days is not None and product > rule.most_degree_days
    degree_days = rule.most_degree_days if capped and rule.most_degree_days else product
    cap = f", not above {figures(degree_days)}" if capped else ""
    return _due(
        rule,
        degree_days,
        f"{figures(rule.factor or 1.0)} × {figures(period)} {unit} = {figures(product)} "
        f"degree-days{cap}",
    )


def _outright(rule: CascadeRule) -> Due:
    degree_days = rule.degree_days or 0.0
    return _due(rule, degree_days, f"{figures(degree_days)} degree-days outright")


def _due(rule: CascadeRule, degree_days: float, arithmetic: str) -> Due:
    return Due(
        degree_days=degree_days,
        rule=rule.law,
        arithmetic=f"{rule.when}: {arithmetic}",
        source=cite_with_standing(rule.source, rule.standing),
        standing=rule.standing,
        remarks=("A least period under European law: the vet may set a longer one.", LOCAL_LAW),
    )


def _ornamental() -> Due:
    return Due(
        degree_days=None,
        rule="ornamental, declared never to be food",
        arithmetic="no period: the fish never become food",
        source="common practice, without a published source",
        standing="common practice",
        remarks=(
            "These fish may never enter food, nor be sold or given where fish are eaten.",
            "Write down who declared the pond ornamental, and when.",
            LOCAL_LAW,
        ),
    )
