"""What a chart of one pond shows: series over time with limits, windows and events."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from math import inf
from typing import NamedTuple
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.columns import milliseconds
from store.book.events import EVENT_KINDS
from store.book.tables import table
from store.errors import BadInput
from store.facts.hazards import hazards
from store.watch.chart_ahead import EstimatedSeries
from store.watch.judge import judge
from store.watch.kinds import KINDS
from store.watch.kinds.ammonia import fine
from store.watch.kinds.rate import NO_KIT
from store.watch.levels import Level
from store.watch.look import EstimatedOf, look
from store.watch.reckoned import DERIVED
from store.watch.rests import read_rests
from store.watch.rule import Rule
from store.watch.rulebook import read_rulebook
from store.watch.window_settings import window_of
from store.water.criteria import acute_tan_mg_l, chronic_tan_mg_l
from store.water.kits_used import KitUsed, kits_used
from store.water.molar import NH3_PER_N
from store.water.parameters import PARAMETERS

MOST_BANDS = 3
"""More windows than this hide the readings they are drawn behind."""

_LIMITED = ("level", "ammonia", "oxygen", "co2", "nitrite")
"""Kinds of rule whose numbers are lines on the scale of a series."""

_NOON = time(12)


class Named(NamedTuple):
    """What a series is called, in which unit it is drawn, and with how many digits."""

    label: str
    unit: str
    decimals: int
    per_shown: float = 1.0


_RECKONED: Mapping[str, Named] = {
    "nh3_n_mg_l": Named("un-ionised ammonia", "mg/L NH3-N", 3),
    "co2_mg_l": Named("free CO2", "mg/L", 1),
    "oxygen_saturation_percent": Named("oxygen saturation, reckoned", "%", 0),
    "chloride_to_nitrite": Named("chloride to nitrite", ": 1", 1),
    "acute_tan_mg_l": Named("acute criterion of total ammonia", "mg/L N", 2),
    "chronic_tan_mg_l": Named("chronic criterion of total ammonia", "mg/L N", 2),
}

_RECKON: Mapping[str, Callable[[Mapping[str, float], float], float | None]] = {
    **DERIVED,
    "acute_tan_mg_l": lambda values, _: acute_tan_mg_l(values["ph"], values["temperature_c"]),
    "chronic_tan_mg_l": lambda values, _: chronic_tan_mg_l(values["ph"], values["temperature_c"]),
}

CHART_CODES: tuple[str, ...] = (*PARAMETERS, *_RECKONED)
"""Every code that can be charted: what is measured, then what is reckoned from it."""


@dataclass(frozen=True, slots=True)
class SeriesLimit:
    """A limit in force, in the unit in which its series is shown."""

    value: float
    label: str
    level: Level
    rule: str


@dataclass(frozen=True, slots=True)
class SeriesBand:
    """The temperature window of a hazard; an open end reaches beyond any water [°C]."""

    low: float
    high: float
    label: str
    rule: str


@dataclass(frozen=True, slots=True)
class ChartSeries:
    """One measured or reckoned series, old to new, in the unit in which it is shown.

    Times are the practice's local time without a zone, so that the days of the axis are its days.
    """

    code: str
    label: str
    unit: str
    decimals: int
    times: tuple[datetime, ...]
    values: tuple[float, ...]
    limits: tuple[SeriesLimit, ...]
    bands: tuple[SeriesBand, ...]
    breaks: tuple[int, ...] = ()
    """Places of values that begin with another kit or batch: no line is drawn to them from the
    value before."""


@dataclass(frozen=True, slots=True)
class ChartEvent:
    """Something that happened, at its local time, or at noon of its day."""

    time: datetime
    kind: str
    label: str


@dataclass(frozen=True, slots=True)
class PondChart:
    """The series asked for that have a value in the stretch, in the order of `CHART_CODES`."""

    pond: UUID
    start: datetime
    end: datetime
    series: tuple[ChartSeries, ...]
    events: tuple[ChartEvent, ...]
    estimated: EstimatedSeries | None = None
    """The temperature of days without a reading; only where it was asked for."""


def pond_series(
    book: Book,
    pond: UUID,
    codes: Sequence[str],
    start: datetime,
    end: datetime,
    *,
    now: datetime,
    estimated: EstimatedOf | None = None,
) -> PondChart:
    """The series of a pond with the limits in force, the windows spoken of, and the events.

    A day for which a logger has a mean is drawn with that mean at noon instead of its tests. Values
    are reckoned from the readings of one test, never across tests.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    codes
        Of `CHART_CODES`.
    start, end
        The stretch of time, aware instants.
    now
        The present instant, with a time zone: for the windows that hold at the pond today.
    estimated
        As of `look`: windows that speak by estimate are bands as well.

    Returns
    -------
    PondChart
        A code without any value in the stretch is left out.

    Raises
    ------
    BadInput
        An unknown code, or a stretch that does not end after its start.
    NotFound
        No such pond.
    """
    unknown = [code for code in codes if code not in CHART_CODES]
    if unknown:
        raise BadInput(f"“{unknown[0]}” is nothing that can be charted.")
    if not start < end:
        raise BadInput("A chart needs an end after its start.")
    zone = book.zone
    with book.reading() as connection:
        caseload = look(connection, now, zone, pond=pond, estimated=estimated)
        rules = read_rulebook(connection, zone)
        rests = read_rests(connection, caseload.today, pond).get(pond)
        tests = _tests(connection, pond, start, end)
        kits = kits_used(connection, pond, start).get(pond, {})
        logged = _logger_means(connection, pond, start, end, zone)
        events = _events(connection, pond, start, end, zone)
    seen = caseload.seen[pond]
    verdict = judge(rules.set_of(pond), seen, caseload.today, rests)
    windows = [rule for rule, _ in verdict.speaking]
    windows += [rule for rule, _, _ in verdict.at_rest]
    windows += [rule for rule, _ in verdict.notes]
    bands = tuple(_band(rule) for rule in windows if rule.kind == "window")[:MOST_BANDS]
    in_force = [rule for rule in rules.of(pond) if rule.enabled]
    found = []
    for code in CHART_CODES:
        if code not in codes:
            continue
        points = _points(code, tests, logged.get(code, {}), seen.altitude_m, zone)
        if not points:
            continue
        named = _named(code)
        found.append(
            ChartSeries(
                code,
                named.label,
                named.unit,
                named.decimals,
                tuple(point.time for point in points),
                tuple(point.value / named.per_shown for point in points),
                _limits(code, in_force, named),
                bands if code == "temperature_c" else (),
                () if code in NO_KIT else _breaks(points, kits),
            )
        )
    return PondChart(pond, _local(start, zone), _local(end, zone), tuple(found), events)


def _named(code: str) -> Named:
    parameter = PARAMETERS.get(code)
    if parameter is None:
        return _RECKONED[code]
    unit = "mg/L N" if code == "tan_mg_l" else parameter.shown_unit
    return Named(parameter.label, unit, parameter.decimals, parameter.per_shown)


def _local(at: datetime, zone: ZoneInfo) -> datetime:
    return at.astimezone(zone).replace(tzinfo=None)


def _tests(
    connection: Connection, pond: UUID, start: datetime, end: datetime
) -> list[tuple[datetime, dict[str, float]]]:
    """Instant and readings of every standing test of the stretch, old to new."""
    tests, readings = table("water_test"), table("reading")
    query = (
        select(tests.c.id, tests.c.taken_at, readings.c.parameter, readings.c.value)
        .join(readings, readings.c.test_id == tests.c.id)
        .where(
            tests.c.pond_id == pond,
            tests.c.struck_at.is_(None),
            tests.c.taken_at >= start.astimezone(UTC),
            tests.c.taken_at <= end.astimezone(UTC),
        )
        .order_by(tests.c.taken_at, tests.c.id)
    )
    found: dict[UUID, tuple[datetime, dict[str, float]]] = {}
    for key, taken_at, parameter, value in connection.execute(query):
        entry = found.get(key)
        if entry is None:
            entry = found[key] = (taken_at, {})
        entry[1][parameter] = value
    return list(found.values())


def _logger_means(
    connection: Connection, pond: UUID, start: datetime, end: datetime, zone: ZoneInfo
) -> dict[str, dict[date, float]]:
    days = table("logger_day")
    query = (
        select(days.c.parameter, days.c.day, days.c.mean)
        .where(
            days.c.pond_id == pond,
            days.c.day >= _local(start, zone).date(),
            days.c.day <= _local(end, zone).date(),
        )
        .order_by(days.c.day)
    )
    found: dict[str, dict[date, float]] = {}
    for parameter, day, mean in connection.execute(query):
        found.setdefault(parameter, {})[day] = mean
    return found


def _events(
    connection: Connection, pond: UUID, start: datetime, end: datetime, zone: ZoneInfo
) -> tuple[ChartEvent, ...]:
    events = table("pond_event")
    query = (
        select(events.c.kind, events.c.on_day, events.c.at, events.c.hazard)
        .where(
            events.c.pond_id == pond,
            events.c.struck_at.is_(None),
            events.c.kind != "note",  # words alone leave no mark
            events.c.on_day >= _local(start, zone).date(),
            events.c.on_day <= _local(end, zone).date(),
        )
        .order_by(events.c.on_day, events.c.id)
    )
    found = []
    for kind, on_day, at, hazard in connection.execute(query):
        moment = datetime.combine(on_day, _NOON) if at is None else _local(at, zone)
        known = EVENT_KINDS.get(kind)
        label = kind if known is None else known.label
        if hazard and hazard in hazards():
            label = f"{hazards()[hazard].plain_name} seen"
        found.append(ChartEvent(moment, kind, label))
    return tuple(found)


class _Point(NamedTuple):
    time: datetime
    value: float
    at_ms: int | None
    """The test it comes from; None for a day of the logger."""


def _points(
    code: str,
    tests: Sequence[tuple[datetime, Mapping[str, float]]],
    logged: Mapping[date, float],
    altitude_m: float,
    zone: ZoneInfo,
) -> list[_Point]:
    reckon = _RECKON.get(code)
    points = [_Point(datetime.combine(day, _NOON), mean, None) for day, mean in logged.items()]
    for taken_at, values in tests:
        if reckon is None:
            value = values.get(code)
        else:
            try:
                value = reckon(values, altitude_m)
            except KeyError:
                continue
        if value is None:
            continue
        moment = _local(taken_at, zone)
        if moment.date() not in logged:
            points.append(_Point(moment, value, milliseconds(taken_at)))
    points.sort(key=lambda point: point.time)
    return points


def _breaks(points: Sequence[_Point], kits: Mapping[int, KitUsed]) -> tuple[int, ...]:
    """Where the kit is known to be another one than that of the last test that states one."""
    found = []
    last: KitUsed | None = None
    for place, point in enumerate(points):
        kit = None if point.at_ms is None else kits.get(point.at_ms)
        if kit is None:
            continue
        if last is not None and kit != last:
            found.append(place)
        last = kit
    return tuple(found)


def _limits(code: str, rules: Sequence[Rule], named: Named) -> tuple[SeriesLimit, ...]:
    found: dict[tuple[Level, float], SeriesLimit] = {}
    shown = PARAMETERS.get(code)
    levels: tuple[Level, ...] = ("act", "watch")
    for rule in rules:
        if rule.kind not in _LIMITED or not _speaks_of(rule, code):
            continue
        for level in levels:
            for side in ("below", "above"):
                value = getattr(rule.limits, f"{level}_{side}")
                if abs(value) == inf:
                    continue
                number = f"{value:.3g}" if shown is None else shown.shown_limit(value)
                if rule.kind == "ammonia":
                    as_nh3 = f"{level}_{side}_nh3_mg_l" in rule.params
                    set_as = f" ({value:g} as NH3)" if as_nh3 else ""
                    value = value / NH3_PER_N if as_nh3 else value
                    number = f"{fine(value)}{set_as}"
                limit = SeriesLimit(
                    value / named.per_shown, f"{level} {side} {number}", level, rule.code
                )
                found.setdefault((level, value), limit)
    return tuple(found.values())


def _speaks_of(rule: Rule, code: str) -> bool:
    series = KINDS[rule.kind].series(rule)
    return series == code or (code == "oxygen_percent" and series == "oxygen_saturation_percent")


def _band(rule: Rule) -> SeriesBand:
    window = window_of(rule.params)
    return SeriesBand(
        -inf if window.low_c is None else window.low_c,
        inf if window.high_c is None else window.high_c,
        _band_label(rule, window.low_c, window.high_c),
        rule.code,
    )


def _band_label(rule: Rule, low_c: float | None, high_c: float | None) -> str:
    name = hazards()[rule.hazard].plain_name
    if low_c is None:
        return f"{name} below {high_c:g}"
    if high_c is None:
        return f"{name} from {low_c:g}"
    return f"{name} {low_c:g}–{high_c:g}"
