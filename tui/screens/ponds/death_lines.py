"""The deaths of a pond in words: what is suspected, the shares, the list, the chart's values."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from rich.text import Text
from textual.content import Content

from tui.said import said_date
from tui.screens.ponds.pond_lines import said_when, short_name
from tui.widgets.chart_data import ChartData, Series
from tui.widgets.grid import Row
from tui.widgets.literal import cut, one_line, wrapped

if TYPE_CHECKING:
    from store.book.events import PondEvent
    from store.exams.deaths import DeathCount
    from store.exams.head_counts import HeadCount
    from store.exams.losses import LossPage
    from store.exams.mortality import Mortality
    from store.watch.stock import StockLine

_UNBROKEN_DAYS = 1.5
"""The chart's line breaks where a day was not looked at [d]."""
_LEVEL_CELLS = 9


@dataclass(frozen=True, slots=True)
class DeathKey:
    """What a line of the list is, so that enter knows what to open."""

    kind: Literal["deaths", "count", "event"]
    key: UUID


def stop_lines(page: LossPage, width: int) -> Content:
    """What is suspected, in the strongest words; empty where nothing is.

    Parameters
    ----------
    page
        The deaths of the pond.
    width
        Of a line, in cells.
    """
    lines: list[Content] = []
    for one in page.suspicions:
        act = one.found.level == "act"
        level = "act" if act else "watch"
        lines.append(
            Content.assemble((f"{level:<{_LEVEL_CELLS}}", f"bold $level-{level}"),
                             (cut(one.head, width - _LEVEL_CELLS), "bold" if act else ""))
        )  # fmt: skip
        if act:
            said = "Move no fish, water or nets. Ring the authority. Sample first."
            lines += [
                Content(" " * _LEVEL_CELLS + part) for part in wrapped(said, width - _LEVEL_CELLS)
            ]
    return Content("\n").join(lines)


def sum_lines(page: LossPage, width: int, most: int) -> Content:
    """The shares since the outbreak began, and how many fish are left by which count.

    Parameters
    ----------
    page
        The deaths of the pond.
    width
        Of a line, in cells.
    most
        How many lines there is room for.
    """
    said = list(_sums(page))
    if len(said) > most:
        said = [*said[: most - 1], f"and {len(said) - most + 1} more: a tells all"]
    return Content("\n").join(Content.styled(cut(one, width), "") for one in said)


def _sums(page: LossPage) -> Iterator[str]:
    if page.whole is None:
        if page.looked:
            yield f"Looked at on {_many(page.looked, 'day')}, and none was found dead."
        else:
            yield "Nobody has entered a count of dead fish yet; none found is a count too."
    else:
        yield from (_share(one, page.today) for one in (page.kinds or (page.whole,)))
        missed = len(page.whole.not_looked)
        if missed:
            yield f"Not looked at on {_many(missed, 'day')} since: not the same as none dead."
    for line in page.stock.lines:
        yield _left(line, page.today)
        if line.doubt:
            yield line.doubt
    if not page.stock.lines:
        yield "No head count: press h to say how many swim there, else no share can be told."


def _share(one: Mortality, today: date) -> str:
    since, name = said_date(one.first, today), one.species or "fish"
    if one.share is None or one.interval is None or one.of is None:
        return f"{one.dead} {name} dead since {since}; of how many is not known"
    low, high = 100.0 * one.interval.low, 100.0 * one.interval.high
    return (
        f"{one.dead} of {one.of} {name} dead since {since}: {100.0 * one.share:.1f} % "
        f"({100.0 * one.confidence:g} %: {low:.1f} to {high:.1f} %)"
    )


def _left(line: StockLine, today: date) -> str:
    """A line of the ledger with what is not nothing; the whole of it stands with the words."""
    out, into = ("+", "−") if line.back else ("−", "+")
    said = f"{line.fish} {line.species or 'fish'} left: {line.counted} {line.how or 'counted'} "
    said += said_date(line.counted_on, today)
    for sign, number, what in (
        (out, line.died, "died"), (out, line.removed, "removed"), (into, line.added, "added")
    ):  # fmt: skip
        said += f" {sign} {number} {what}" if number else ""
    return said


def _many(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def left_said(page: LossPage) -> str:
    """How many fish are left, for the head of the screen.

    Parameters
    ----------
    page
        The deaths of the pond.
    """
    total = page.stock.total
    return "stock not known" if total is None else f"{total:,} fish left"


def death_rows(page: LossPage) -> list[Row]:
    """Entries of dead fish, head counts and older events, newest first.

    Parameters
    ----------
    page
        The deaths of the pond.
    """
    entries = [(one.on_day, _death_row(page, one)) for one in page.entries]
    entries += [(one.on_day, _count_row(page, one)) for one in page.counts]
    entries += [(one.on_day, _event_row(page, one)) for one in page.events]
    entries.sort(key=lambda entry: entry[0], reverse=True)
    return [row for _, row in entries]


def _who(page: LossPage, by: UUID) -> str:
    return short_name(page.people.get(by, ""))


def _event_row(page: LossPage, one: PondEvent) -> Row:
    text = Text()
    if one.struck_at is not None:
        text.append("struck  ", "quiet")
    many = "fish" if one.amount is None else f"{one.amount:g} fish"
    text.append(f"{many} died, by an event")
    if one.note:
        text.append(f"  {one_line(one.note)}", "quiet")
    who = _who(page, one.created_by)
    return Row(DeathKey("event", one.id), (said_when(one.on_day, None, page.today), text, who))


def _death_row(page: LossPage, one: DeathCount) -> Row:
    text = Text()
    if one.struck_at is not None:
        text.append("struck  ", "quiet")
    text.append(said_deaths(one))
    if one.struck_at is not None:
        text.append(f"  ({one_line(one.struck_why)})", "quiet")
    elif one.note:
        text.append(f"  {one_line(one.note)}", "quiet")
    return Row(
        DeathKey("deaths", one.id),
        (said_when(one.on_day, None, page.today), text, _who(page, one.created_by)),
    )


def said_deaths(one: DeathCount) -> str:
    """An entry of dead fish in words, such as `4 koi dead, 30-45 cm; eyes sunken`.

    Parameters
    ----------
    one
        The entry.
    """
    from store.facts.signs import signs

    if not one.dead:
        kind = f" among the {one_line(one.species)}" if one.species else ""
        return f"looked, none dead{kind}"
    said = f"{one.dead} {one_line(one.species) or 'fish'} dead"
    size = said_size(one.length_low_cm, one.length_high_cm)
    if size:
        said += f", {size} cm"
    if one.signs:
        known = signs()
        said += "; " + ", ".join(known[code].words if code in known else code for code in one.signs)
    return said


def said_size(low_cm: float | None, high_cm: float | None) -> str:
    """A length or a range of lengths without its unit, as it is typed.

    Parameters
    ----------
    low_cm, high_cm
        The smallest and the largest [cm]; None where nobody measured.

    Examples
    --------
    >>> said_size(30.0, 45.5), said_size(30.0, 30.0), said_size(None, None)
    ('30-45.5', '30', '')
    """
    ends = [f"{one:g}" for one in (low_cm, high_cm) if one is not None]
    return ends[0] if len(set(ends)) == 1 else "-".join(ends)


def _count_row(page: LossPage, one: HeadCount) -> Row:
    text = Text()
    if one.struck_at is not None:
        text.append("struck  ", "quiet")
    text.append(f"{one.fish} {one_line(one.species) or 'fish'} there, {one.how}")
    if one.struck_at is not None:
        text.append(f"  ({one_line(one.struck_why)})", "quiet")
    elif one.note:
        text.append(f"  {one_line(one.note)}", "quiet")
    return Row(
        DeathKey("count", one.id),
        (said_when(one.on_day, None, page.today), text, _who(page, one.created_by)),
    )


def chart_data(page: LossPage) -> ChartData | None:
    """What the widget draws: the dead of each day that was looked at, and the share of all.

    Parameters
    ----------
    page
        The deaths of the pond.
    """
    if not page.days or not any(one.dead for one in page.days):
        return None
    at = [datetime.combine(one.day, time(12)) for one in page.days]
    series = [Series("dead a day", "fish", tuple(at), tuple(float(o.dead) for o in page.days), 0)]
    shares = [one.percent for one in page.days]
    if all(share is not None for share in shares):
        values = tuple(share or 0.0 for share in shares)
        series.append(Series("dead since it began", "% of all", tuple(at), values, 1))
    return ChartData(
        series=tuple(series),
        start=at[0] - timedelta(days=1),
        end=datetime.combine(page.today, time(23)),
        gap_days=_UNBROKEN_DAYS,
    )


def told_parts(page: LossPage) -> list[tuple[str, str]]:
    """Everything there is to read about the deaths of a pond: a voice and a text each.

    Parameters
    ----------
    page
        The deaths of the pond.

    Returns
    -------
    list of tuple
        `head` for a heading, `stop` for what must be read first, `text` and `quiet` for the rest.
    """
    from store.exams.losses import advice
    from store.facts.hazards import hazards
    from store.watch.suspected import windows_said

    parts: list[tuple[str, str]] = []
    for one in page.suspicions:
        parts.append(("head", one.head))
        parts += [("stop", saying.says) for saying in one.stop]
        parts += [("text", f"For it: {said}") for said in one.found.for_it]
        parts += [("text", f"Against it: {said}") for said in one.found.against]
        if one.found.spans is not None:
            spans = one.found.spans
            parts.append(("quiet", f"From contact to deaths: {spans.said} ({spans.source})."))
        hazard = hazards()[one.found.hazard]
        parts.append(("quiet", f"Published windows: {windows_said(hazard)}."))
        parts.append(("text", "Contacts of the last 60 days:"))
        parts += [("text", f"  {contact.said}") for contact in one.contacts]
        if not one.contacts:
            parts.append(("text", "  none is entered: ask for fish that came, left or were lent"))
    for mortality in (page.whole, *page.kinds):
        if mortality is not None:
            parts += _mortality_parts(mortality)
    parts.append(("head", "How many are left"))
    parts += [
        ("text", f"{line.species or 'All fish'}: {line.arithmetic}") for line in page.stock.lines
    ]
    parts += [("text", said) for said in page.stock.remarks]
    for head, them in advice():
        parts.append(("head", head))
        parts += [("text", saying.says) for saying in them]
        parts.append(("quiet", _standing([saying.standing for saying in them])))
    # The remarks that hold for every kind of fish are said once.
    return [one for place, one in enumerate(parts) if one[0] == "head" or one not in parts[:place]]


def _mortality_parts(one: Mortality) -> list[tuple[str, str]]:
    from store.exams.beside import beside

    parts = [("head", one.species or "All fish"), ("text", one.said), ("quiet", one.arithmetic)]
    parts.append(("quiet", f"Of: {one.denominator}."))
    parts += [("text", said) for said in one.remarks]
    parts.append(("quiet", one.source))
    if not one.species:
        parts.append(("head", "Beside what others call much"))
        for stick in beside(one):
            reached = {True: "reached: ", False: "not reached: ", None: ""}[stick.reached]
            parts.append(("text", f"{reached}{stick.said}"))
            parts.append(("quiet", f"  {stick.source}"))
    return parts


def _standing(standings: list[str]) -> str:
    kinds = list(dict.fromkeys(standings))
    if len(kinds) == 1:
        return f"{kinds[0].capitalize()}."
    return f"{' and '.join(kinds).capitalize()}; each with its source among the facts."
