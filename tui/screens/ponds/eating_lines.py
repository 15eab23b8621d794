"""The lines of the page on eating: the answer, who declared it, the agents, and their chart."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from rich.text import Text
from textual.content import Content

from store.text import day_said
from store.water.given import figures
from tui.backing import said_backing
from tui.said import said_date, said_since
from tui.widgets.chart_data import ChartData, Limit, Mark, Series
from tui.widgets.grid import Row
from tui.widgets.literal import one_line, wrapped
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.courses.food.needs import Met, Need
    from store.courses.kept.likely_free import LikelyFree
    from store.courses.kept.withdrawal_of import AgentWithdrawal, PondWithdrawal

USES = {
    "ornamental": "ornamental",
    "food": "FOOD FISH",
    "not asked": "not asked",
}
_NEVER_DAYS = 10_000.0
"""The sum is reckoned throughout: it has no gaps."""


@dataclass(frozen=True, slots=True)
class EatingKey:
    """One condition of one agent, by their places."""

    agent: int
    need: int = 0


@dataclass(frozen=True, slots=True)
class WordsKey:
    """What was written down beside the courses, by its place: medicines without an end first."""

    place: int


def said_declared(found: PondWithdrawal, zone: ZoneInfo) -> str:
    """What the fish are, who said so, and who wrote it down when."""
    use = USES[found.use]
    if found.declared is None:
        return f"{use} · nobody has declared what these fish are: d"
    by = one_line(found.declared.by_name)
    on = said_since(found.declared.at.astimezone(zone).date(), found.today)
    who = one_line(found.declared.said) or "nobody is named who said so: d"
    return f"{use} · {who} · written down by {by}, {on}"


def answer_lines(
    found: PondWithdrawal, width: int, most: int, likely: LikelyFree | None = None
) -> Content:
    """The answer, then what is likely by estimate, then what else must be known.

    Parameters
    ----------
    found
        The pond.
    width
        Cells of a line.
    most
        So many lines, besides those of the estimate.
    likely
        The days by estimate, dimmer than the answer; None says nothing.
    """
    style = "bold $level-act" if found.runs or found.state == "asked" else "bold"
    lines = [(one, style) for one in wrapped(said_answer(found), width)]
    if likely is not None:
        about = [(one, "$quiet") for one in wrapped(one_line(likely.says), width)]
        lines, most = lines + about, most + len(about)
    for text in (found.asks, *found.remarks):
        lines += [(one, "") for one in wrapped(one_line(text), width)] if text else []
    return Content("\n").join(Content.styled(text, how) for text, how in lines[:most])


def likely_in_full(likely: LikelyFree | None) -> str:
    """What is likely by estimate and what that rests on; empty where there is no estimate."""
    return "" if likely is None else one_line(" ".join((likely.says, *likely.rests_on)))


def said_answer(found: PondWithdrawal) -> str:
    """The cautious day first, then the one that warmer water may bring."""
    early = ""  # an answer ends with its stop
    if found.early is not None and found.late is not None and found.early < found.late:
        early = f" (in warmer water {day_said(found.early)})"
    return f"{found.says[:-1]}{early}."


def eating_rows(found: PondWithdrawal) -> list[Row]:
    """One line for each condition of each agent, the longest first."""
    rows = []
    for place, one in enumerate(found.agents):
        if not one.met:
            last = said_date(one.given.last_day, found.today)
            rows.append(Row(EatingKey(place), (one_line(one.given.name), last, "", "", "", "")))
        rows += [_row(found, place, number) for number in range(len(one.met))]
    return [*rows, *_words_rows(found)]


def _words_rows(found: PondWithdrawal) -> list[Row]:
    """What was written down beside the courses: medicines without an end, then withdrawals."""
    cells: list[tuple[str, date, str | Text]] = [
        (one.name, one.on_day, Text("no day", style="act")) for one in found.beside
    ]
    for one in found.written:
        free = one.free_from
        told: str | Text = Text("no day", style="act")
        if free is not None:
            told = said_date(free, found.today) + ("" if one.runs(found.today) else ", over")
        cells.append((one.note.strip() or "as written down", one.on_day, told))
    return [
        Row(
            WordsKey(place),
            (one_line(name), said_date(day, found.today),
             "" if place < len(found.beside) else "written", "", told, ""),
        )
        for place, (name, day, told) in enumerate(cells)
    ]  # fmt: skip


def _row(found: PondWithdrawal, place: int, number: int) -> Row:
    one = found.agents[place]
    got = one.met[number]
    kind = got.need.kind
    must = so_far = ""
    if got.need.amount is not None:
        unit = "dd" if kind == "degree-days" else "d"
        must, so_far = f"{figures(got.need.amount)} {unit}", f"{got.summed:.0f} {unit}"
    if kind == "never":
        free: str | Text = Text("never", style="act")
    elif kind == "not published":
        free = Text("vet decides", style="watch" if got.need.binds else "quiet")
    elif got.late is None:
        free = Text("no day", style="act")
    else:
        free = said_date(got.late, found.today) + (", over" if got.over else "")
    early = "" if got.early is None or got.over else said_date(got.early, found.today)
    return Row(
        EatingKey(place, number),
        (one_line(one.given.name), said_date(one.given.last_day, found.today), must, so_far, free,
         early),
    )  # fmt: skip


def told(found: PondWithdrawal, key: EatingKey | WordsKey) -> Told:
    """Where the figure comes from, how it was summed, and what to mind."""
    if isinstance(key, WordsKey):
        return _told_words(found, key.place)
    one = found.agents[key.agent]
    name = one_line(one.given.name)
    doses = "1 dose" if one.given.doses == 1 else f"{one.given.doses} doses"
    last = f"last {'fed' if one.given.fed else 'given'} {day_said(one.given.last_day)}"
    if not one.met:
        return Told(f"{name}: {doses}, {last}", "", "", found.says)
    got = one.met[key.need]
    minded = [*got.need.remarks]
    if got.need.kind == "degree-days":
        minded = [*one.water.said, *minded]
    return Told(
        f"{name}: {doses}, {last}; {one_line(got.need.rule)}",
        one_line(got.arithmetic),
        _backing(got.need),
        one_line(" ".join(minded)),
    )


def _told_words(found: PondWithdrawal, place: int) -> Told:
    if place < len(found.beside):
        one = found.beside[place]
        return Told(
            f"{one_line(one.name)}, noted on {day_said(one.on_day)} beside the courses",
            one_line(one.note), "no end of a withdrawal is written, so no day",
            "See its label, and note “fish not for eating” from that day until the last one (n on "
            "the pond's page).",
        )  # fmt: skip
    written = found.written[place - len(found.beside)]
    return Told(
        one_line(written.said), "", "as it was written down: nothing is reckoned of it",
        "Of several days the latest holds.",
    )  # fmt: skip


def _backing(need: Need) -> str:
    if need.source == need.rule:
        return f"As the practice entered it: {one_line(need.source)}"
    return said_backing(one_line(need.source), need.standing)


def chart_data(one: AgentWithdrawal, got: Met) -> ChartData | None:
    """The sum as it grows against what must be reached, dimmer what colder water would bring.

    Parameters
    ----------
    one
        The agent.
    got
        The condition under the cursor; only degree-days are drawn.
    """
    drawn = one.sums
    if drawn is None or got.need.kind != "degree-days" or got.need.amount is None:
        return None
    if len(drawn.days) < 2:
        return None
    times = tuple(datetime.combine(day, time()) for day in drawn.days)
    ahead = drawn.known < len(times)
    known = Series("degree-days", "dd", times[: drawn.known], drawn.values[: drawn.known], 0)
    dim = slice(drawn.known - 1, None)
    return ChartData(
        series=(known,),
        start=times[0],
        end=times[-1],
        limits=(Limit(got.need.amount, f"must reach {figures(got.need.amount)}"),),
        # Without colour the mark of today parts what is known from what is expected.
        marks=(Mark(times[0], "last dose"), *((Mark(times[drawn.known - 1], "today"),) * ahead)),
        forecast=Series("in colder water", "dd", times[dim], drawn.values[dim], 0)
        if ahead
        else None,
        gap_days=_NEVER_DAYS,
    )
