"""The lines and the chart of what was found over all ponds."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from rich.text import Text

from store.text import day_said
from tui.backing import said_backing
from tui.said import MONTHS, said_date
from tui.widgets.chart_data import Band, ChartData, Mark, Series
from tui.widgets.grid import Row
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.exams.across import FoundThere, Met, Raised, Score
    from store.exams.findings_over_all import Edge, Findings, OfHazard
    from store.watch.rule import Rule

INITIALS = " ".join(month[0] for month in MONTHS)
_MET_STYLES: dict[Met, str] = {
    "hit": "calm", "noted": "watch", "miss": "act", "not measured": "unknown", "again": "quiet",
    "not looked back": "quiet",
}  # fmt: skip
_ALONE_DAYS = 0.001
"""No line is drawn from one finding to the next: they are of different ponds."""
EMPTY_CHART = "No finding with a water temperature in these days."


def hazard_rows(found: Findings) -> list[Row]:
    """A hazard a line: months, ponds, water, and what the window said."""
    return [Row(one.hazard, _hazard_cells(one)) for one in found.hazards]


def _hazard_cells(one: OfHazard) -> tuple[str | Text, ...]:
    score = one.score
    caught = right = Text("no rule", "quiet")
    if score is not None:
        caught = Text(f"{score.caught.part} of {score.caught.of}" if score.caught.of else "–")
        false = score.windows("false call")
        right = Text(f"{false} of {score.right.of}" if score.right.of else "–")
    return (
        one_line(one.name), months_said(one), str(one.ponds), water_said(one.found), caught, right
    )  # fmt: skip


def months_said(one: OfHazard) -> Text:
    """Twelve numbers: how often it was found; `·` where it was looked for and not found."""
    from store.exams.across import by_month

    text = Text(end="")
    for number, cell in enumerate(by_month(one.found, one.looked)):
        if cell.found:
            said, style = str(cell.found) if cell.found < 10 else "+", ""
        else:
            said, style = ("·", "quiet") if cell.looked else (" ", "")
        text.append(said + ("" if number == 11 else " "), style)
    return text


def water_said(found: tuple[FoundThere, ...]) -> str:
    """From the coldest to the warmest water in which it was found."""
    known = [one.temperature_c for one in found if one.temperature_c is not None]
    if not known:
        return "" if not found else "not known"
    low, high = min(known), max(known)
    return f"{low:.0f} °C" if round(low) == round(high) else f"{low:.0f}–{high:.0f} °C"


def hazard_told(found: Findings, one: OfHazard) -> Told:
    """What the window did, in how many days, and what is to be minded."""
    from store.exams.across import temperatures_said

    times = "once" if len(one.found) == 1 else f"{len(one.found)} times"
    asked = f"looked for {len(one.looked)} times" if len(one.looked) != 1 else "looked for once"
    bands = temperatures_said(one.found)
    head = f"{one.name[0].upper()}{one.name[1:]}: " + (
        f"found {times} at {one.ponds} {'pond' if one.ponds == 1 else 'ponds'}, {asked}"
        if one.found
        else f"{asked}, not found"
    )
    if one.score is None:
        return Told(head, bands, "", "No window rule speaks of it. Enter shows where it was found.")
    return Told(
        head + (f": {bands}" if bands else ""), one_line(one.score.said), _rests_on(one.rule),
        one_line(" ".join(("Enter shows where and when.", *_own(one), *one.score.remarks))),
    )  # fmt: skip


def _own(one: OfHazard) -> tuple[str, ...]:
    if not one.own_say:
        return ()
    return (f"{one.own_say} ponds follow numbers of their own.",)


def _rests_on(rule: Rule | None) -> str:
    if rule is None:
        return ""
    backing = rule.rests_on("low_c")
    return f"Window {band_said(rule)}: {said_backing(one_line(backing.source), backing.standing)}"


def band_said(rule: Rule) -> str:
    """The edges of a window in words."""
    low, high = rule.params.get("low_c"), rule.params.get("high_c")
    if isinstance(low, float) and isinstance(high, float):
        return f"{low:g} to {high:g} °C"
    return f"from {low:g} °C" if isinstance(low, float) else f"up to {high:g} °C"


def chart_data(one: OfHazard, first: date, last: date) -> ChartData:
    """Each finding at its day and the temperature of its water, the window in force behind."""
    known = sorted(
        (there.on_day, there.temperature_c) for there in one.found
        if there.temperature_c is not None
    )  # fmt: skip
    times: list[datetime] = []
    for day, _ in known:
        at = datetime.combine(day, time(12))
        # Two findings of one day stand beside one another.
        while times and at <= times[-1]:
            at = times[-1] + timedelta(hours=1)
        times.append(at)
    values = tuple(float(value) for _, value in known)
    bands: tuple[Band, ...] = ()
    if one.rule is not None and values:
        low, high = one.rule.params.get("low_c"), one.rule.params.get("high_c")
        bands = (
            Band(
                low if isinstance(low, float) else min(values) - 5.0,
                high if isinstance(high, float) else max(values) + 5.0,
                f"window {band_said(one.rule)}",
            ),
        )
    return ChartData(
        series=(Series(f"water where {one_line(one.name)} were found"
                       if one.name.endswith("s") else f"water where {one_line(one.name)} was found",
                       "°C", tuple(times), values),),
        start=datetime.combine(first, time()),
        end=datetime.combine(last + timedelta(days=1), time()),
        bands=bands,
        marks=tuple(
            Mark(datetime.combine(there.on_day, time(12)), "not measured")
            for there in one.found if there.temperature_c is None
        ),
        gap_days=_ALONE_DAYS,
        empty=EMPTY_CHART,
    )  # fmt: skip


# One hazard


@dataclass(frozen=True, slots=True)
class ThereKey:
    """A line of a hazard's page: a finding, a raised window, or another edge."""

    kind: Literal["found", "raised", "edge"]
    number: int
    pond: UUID | None = None
    exam: UUID | None = None


def there_rows(
    one: OfHazard, edges: tuple[Edge, ...] | None, today: date, names: dict[UUID, str]
) -> list[Row]:
    """Findings newest first, then windows in which somebody looked, then other edges."""
    met = {} if one.score is None else {id(there): how for there, how in one.score.met}
    rows = [
        Row(
            ThereKey("found", number, there.pond, there.exam),
            (
                said_date(there.on_day, today), one_line(there.where), _water(there),
                _met(met.get(id(there))), one_line(there.says),
            ),
        )
        for number, there in enumerate(one.found)
    ]  # fmt: skip
    if one.score is not None:
        rows += [
            Row(
                ThereKey("raised", number, raised.pond, raised.exam),
                (
                    said_date(raised.first, today), one_line(names.get(raised.pond, "")), "",
                    Text("false call", "watch"), "raised, looked for and not found",
                ),
            )
            for number, raised in enumerate(one.score.raised)
            if raised.came == "false call"
        ]  # fmt: skip
    for number, edge in enumerate(edges or ()):
        assert one.score is not None
        rows.append(
            Row(
                ThereKey("edge", number),
                (
                    "if", Text(edge_said(edge), "quiet"),
                    f"{edge.score.windows('false call')} false", _caught(edge.score),
                    Text(f"{edge.score.windows('nobody looked')} nobody looked", "quiet"),
                ),
            )
        )  # fmt: skip
    return rows


def _caught(score: Score) -> str:
    return f"{score.caught.part} of {score.caught.of}"


def edge_said(edge: Edge) -> str:
    """The edge as it would be."""
    return f"window {'from' if edge.name == 'low_c' else 'up to'} {edge.value:g} °C"


def beside(one: OfHazard, edge: Edge) -> str:
    """What another edge would have done, each number with its difference to the rule in force."""
    now, score = one.score, edge.score
    assert now is not None
    counts = [
        (f"spoken before {score.caught.part} of {score.caught.of} findings",
         score.caught.part - now.caught.part),
        *(
            (f"{word} {score.windows(came)}", score.windows(came) - now.windows(came))
            for word, came in (("false calls", "false call"), ("nobody looked", "nobody looked"))
        ),
    ]  # fmt: skip
    return ", ".join(f"{said} ({change:+d})" if change else said for said, change in counts)


def _met(how: Met | None) -> Text:
    return Text("") if how is None else Text(how, _MET_STYLES[how])


def _water(there: FoundThere) -> Text | str:
    if there.temperature_c is None:
        return Text("not known", "quiet")
    return f"{there.temperature_c:.1f} °C"


def there_told(one: OfHazard, key: ThereKey, edges: tuple[Edge, ...] | None) -> Told:
    """The line under the cursor in full."""
    rests_on = _rests_on(one.rule)
    if key.kind == "edge":
        assert edges is not None
        edge = edges[key.number]
        return Told(
            f"{edge_said(edge)[0].upper()}{edge_said(edge)[1:]} instead of {edge.instead_of:g} °C: "
            f"{beside(one, edge)}",
            one_line(edge.score.said), rests_on,
            one_line(" ".join(("Enter opens the rule, where t tries it and w changes it.",
                               *edge.score.remarks))),
        )  # fmt: skip
    if key.kind == "raised":
        assert one.score is not None
        raised: Raised = one.score.raised[key.number]
        return Told(
            f"Raised from {day_said(raised.first)} to {day_said(raised.last)}; looked for, not "
            "found", "", rests_on,
            "One clean slide says little: it can have been overlooked. Enter opens the "
            "examination, o the pond.",
        )  # fmt: skip
    there = one.found[key.number]
    how = {} if one.score is None else {id(each): met for each, met in one.score.met}
    met = how.get(id(there))
    within = 0 if one.score is None else one.score.within_days
    said = {
        None: "No window rule speaks of it.",
        "hit": f"The window had spoken in the {within} days before.",
        "noted": "The pond had been in the window so long that the rule only noted it: the days "
        "that it speaks decide here, not its edge.",
        "miss": f"The window had not spoken in the {within} days before.",
        "not measured": "No temperature was known, so that the rule could not speak.",
        "again": "Found again within 60 days: not counted.",
        "not looked back": "The look back was stopped before this pond.",
    }[met]
    away = "" if not there.measured_days else f", measured {there.measured_days} d away"
    water = "" if there.temperature_c is None else f" at {there.temperature_c:.1f} °C{away}"
    opens = "examination, o the pond" if there.exam is not None else "pond"
    return Told(
        f"{one_line(there.where)}, {day_said(there.on_day)}{water}: {one_line(there.says)}",
        said, rests_on, f"Enter opens the {opens}; r the rule; t tries other edges.",
    )  # fmt: skip
