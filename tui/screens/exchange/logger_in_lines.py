"""A logger's file in words: the lines of its page, what the strip tells of each, its chart."""

from __future__ import annotations

from collections.abc import Hashable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from rich.text import Text

from tui.screens.exchange.logger_in_work import Looked, Open, Said, here
from tui.widgets.chart_data import ChartData, Mark, Series
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.exchange.logger.left import LeftOut
    from store.exchange.logger.overview import Gone, SeriesSeen
    from store.exchange.logger.read import Progress

COLUMNS = (
    Column("what", "", 8), Column("n", "", 10, align="right"), Column("said", "", 30, weight=1)
)  # fmt: skip
SETTINGS = ("pond", "column", "dates", "clock", "unit", "lifted")
ORDERS = {
    "dmy": "day before month", "mdy": "month before day", "ymd": "the year first, or in words",
}  # fmt: skip
_KEPT = frozenset({"jump", "backward", "noon", "doubled", "other"})
_SAID = ", as was said"
_MOST_MARKS, _MOST_OF_A_WORD = 8, 3
_FIRST = ("gap", "lifted out", "no probe", "impossible", "bad", "jump", "clock back")
"""What is marked before anything else."""
_BAR = 20
_STYLES = {"ask": "watch", "left": "", "kept": "quiet", "refused": "watch", "told": "quiet"}


def rows_of(looked: Looked, said: Said) -> list[Row]:
    """What is asked, the series, what is left out, then what the file was taken for."""
    rows = [_row(("ask", one.field), "ask", "", one.sentence) for one in looked.open]
    rows += [
        _row(("series", at), "series", f"{one.n:,}", said_series(one))
        for at, one in enumerate(looked.series)
    ]
    rows += [
        _row(("left", one.reason), word_of(one), f"{one.n:,}", words_of(one))
        for one in groups_of(looked)
    ]
    rows += [
        _row(("set", field), field, "", text) for field, text in settings_of(looked, said).items()
    ]
    rows.append(_row(("file", ""), "file", "", said_file(looked)))
    return rows


def _row(key: Hashable, what: str, n: str, said: str) -> Row:
    style = _STYLES.get(what, "")
    first = Text.assemble((what, style), end="") if style else Text(what, end="")
    return Row(key, (first, n, one_line(said)))


def groups_of(looked: Looked) -> tuple[LeftOut, ...]:
    """What was left out or doubted, by reason."""
    return () if looked.planned is None else looked.planned.left


def word_of(one: LeftOut) -> str:
    """Whether a group is refused, left out, told of, or kept all the same."""
    if one.reason == "refused":
        return "refused"
    if one.reason in ("gap", "event"):
        return "told"
    return "kept" if one.reason in _KEPT else "left out"


def words_of(one: LeftOut) -> str:
    """The reason of a group in a few words."""
    from store.exchange.logger.left import WORDS

    return "gaps: no value for more than three steps" if one.reason == "gap" else WORDS[one.reason]


def said_series(one: SeriesSeen) -> str:
    """Range, median and interval of a series."""
    d, unit = one.decimals, f" {one.unit}" if one.unit else ""
    every = f", every {said_step(one.step_s)}" if one.step_s else ""
    return (
        f"{one.label} {one.low:.{d}f} to {one.high:.{d}f}{unit}, median {one.median:.{d}f}{every}"
    )


def said_step(seconds: float) -> str:
    """An interval in its largest unit.

    Examples
    --------
    >>> said_step(600), said_step(90), said_step(86400)
    ('10 min', '1.5 min', '1 d')
    """
    for unit, length in (("d", 86_400), ("h", 3600), ("min", 60)):
        if seconds >= length:
            return f"{seconds / length:.3g} {unit}"
    return f"{seconds:.3g} s"


def settings_of(looked: Looked, said: Said) -> dict[str, str]:
    """What the file was taken for, by what can be changed."""
    planned = looked.planned
    found = {"pond": looked.pond}
    if planned is None:
        found["column"] = f"“{said.column}”, as was said" if said.column else "by the headings"
        found["dates"] = f"{ORDERS[said.order]}, as was said" if said.order else "not clear yet"
        found["clock"] = _clock(looked, said)
        found["unit"] = f"{said.unit}, as was said" if said.unit else "by the headings"
        return found
    columns = planned.how.roles.columns
    titles = "; ".join(f"“{one.title}”" for one in columns)
    found["column"] = f"{titles}, of {len(looked.about.columns)}{_SAID if said.column else ''}"
    found["dates"] = ORDERS[planned.how.order] + (", as was said" if said.order else "")
    found["clock"] = _clock(looked, said)
    found["unit"] = "; ".join(
        f"{one.unit or _own_unit(one.parameter)}"
        + (_SAID if said.unit else ", by the heading" if one.unit else ", supposed: none is named")
        for one in columns
    )
    if any(one.parameter == "temperature_c" for one in columns):
        n = planned.tally.n.get("lifted", 0)
        out = (
            "no jump out of the water seen" if not n else f"{n:,} values out of the water left out"
        )
        found["lifted"] = "kept like the others, as was said" if said.lifted == "keep" else out
    return found


def _own_unit(parameter: str) -> str:
    from store.water.parameters import PARAMETERS

    return PARAMETERS[parameter].shown_unit or "no unit"


def _clock(looked: Looked, said: Said) -> str:
    if said.clock:
        return f"{said.clock}, as was said"
    if looked.about.clock:
        return f"{looked.about.clock}, as the file says"
    return f"local time, {looked.zone}: the file names no clock"


def said_file(looked: Looked) -> str:
    """What the file says of itself, in one line."""
    about = looked.about
    serial = f"serial {about.serial}" if about.serial else "names no serial number"
    titles = f"{about.titles} title lines" if about.titles != 1 else "1 title line"
    return f"{serial}, {len(about.columns)} columns by {about.separator}, {titles}"


def state_said(looked: Looked) -> str:
    """What would be saved and what is open, in one line."""
    if looked.planned is None:
        return "Nothing can be saved before what is asked is said: enter says it."
    planned = looked.planned
    whole = sum(one.n for one in looked.series)
    parts = [f"{whole - planned.plan.already:,} values {'wait' if looked.open else 'to save'}"]
    if planned.plan.already:
        parts.append(f"{planned.plan.already:,} in the book already")
    if left := sum(one.n for one in planned.left if word_of(one) == "left out"):
        parts.append(f"{left:,} left out")
    if planned.refused_n:
        rows = "row" if planned.refused_n == 1 else "rows"
        parts.append(f"{planned.refused_n:,} {rows} refused")
    if looked.open:
        parts.append(f"{len(looked.open)} asked")
    return "   ".join(parts)


def before_saving(looked: Looked) -> str:
    """What saving will do, before it is done."""
    lines = [state_said(looked), *(capital(said_series(one)) for one in looked.series)]
    if groups_of(looked):
        lines.append("What is left out, doubted or refused is written beside the file")
    lines.append("Values of a logger cannot be struck through afterwards: look whose they are")
    return "\n".join(f"{line}." for line in lines)


def capital(text: str) -> str:
    """A text with a capital letter at its beginning, where it is not pH."""
    return text if text.startswith("pH") else f"{text[:1].upper()}{text[1:]}"


def progress_said(progress: Progress, doing: str) -> str:
    """A bar, how much is done, and how to stop.

    Parameters
    ----------
    progress
        How far it is.
    doing
        `reading` or `saving`; what can be stopped.
    """
    share = min(1.0, progress.done / progress.whole) if progress.whole else 1.0
    full = round(_BAR * share)
    bar = "█" * full + "░" * (_BAR - full)
    rest = "esc stops it, and nothing is saved" if doing == "saving" else "esc goes back"
    return f"{progress.stage} {bar} {share:4.0%}  {progress.rows:,} rows   {rest}"


def told_of(looked: Looked, key: object) -> tuple[str, str]:
    """What the strip says of a line: what it is, and what to do."""
    kind, of = key if isinstance(key, tuple) and len(key) == 2 else ("", "")
    if kind == "ask":
        one = next(each for each in looked.open if each.field == of)
        return one.sentence, "Next: enter says it."
    if kind == "series" and isinstance(of, int):
        series = looked.series[of]
        return (
            f"{series.n:,} values from {said_at(series.first)} to {said_at(series.last)}; "
            f"{said_series(series)}.",
            "The chart shows it; dim is what was left out. Enter tells more.",
        )
    if kind == "left":
        group = next(each for each in groups_of(looked) if each.reason == of)
        first = first_of(group)
        where = f" First: {first[0]}" if first else ""
        return f"{sentence_of(group)}{where}", _LEFT_NEXT[word_of(group)]
    if kind == "set":
        return _ABOUT[str(of)], "Enter changes it."
    return f"{said_file(looked)}.", "Enter shows every column and what it was taken for."


_LEFT_NEXT = {
    "refused": "Saving writes them beside the file, to be corrected and brought in from there.",
    "left out": "Enter shows the first; saving lists every one in a file beside it.",
    "told": "Enter shows the first; saving lists every one in a file beside it.",
    "kept": "They are saved; saving lists every one in a file beside it.",
}  # fmt: skip
_ABOUT = {
    "pond": "The pond in which the logger hung.",
    "column": "The columns whose values are read.",
    "dates": "In which order the file writes day and month; a day above 12 tells.",
    "clock": "How the logger's clock ran. Where it matters and the file is silent, it is asked.",
    "unit": "In what the values stand. They are kept in the unit of the book.",
    "lifted": "A jump to the warmth of the air and back, as when it is lifted out of the water.",
}  # fmt: skip


def first_of(one: LeftOut) -> list[str]:
    """The first rows of a group, each with its line; of a refused one the reason."""
    return [
        f"{f'line {row.line}: ' if row.line else ''}"
        f"{here(row.text) if one.reason == 'refused' else row.text}"
        for row in one.first
    ]


def sentence_of(one: LeftOut) -> str:
    """A group's count and reason as a sentence."""
    return here(one.sentence).rstrip(".") + "."


def said_at(at: datetime) -> str:
    """A time on the practice's clock."""
    from store.text import day_said

    return f"{day_said(at.date())} {at:%H:%M}"


def everything_of(looked: Looked) -> str:
    """All that there is to say of the file, for a sheet to read."""
    about = looked.about
    lines = [
        f"Serial number: {about.serial or 'none named'}",
        f"Clock: {about.clock or 'none named'}",
    ]
    lines.append(
        f"{about.size_bytes / 1e6:,.1f} MB, {about.encoding}, columns by {about.separator}"
    )
    lines += [
        f"Column “{one.heading}”: {one.taken_for}"
        + (f", such as {one.example}" if one.example else "")
        for one in about.columns
    ]
    if looked.planned is not None:
        lines.append("")
        lines += [said for one in looked.planned.plan.told if (said := here(one))]
    return "\n".join(lines)


def chart_of(one: SeriesSeen | None) -> ChartData | None:
    """The chart of a series: what is kept as a line, what was left out dim, and where it was."""
    if one is None:
        return None
    end = one.end if one.end > one.start else one.start + timedelta(minutes=1)
    return ChartData(
        (_series(one, one.points),), one.start, end,
        marks=tuple(
            Mark(gone.at, gone.word if gone.n == 1 else f"{gone.word} {gone.n:,}")
            for gone in sorted(_marked(one), key=lambda gone: gone.at)
        ),
        forecast=_series(one, one.doubted) if one.doubted else None,
        gap_days=one.gap_days,
    )  # fmt: skip


def _marked(one: SeriesSeen) -> list[Gone]:
    """What is marked: the largest of every reason, the weighty reasons first."""
    there = {gone.word for gone in one.gone}
    # Doubles and empty cells are marked where there is nothing else: their names would hide others.
    words = [word for word in _FIRST if word in there] or sorted(there)
    # Where values were left out there is a gap as well: the reason says more.
    near = (one.end - one.start) / 40
    others = [gone.at for gone in one.gone if gone.word in _FIRST[1:]]
    found: list[Gone] = []
    for word in words:
        of_word = sorted(
            (
                gone
                for gone in one.gone
                if gone.word == word
                and (word != "gap" or all(abs(gone.at - at) > near for at in others))
            ),
            key=lambda each: -each.n,
        )
        found += of_word[:_MOST_OF_A_WORD]
    return found[:_MOST_MARKS]


def _series(one: SeriesSeen, points: tuple[tuple[datetime, float], ...]) -> Series:
    return Series(
        capital(one.label),
        one.unit,
        tuple(at for at, _ in points),
        tuple(value for _, value in points),
        one.decimals,
    )


def open_of(looked: Looked, field: str) -> Open | None:
    """What is asked of a setting, if anything is."""
    return next((one for one in looked.open if one.field == field), None)
