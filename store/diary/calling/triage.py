"""How urgent a call is, and why: every answer can raise it, none is needed to keep it high.

A call begins as routine. What was told raises it; a `no` lowers nothing. Where something is told
and what would put it into proportion is not known (over how many days, of how many fish, how warm),
the more urgent is taken, so that an answer that is not known never makes a call less urgent.

It is no diagnosis. What may be a disease that must be reported goes to the vet at once.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from store.diary.calling.sheet import Told
from store.diary.calling.typed import says_any
from store.exams.line_words import SPECIES
from store.facts.call_questions import URGENCIES, Raises, Urgency, questions, raising
from store.facts.entry import Standing
from store.facts.fish import fish
from store.facts.hazards import Hazard, Suspicion, hazards
from store.facts.rules import rules
from store.facts.signs import signs
from store.facts.yardsticks import Yardstick, yardsticks
from store.watch.suspected import LEADING_POINTS, SIGNS_TOGETHER
from store.water.given import figures

FEEDING = "feeding_withheld"
"""The feeding limit of `store.facts.fish` from which on fish are fed: water is warm enough."""
CONTACT_DEATHS = 2
"""So many deaths after new fish came make one point of a suspicion; common practice [count]."""
ASKED_FIRST = ("dead", "hose", "gasping", "sores", "off_food", "filter", "saw")
"""Questions that can make a call urgent by themselves."""
_WEEK_DAYS = 7.0


@dataclass(frozen=True, slots=True)
class Raised:
    """One thing that makes the call urgent: what was told, and why it counts.

    `because` is what was told with its numbers, `says` the reason with its source.
    """

    code: str
    urgency: Urgency
    because: str
    says: str
    source: str
    standing: Standing

    @property
    def sentence(self) -> str:
        """What was told, then why it counts, as it is kept with the call."""
        return f"{self.because[:1].upper()}{self.because[1:]}. {self.says}"


@dataclass(frozen=True, slots=True)
class Triage:
    """How urgent a call is, the most urgent reason first.

    `still_open` are the labels of questions that could raise it and have no answer. `remarks` say
    what was told and does not raise it, and what others call many deaths.
    """

    urgency: Urgency
    raised: tuple[Raised, ...]
    still_open: tuple[str, ...]
    remarks: tuple[str, ...]

    @property
    def codes(self) -> frozenset[str]:
        """What raised it, by code of `store.facts.call_questions.raising`."""
        return frozenset(one.code for one in self.raised)

    @property
    def vet_at_once(self) -> bool:
        """Whether the vet is told at once and no fish, water or nets move."""
        return "reportable" in self.codes

    @property
    def words(self) -> str:
        """The urgency in words, with what raised it.

        Such as `same day: fish gasp; 6 of 20 fish died in 2 days`.
        """
        head = self.urgency + (", the vet at once, nothing moves" if self.vet_at_once else "")
        return f"{head}: {'; '.join(one.because for one in self.raised)}" if self.raised else head


def triage(one: Told) -> Triage:
    """How urgent a call is by what was told so far.

    Parameters
    ----------
    one
        What was told.

    Examples
    --------
    >>> from datetime import UTC, datetime
    >>> from store.diary.calling.sheet import told
    >>> now = datetime(2026, 5, 2, tzinfo=UTC)
    >>> told_so = {"dead": "6", "dead_days": "2", "fish": "20 koi"}
    >>> triage(told(told_so, now=now, zone=UTC)).words
    'same day: 6 of 20 fish died in 2 days, 15 % a day'
    >>> triage(told({}, now=now, zone=UTC)).urgency
    'routine'
    """
    because = dict(_told_so(one))
    raised = [
        Raised(facts.code, facts.urgency, because[facts.code], facts.says, facts.source,
               facts.standing)
        for facts in raising().values()
        if facts.code in because
    ]  # fmt: skip
    codes = {each.code for each in raised}
    # One loss is told once: the strongest of its reasons stands for the others.
    weaker = {"tenth", "deaths"} if "mass" in codes else {"deaths"} if "tenth" in codes else set()
    raised = [each for each in raised if each.code not in weaker]
    raised.sort(key=lambda each: URGENCIES.index(each.urgency))
    asked = (code for code in ASKED_FIRST if not one.text(code))
    return Triage(
        urgency=raised[0].urgency if raised else URGENCIES[-1],
        raised=tuple(raised),
        still_open=tuple(questions()[code].label.casefold() for code in asked),
        remarks=tuple(_remarks(one)),
    )


def warm_from_c() -> float:
    """From which water temperature on refused food counts [°C]: below it fish are not fed."""
    return next(limit.below_c for limit in fish().feeding if limit.code == FEEDING)


def died_in_week(one: Told) -> float | None:
    """How many fish died within seven days, by the number and days told.

    Parameters
    ----------
    one
        What was told.

    Returns
    -------
    float or None
        [count] Spread evenly over longer spans; all of them where the days are not known; None
        where no number was told.
    """
    if one.dead is None:
        return None
    return one.dead * _WEEK_DAYS / max(one.dead_days or _WEEK_DAYS, _WEEK_DAYS)


def percent_a_day(one: Told) -> float | None:
    """Which share of the stock died a day.

    Parameters
    ----------
    one
        What was told.

    Returns
    -------
    float or None
        [% a day] Of the fish told, never more than 100; in one day where the days are not known;
        None without numbers.
    """
    if one.dead is None or not one.stock:
        return None
    return min(100.0, 100.0 * one.dead / one.stock) / (one.dead_days or 1.0)


# --- what was told -------------------------------------------------------------------------------


def _told_so(one: Told) -> Iterator[tuple[str, str]]:
    """What raises the call, by code, in the caller's terms."""
    facts = raising()
    reportable = _reportable(one)
    if reportable:
        yield "reportable", reportable
    for code, question, said in (
        ("gasping", "gasping", "fish gasp or crowd at the surface or inlet"),
        ("sores", "sores", "sores or patches"),
        ("helpless", "", ""),
    ):
        shown = [signs()[sign].words for sign in one.signs if sign in facts[code].signs]
        if question and question in one.yes:
            yield code, said
        elif shown:
            yield code, ", ".join(shown)
    yield from _accident(one, facts["accident"])
    yield from _losses(one)
    yield from _readings(one)
    if one.stopped:
        yield "stopped", "pump, filter or air stood still"
    if _off_food(one):
        at = "water not measured" if one.temp_c is None else f"{figures(one.temp_c, 3)} °C"
        yield (
            "off_food",
            f"they refuse their food at {at}, and are fed from {warm_from_c():g} °C on",
        )


def _accident(one: Told, facts: Raises) -> Iterator[tuple[str, str]]:
    word = says_any(facts.words, ", ".join(one.text(code) for code in ("put_in", "hose", "saw")))
    if "hose" in one.yes:
        yield "accident", "a hose ran or something got into the pond"
    elif word:
        yield "accident", "chlorinated water or something else got into the pond"


def _off_food(one: Told) -> bool:
    refused = "off_food" in one.yes or any(
        sign in raising()["off_food"].signs for sign in one.signs
    )
    return refused and (one.temp_c is None or one.temp_c >= warm_from_c())


def _losses(one: Told) -> Iterator[tuple[str, str]]:
    many = says_any(raising()["mass"].words, one.text("dead"))
    said = _said_dead(one)
    if one.dead is None:
        if many:
            yield "mass", f"“{one.text('dead')}” died"
        elif one.died:
            yield "deaths", "fish died, how many was not told"
        return
    numbers = rules()["deaths"].params
    week = died_in_week(one) or 0.0
    share = None if not one.stock else 100.0 * week / one.stock
    for code, level in (("mass", "act"), ("deaths", "watch")):
        enough = share is None or share >= float(numbers[f"{level}_from_percent"])
        if week >= float(numbers[f"{level}_from_deaths"]) and enough:
            yield code, said
    tenth, daily = raising()["tenth"], percent_a_day(one)
    if daily is not None and one.dead >= tenth.from_deaths and daily > tenth.above_percent_a_day:
        yield "tenth", said


def _said_dead(one: Told) -> str:
    of = f"{one.dead} of {one.stock} fish" if one.stock else f"{one.dead} fish"
    if one.dead_days is None:
        return f"{of} died, over how many days was not told"
    days = "1 day" if one.dead_days == 1.0 else f"{one.dead_days:.0f} days"
    daily = percent_a_day(one)
    return f"{of} died in {days}" + ("" if daily is None else f", {figures(daily, 2)} % a day")


def _readings(one: Told) -> Iterator[tuple[str, str]]:
    oxygen, chlorine = one.reading("oxygen_mg_l"), one.reading("chlorine_mg_l")
    least = float(rules()["oxygen_low"].params["act_below_mg_l"])
    if oxygen is not None and oxygen.value < least:
        yield "oxygen", f"oxygen {figures(oxygen.value, 3)} mg/L told, limit {least:g}"
    most = float(rules()["chlorine"].params["act_above_mg_l"])
    if chlorine is not None and (chlorine.value > most or chlorine.bound == ">"):
        yield "chlorine", f"chlorine {figures(chlorine.value, 3)} mg/L told"


# --- what may have to be reported ----------------------------------------------------------------


def _reportable(one: Told) -> str:
    """What speaks for a disease that must be reported; empty where nothing does, or too little.

    Points are those of the suspicion at a pond: a leading sign two, several others together one,
    new fish within 60 days before several deaths one. One point is enough to tell the vet, two
    where no fish died; one more where the water lies outside every published band.
    """
    for hazard in hazards().values():
        found = _points(one, hazard)
        if found is None:
            continue
        points, speaks = found
        wanted = 1 if one.died else 2
        band = hazard.widest
        if one.temp_c is not None and band is not None and not band[0] <= one.temp_c <= band[1]:
            wanted += 1
        if points >= wanted:
            return "; ".join(speaks)
    return ""


def _points(one: Told, hazard: Hazard) -> tuple[int, list[str]] | None:
    facts = hazard.suspicion
    if facts is None or _others_alone(one.fish, facts):
        return None
    leading = [code for code in one.signs if code in facts.leading_signs]
    others = [code for code in one.signs if code in facts.signs]
    points = LEADING_POINTS if leading else 0
    speaks = [signs()[code].words for code in (*leading, *others)]
    if len(others) >= SIGNS_TOGETHER:
        points += 1
    if "new_fish" in one.yes and one.died and (one.dead is None or one.dead >= CONTACT_DEATHS):
        points += 1
        speaks.append("fish died after new fish or visitors came")
    return points, speaks


def _others_alone(text: str, facts: Suspicion) -> bool:
    """Whether other kinds of fish were named, and none that falls ill; no kind may be any."""
    said = text.casefold()
    return any(kind in said for kind in SPECIES) and not facts.concerns(text)


# --- beside it -----------------------------------------------------------------------------------


def _remarks(one: Told) -> Iterator[str]:
    refused = "off_food" in one.yes or "off_feed" in one.signs
    if refused and one.temp_c is not None and one.temp_c < warm_from_c():
        limit = next(each for each in fish().feeding if each.code == FEEDING)
        yield (
            f"They refuse their food at {figures(one.temp_c, 3)} °C: below {limit.below_c:g} °C "
            f"{limit.said}, so that alone raises nothing."
        )
    yield from (each.says for each in yardsticks().values() if _reached(each, one))


def _reached(yardstick: Yardstick, one: Told) -> bool:
    """Whether the deaths told are more than others call much; False where that is not known."""
    week, daily = died_in_week(one), percent_a_day(one)
    if week is None or one.dead_days is None:
        return False
    if yardstick.measure == "deaths":
        return week >= yardstick.deaths
    if daily is None or not one.stock:
        return False
    if yardstick.measure == "day":
        return daily > yardstick.above_percent and one.dead_days >= yardstick.running
    if yardstick.measure == "week":
        return 100.0 * week / one.stock > yardstick.above_percent
    return False
