"""The readings of a test against the limits in force, as values of a report."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from zoneinfo import ZoneInfo

from store.facts.readings import reading_words
from store.reports.reading import Edge, InForce, Measured, ReadingSaid, Verdict, reading_said
from store.reports.visit_values import TestSaid
from store.watch.chart import ChartSeries, SeriesLimit
from store.watch.rule import Backing, Rule
from store.water.derived import derive
from store.water.parameters import PARAMETERS
from store.water.understood import ReadingValue, shown
from store.water.water_tests import WaterTest

NH3, CO2 = "nh3_n_mg_l", "co2_mg_l"
_RESTS_ON = {NH3: "tan_mg_l", CO2: "alkalinity_mg_l"}
"""What a reckoned value is a part of: below detection there, it is below as well."""
_SAID_FROM: tuple[Verdict, ...] = ("too high", "perhaps too high")
_OUR_OWN = "set by the practice"
_WORD = {"<": "below ", ">": "above ", "~": "about "}
_LABELS = ("DO", "salt")
"""Short names that `shown` uses beside those of the parameters."""


def ranges(series: Sequence[ChartSeries], rules: Sequence[Rule]) -> dict[str, InForce]:
    """The range in force of each series: the limits that are met first on either side.

    Parameters
    ----------
    series
        Of the pond, with the limits in force.
    rules
        In force at the pond.
    """
    by_code = {one.code: one for one in rules}
    return {one.code: _range(one, by_code) for one in series}


def _range(series: ChartSeries, rules: Mapping[str, Rule]) -> InForce:
    sides: dict[str, list[SeriesLimit]] = {"below": [], "above": []}
    for limit in series.limits:
        sides[limit.label.split()[1]].append(limit)
    low = max(sides["below"], key=lambda one: one.value, default=None)
    high = min(sides["above"], key=lambda one: one.value, default=None)
    return InForce(
        None if low is None else _edge(low, rules),
        None if high is None else _edge(high, rules),
        series.unit,
    )


def _edge(limit: SeriesLimit, rules: Mapping[str, Rule]) -> Edge:
    level, side, number = limit.label.split(maxsplit=2)
    rule = rules[limit.rule]
    said = number.partition(" (")[0]
    return Edge(limit.value, said, _source(rule.rests_on(f"{level}_{side}")))


def _source(backing: Backing) -> str:
    """What a number rests on, fit for a client: who changed it, and why, is the practice's own."""
    if backing.own:
        return _OUR_OWN
    if backing.standing == "published" or backing.standing in backing.source:
        return backing.source
    return f"{backing.source} ({backing.standing})"


def value_said(reading: ReadingValue) -> str:
    """A reading in words without its name, such as `below 0.05 mg/L N`.

    Parameters
    ----------
    reading
        Any reading.

    Examples
    --------
    >>> value_said(ReadingValue("tan_mg_l", 0.05, None, 0.05, "<", "<0.05", "mg/L", "n"))
    'below 0.05 mg/L N'
    >>> value_said(ReadingValue("ph", 7.9, None, None, "=", "7.9", "", ""))
    '7.9'
    """
    text = _without_name(reading)
    word = _WORD.get(text[:1], "")
    return word + text[1:].lstrip() if word else text


def figure_said(reading: ReadingValue) -> str:
    """A reading as the cell of a table, without name and unit, such as `<0.05`, `ND`, `0.5?`.

    Parameters
    ----------
    reading
        Any reading; `?` stands behind one whose kit reports in a form that is not known.

    Examples
    --------
    >>> figure_said(ReadingValue("tan_mg_l", 0.0, 0.0, None, "<", "ND", "mg/L", "n"))
    'ND'
    """
    text = _without_name(reading)
    if text == "not detected":
        return "ND"
    unsure = "?" if "form not known" in text else ""
    return text.partition(" ")[0] + unsure


def _without_name(reading: ReadingValue) -> str:
    parameter = PARAMETERS[reading.parameter]
    text = shown(reading)
    for name in (parameter.label, parameter.short, *_LABELS):
        if text.startswith(f"{name} "):
            return text[len(name) + 1 :]
    return text


def is_below(reading: ReadingValue) -> bool:
    """Whether a reading lies below what the test shows, a trace among them.

    Parameters
    ----------
    reading
        Any reading.
    """
    return reading.bound == "<" or _is_trace(reading)


def _is_trace(reading: ReadingValue) -> bool:
    return reading.bound == ">" and reading.low == 0.0


def measured(reading: ReadingValue) -> Measured:
    """What a reading says at the least and at the most, in the unit in which it is shown.

    Parameters
    ----------
    reading
        Any reading. Not detected counts as none, as its test has no other answer; that the limit
        of detection is not known is said.
    """
    per_shown = PARAMETERS[reading.parameter].per_shown
    least: float | None = reading.value if reading.low is None else reading.low
    most: float | None = reading.value if reading.high is None else reading.high
    remarks: tuple[str, ...] = ()
    if reading.bound == "<":
        least = 0.0
        remarks = (
            ("The test showed none; how little it can show is not known.",)
            if reading.high is None
            else ("It is less than this test can show.",)
        )
    elif reading.bound == ">":
        most = None
        remarks = (
            ("There was some of it, and how much the test did not show.",)
            if _is_trace(reading)
            else ("It is more than this test can show.",)
        )
    return Measured(
        reading.parameter,
        value_said(reading),
        None if least is None else least / per_shown,
        None if most is None else most / per_shown,
        remarks,
    )


def test_said(
    test: WaterTest, ranges_in_force: Mapping[str, InForce], altitude_m: float, zone: ZoneInfo
) -> TestSaid:
    """A test as a report tells it.

    Parameters
    ----------
    test
        The test.
    ranges_in_force
        By code of the reading.
    altitude_m
        Height of the pond above the sea [m].
    zone
        Of the practice.
    """
    words, none_set = reading_words(), InForce()
    found: list[ReadingSaid] = []
    for code, reading in test.readings.items():
        range_ = ranges_in_force.get(code, none_set)
        found.append(reading_said(measured(reading), range_, words[code]))
    lacking: list[str] = []
    for one in _reckoned(test, altitude_m, lacking):
        said = reading_said(one, ranges_in_force.get(one.code, none_set), words[one.code])
        # Of carbon dioxide, which nobody measured, only what is too much is told.
        if one.code == NH3 or said.verdict in _SAID_FROM:
            found.append(said)
    at = test.taken_at.astimezone(zone).replace(tzinfo=None)
    return TestSaid(at, tuple(found), tuple(lacking), test.note)


test_said.__test__ = False  # type: ignore[attr-defined]


def _reckoned(test: WaterTest, altitude_m: float, lacking: list[str]) -> Iterator[Measured]:
    values = {code: one.value for code, one in test.readings.items()}
    for code in (NH3, CO2):
        base = test.readings.get(_RESTS_ON[code])
        if base is None:
            continue
        derived = derive(values, altitude_m)[code]
        if derived.value is None:
            if code == NH3:
                name = reading_words()[code].name
                lacking += (f"{name}: {remark}" for remark in derived.remarks)
            continue
        below = is_below(base)
        if below and base.high is None:
            continue  # no number was shown, and nothing can be reckoned from it
        digits = derived.decimals
        rounded = f"{derived.value:.{digits}f}"
        if derived.value and not float(rounded):  # a trace is never shown as nothing
            rounded, below = f"{10.0**-digits:.{digits}f}", True
        number = f"{rounded} {derived.unit}"
        yield Measured(
            code,
            f"below {number}" if below else number,
            0.0 if below else derived.value,
            None if base.bound == ">" else derived.value,
            derived.remarks,
        )
