"""The pond itself in its history: its data, what speaks today, events, volumes, visits."""

from __future__ import annotations

from collections.abc import Iterator

from store.book.events import EVENT_KINDS, events
from store.book.visits import visits_of
from store.book.volumes import estimates
from store.courses.kept.morning import watch_pond
from store.courses.kept.withdrawal_of import withdrawal_of
from store.courses.kept.written_withdrawal import GIVEN, Beside
from store.facts.hazards import hazards
from store.reports.history_paper import HistoryTable
from store.reports.kept.history_span import Span
from store.text import day_said
from store.water.given import figures


def about(span: Span) -> Iterator[str]:
    """The pond, as it is now.

    Parameters
    ----------
    span
        The pond and the days.
    """
    pond, site = span.here.pond, span.here.site
    volume = "not known"
    if pond.volume_l is not None:
        volume = f"{pond.volume_l:,.0f} L"
        if pond.volume_low_l is not None and pond.volume_high_l is not None:
            volume += f" ({pond.volume_low_l:,.0f} to {pond.volume_high_l:,.0f} L)"
        method = pond.volume_method.removeprefix("by ")
        volume += f", by {method}" if method else ""
    yield f"Volume: {volume}"
    yield f"Use: {pond.use}"
    depth = "" if pond.depth_m is None else f"{figures(pond.depth_m)} m"
    for name, said in (
        ("Fish", pond.species), ("Stock", pond.stock_notes), ("Depth", depth),
        ("Lining", pond.lining), ("Filter", pond.filter), ("UV", pond.uv),
        ("Water from", pond.source_water or site.water_supply), ("Town", site.town),
    ):  # fmt: skip
        if said.strip():
            yield f"{name}: {said}"
    if span.here.struck:
        yield "State: struck through in the practice's records"
        return
    eating = withdrawal_of(span.book, span.pond, span.now)
    yield f"Eating: {eating.says}"


def concerns(span: Span) -> HistoryTable:
    """What the rules say today; a temperature window is no finding and stands apart.

    Parameters
    ----------
    span
        The pond and the days.
    """
    rows: list[tuple[str, ...]] = []
    windows: list[str] = []
    watched = () if span.here.struck else watch_pond(span.book, span.pond, span.now).concerns
    for one in watched:
        if one.rule.startswith("window_"):
            name = one.title.partition(":")[0]
            windows.append(f"{name} (by estimate)" if one.by_estimate else name)
            continue
        since = "" if one.since is None else day_said(one.since)
        own = one.standing.endswith("'s own")
        rests_on = "set by the practice" if own else one.source
        rows.append((one.level, one.title, one.what, since, rests_on))
    words = (
        f"Temperature windows that the water is in, which are no findings: "
        f"{', '.join(windows)}.",
    ) if windows else ()  # fmt: skip
    return HistoryTable(
        "What the alert rules say today", ("Level", "Rule", "What", "Since", "Rests on"),
        tuple(rows), words=words,
    )  # fmt: skip


def happened(span: Span) -> HistoryTable:
    """What else happened.

    Parameters
    ----------
    span
        The pond and the days.
    """
    rows = []
    for one in reversed(events(span.book, span.pond, since=span.first)):
        if one.on_day > span.last or (one.kind == "note" and not span.notes):
            continue
        known = EVENT_KINDS.get(one.kind)
        what = one.kind if known is None else known.label
        if one.hazard and one.hazard in hazards():
            what += f": {hazards()[one.hazard].plain_name}"
        if one.kind == GIVEN:
            what += f": {Beside(one.on_day, one.note).name}"
        lasts = known is not None and known.lasts
        until = "" if one.until_day is None else day_said(one.until_day)
        amount = "" if one.amount is None else f"{figures(one.amount, 4)} {one.unit}"
        beside = (one.note,) if span.notes else ()
        until = until or ("still" if lasts else "")
        rows.append((day_said(one.on_day), until, what, amount, *beside))
    note = ("Note",) if span.notes else ()
    return HistoryTable("What happened", ("Day", "Until", "What", "Amount", *note), tuple(rows))


def volumes(span: Span) -> HistoryTable:
    """How the volume was found, all of it: doses rest on it, whenever it was measured.

    Parameters
    ----------
    span
        The pond and the days.
    """
    in_force = span.here.pond.volume_estimate_id
    rows = [
        (day_said(one.measured_on), one.method, f"{one.litres:,.0f} L",
         f"{one.low_l:,.0f} to {one.high_l:,.0f} L", "in force" if one.id == in_force else "",
         one.workings)
        for one in reversed(estimates(span.book, span.pond))
    ]  # fmt: skip
    columns = ("Day", "Method", "Volume", "Between", "Now", "Workings")
    return HistoryTable("Volume", columns, tuple(rows), frozenset((2, 3)))


def visits(span: Span) -> HistoryTable:
    """Visits that took place.

    Parameters
    ----------
    span
        The pond and the days.
    """
    rows = [
        (day_said(one.on_day), one.kind, span.people.get(one.staff_id, "")
         if one.staff_id else "", *((one.note,) if span.notes else ()))
        for one in reversed(visits_of(span.book, span.pond))
        if one.state == "done" and span.within(one.on_day)
    ]  # fmt: skip
    note = ("Note",) if span.notes else ()
    return HistoryTable("Visits", ("Day", "What for", "By", *note), tuple(rows))
