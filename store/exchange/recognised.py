"""What a file probably is, found by its headings and the shape of its first rows.

A proposal for a person, never a decision: whoever brings the file in says what it is. Only the
beginning of the file is looked at.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from types import MappingProxyType

from store.errors import BadInput
from store.exchange.catch_up.list_columns import list_shape
from store.exchange.columns import day_cell
from store.exchange.columns.headings import heading_of
from store.exchange.columns.words import ROLE_OF, mended, same
from store.exchange.logger.stamps import clock_layout, day_layout, read_stamp
from store.exchange.sheets.grid import RawRow
from store.exchange.sheets.head import FileHead, head_of
from store.text import plain

_HEADINGS_AMONG = 40
"""Rows at the top among which headings are looked for."""
_NAMED = 4
_FEW_ROWS = 8
_HOUR_MS = 3_600_000
_MOST_STEP_MS = 6 * _HOUR_MS
_IN_BRACKETS = re.compile(r"[(\[].*")
_CHAT = re.compile(
    r"[‎\[]*\d{1,4}[./-]\d{1,2}[./-]\d{2,4},? (?:at )?\d{1,2}[:.]\d{2}(?:[:.]\d{2})?"
    r"\s?(?:[ap]\.?m\.?)?\]?\s*[-–:]?\s*[^:,;\t]{1,40}: ",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Recognised:
    """The kind that a file looks like, by name (empty where it looks like none), and why."""

    kind: str
    why: str
    weight: int = 0
    """How much speaks for it: below `SURE` it is no more than a guess."""
    names_ponds: bool = False
    """A column says which pond each row is of."""

    @property
    def sure(self) -> bool:
        """Whether enough speaks for it to say so against a person's choice."""
        return self.weight >= SURE


SURE = 6


@dataclass(frozen=True, slots=True)
class Words:
    """Headings that tell of a kind: what each means, how much it weighs, which it must have.

    `needed` names groups of meanings; of each group one has to be there.
    """

    meanings: Mapping[str, tuple[int, str]]
    needed: tuple[tuple[str, ...], ...]


_DAY = "date|day|on day|on_day|when|datum|date found|date of visit"
_POND = "pond|pond name|pond code|code|tank|unit|system|zone|raceway|teich"

WORDS: Mapping[str, Words] = MappingProxyType({
    "staff": Words(
        {"name": (2, "name|person"), "role": (4, "role"), "initials": (3, "initials")},
        (("name",), ("role",)),
    ),
    "kits": Words(
        {
            "name": (1, "name|kit"), "ammonia": (4, "ammonia_form|ammonia as"),
            "nitrite": (4, "nitrite_form|nitrite as"), "nitrate": (4, "nitrate_form|nitrate as"),
            "batch": (1, "batch|lot"), "expiry": (1, "expires_on|expires|expiry"),
            "calibrated": (3, "ph_calibrated_on|calibrated"),
        },
        (("name",), ("ammonia", "nitrite", "nitrate", "calibrated")),
    ),
    "visits": Words(
        {
            "pond": (1, _POND), "day": (1, _DAY), "state": (4, "state|planned or done"),
            "staff": (2, "staff|vet"), "site": (2, "whole_site|whole site"),
            "kind": (1, "kind|what|visit|kind of visit"), "time": (1, "at_time|time"),
        },
        (("pond",), ("day",), ("state", "site", "staff")),
    ),
    "events": Words(
        {
            "pond": (1, _POND), "kind": (3, "kind|event|what happened"), "day": (1, _DAY),
            "until": (3, "until_day|until"), "hazard": (3, "hazard"), "amount": (1, "amount"),
            "note": (0, "note|notes"),
        },
        (("pond",), ("kind",), ("day",)),
    ),
    "drives": Words(
        {
            "from": (3, "from|start"), "to": (3, "to|goal"),
            "minutes": (3, "minutes|min|drive_min"), "km": (2, "km|distance_km"),
        },
        (("from",), ("to",), ("minutes",)),
    ),
    "fish": Words(
        {
            "fish": (2, "fish|fish no|fish number|fish id|specimen"), "day": (1, _DAY),
            "length": (2, "length|fork length|total length|size|weight|fish weight"),
            "site": (4, "skin|gill|gills|fin|fins|skin scrape|gill clip|left gill|right gill|"
             "site on fish|sample site|preparation|scrape|organ|tissue"),
            "parasite": (4, "parasite|parasites|finding|findings|found|organism|skin parasites|"
             "gill parasites|ectoparasites|trichodina|costia|ichthyobodo|gyrodactylus|"
             "dactylogyrus|white spot|ich|chilodonella|tri|cos|gyro|dac|dactyl|chilo|argulus"),
            "score": (2, "score|grade|count|count per field|level|intensity"),
            "magnification": (3, "magnification|mag|objective|fields"), "pond": (1, _POND),
            "place": (1, "site|location|where on fish"),
        },
        (("site", "parasite"), ("fish", "length", "score", "site")),
    ),
    "deaths": Words(
        {
            "day": (1, _DAY), "pond": (1, _POND),
            "dead": (5, "dead|deaths|died|mortality|mortalities|morts|mort|losses|number dead|"
             "no dead|dead fish|fish dead|no of deaths|number of deaths|no of mortalities|"
             "number of mortalities|daily mortality|tote|verluste"),
            "cause": (3, "cause|cause of death|suspected cause|reason|likely cause"),
            "species": (1, "species|fish|kind of fish"), "number": (2, "number|no|count|qty"),
            "disposal": (3, "disposal|disposed|method of disposal|removed to|carcasses"),
        },
        (("day",), ("dead", "disposal", "cause"), ("dead", "number")),
    ),
    "lab": Words(
        {
            "case": (3, "case|case no|case number|accession|accession no|lab ref|lab no|"
             "lab number|report no|report number|reference|our ref|submission"),
            "sample": (2, "sample|sample no|sample id|sample number|sample ref|specimen"),
            "test": (2, "test|analysis|assay|examination|test name|test requested|target"),
            "result": (2, "result|results|finding|outcome|interpretation"),
            "received": (3, "received|date received|received on"),
            "reported": (3, "reported|date reported|report date|reported on"),
            "organ": (3, "organ|tissue|matrix|sample type|specimen type|material"),
            "client": (1, "client|owner|submitter|submitted by|sender|customer|keeper"),
            "species": (1, "species|animal"), "ct": (4, "ct|ct value|cq|cq value"),
            "method": (1, "method"), "laboratory": (3, "laboratory|lab"),
            "unit": (0, "unit|units"), "antibiotic": (4, "antibiotic|antimicrobial|mic|s/i/r|sir"),
        },
        (("case", "sample", "laboratory", "ct", "organ"),
         ("result", "ct", "test", "antibiotic")),
    ),
    "medicines": Words(
        {
            "product": (3, "product|medicine|drug|name of medicine|name of product|"
             "medicinal product|vmp|preparation|medication|arzneimittel"),
            "batch": (3, "batch|batch no|batch number|lot|lot no|charge"),
            "expiry": (2, "expiry|expiry date|expires|exp|exp date|best before"),
            "in": (2, "in|received|amount in|quantity in|qty in|bought|purchased"),
            "out": (3, "out|used|amount out|quantity out|qty out|given|dispensed|supplied"),
            "amount": (1, "amount|quantity|qty|dose|amount given|amount used"),
            "withdrawal": (4, "withdrawal|withdrawal end|withdrawal period|end of withdrawal|"
             "withdrawal ends|wd|withdrawal until"),
            "client": (1, "client|owner|customer|given to|animal owner"),
            "opened": (3, "opened|date opened|opened on|bottle opened"), "day": (1, _DAY),
        },
        (("product",), ("batch", "withdrawal", "out", "expiry")),
    ),
})  # fmt: skip
"""The headings that tell of each kind; water, loggers and client lists are told by their readers'
own words."""

_OWN_PONDS = frozenset({
    "client", "pond", "site", "code", "use", "depth_m", "lining", "filter", "uv", "source_water",
    "species", "stock_notes", "indoor", "test_every_days", "test_seasons", "kit", "notes",
    "volume_l", "volume_low_l", "volume_high_l", "volume_method", "volume_on", "volume_workings",
    "phone", "phone2", "email", "client_notes", "address", "town", "postcode", "latitude",
    "longitude", "elevation_m", "access_hours", "access_notes", "water_supply",
})  # fmt: skip


def recognise(path: Path) -> Recognised:
    """What a file probably is.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    Recognised
        With the reason in half a sentence.

    Raises
    ------
    BadInput
        There is no such file, or nothing in it that can be read.
    """
    return recognised(head_of(path))


def recognised(head: FileHead) -> Recognised:
    """What a file probably is, by its beginning.

    Parameters
    ----------
    head
        From `head_of`.
    """
    chats = sum(_CHAT.match(line) is not None for line in head.lines)
    if chats >= 2:
        return Recognised("messages", f"{chats} of its first lines are those of a chat", 9)
    found: list[Recognised] = []
    for sheet in head.sheets:
        found.extend(_of_rows(sheet.rows))
    best = max(found, key=lambda one: one.weight, default=None)
    if best is not None:
        return best
    if _is_prose(head):
        return Recognised("messages", "it is running text and no table", 4)
    return Recognised("", "its headings tell of no kind that is known here")


def _of_rows(rows: Sequence[RawRow]) -> Iterator[Recognised]:
    logger = _logger(rows)
    if logger is not None:
        yield logger
    yield from (one for one in (_clients(rows), _ponds(rows)) if one is not None)
    for row in rows[:_HEADINGS_AMONG]:
        titles = {
            same(_IN_BRACKETS.sub("", cell)): plain(cell).strip()
            for cell in row.cells
            if cell.strip()
        }
        if len(titles) < 2:
            continue
        water = _water(row, rows)
        if water is not None:
            yield water
        for kind, words in _FOLDED.items():
            one = _by_words(kind, words, titles)
            if one is not None:
                yield one


def _by_words(kind: str, words: Words, titles: Mapping[str, str]) -> Recognised | None:
    hits: dict[str, str] = {}
    for meaning, (_, names) in words.meanings.items():
        known = names.split("|")
        title = next((title for folded, title in titles.items() if folded in known), None)
        if title is not None:
            hits[meaning] = title
    if not all(any(one in hits for one in group) for group in words.needed):
        return None
    weight = sum(words.meanings[one][0] for one in hits)
    strongest = sorted(hits, key=lambda one: -words.meanings[one][0])
    return Recognised(
        kind,
        _headings([hits[one] for one in strongest]),
        weight,
        bool({"pond", "client"} & set(hits)),
    )


_FOLDED = {
    kind: Words(
        {
            meaning: (weight, "|".join(same(one) for one in names.split("|")))
            for meaning, (weight, names) in words.meanings.items()
        },
        words.needed,
    )
    for kind, words in WORDS.items()
}


def _clients(rows: Sequence[RawRow]) -> Recognised | None:
    """A list of people: names with telephones, addresses or postcodes."""
    try:
        shape = list_shape([row.cells for row in rows])
    except (BadInput, IndexError):
        return None
    weights = {
        "surname": 3, "given": 2, "title": 1, "name": 2, "firm": 2, "phone": 3, "email": 3,
        "address": 2, "town": 2, "county": 1, "postcode": 3, "volume": 1, "pond": 1, "species": 1,
    }  # fmt: skip
    known = {
        one.meaning: one.heading
        for one in reversed(shape.columns)
        if one.why.startswith("by its heading") and one.heading
    }
    by_cells = {one.meaning for one in shape.columns} - {"unknown", "ignore", "remarks", "number"}
    named = {"name", "surname", "firm"} & (set(known) | by_cells)
    reached = {"phone", "email", "address", "postcode", "town"} & (set(known) | by_cells)
    if not named or not reached:
        return None
    weight = sum(weights.get(one, 0) for one in known)
    weight += sum(2 for one in by_cells - set(known) if one in ("phone", "postcode", "email"))
    if not known:
        said = ", ".join(sorted(by_cells & {"phone", "postcode", "email"}))
        return Recognised("clients", f"its columns hold names and {said}", weight) if said else None
    telling = sorted(known, key=lambda one: -weights.get(one, 0))
    return Recognised("clients", _headings([known[one] for one in telling]), weight)


def _ponds(rows: Sequence[RawRow]) -> Recognised | None:
    """Our own shape of ponds: its first line names client and pond in our words."""
    if not rows:
        return None
    titles = [plain(cell).strip().casefold() for cell in rows[0].cells if cell.strip()]
    own = [one for one in titles if one in _OWN_PONDS]
    if not {"client", "pond"} <= set(own) or len(own) * 10 < len(titles) * 8:
        return None
    marked = [one for one in own if "_" in one]
    return Recognised("ponds", _headings([*marked, *own]), 4 + len(own) + 3 * len(marked),
                      names_ponds=True)  # fmt: skip


def _water(row: RawRow, rows: Sequence[RawRow]) -> Recognised | None:
    """Tests of water: a day and readings, each in a column or each in a row."""
    day = pond = ""
    readings: dict[str, str] = {}
    places: dict[str, int] = {}
    for place, cell in enumerate(row.cells):
        title = plain(cell).strip()
        if not title or any(map(str.isdigit, title[:1])):
            continue
        role = ROLE_OF.get(same(title))
        if role in ("date", "taken_at"):
            day = day or title
        elif role in ("pond", "client"):
            pond = pond or title
        elif role is not None:
            places.setdefault(role, place)
        elif len(title) < 60 and (heading := heading_of(mended(title))) is not None:
            readings.setdefault(heading.parameter, title)
    below = [one for one in rows if one.line > row.line]
    if "parameter" in places and "value" in places and day:
        cells = [one.cell(places["parameter"]).strip() for one in below if one.cells]
        held = [cell for cell in cells if cell][:30]
        known = sum(heading_of(mended(cell)) is not None for cell in held)
        if held and known * 2 >= len(held):
            said = "its rows name readings, such as " + ", ".join(
                f"“{plain(cell):.20}”" for cell in list(dict.fromkeys(held))[:_NAMED]
            )
            return Recognised("water", said, 10, names_ponds=bool(pond))
    if not readings or not (day or _days_below(below)):
        return None
    chemistry = [one for one in readings if one != "temperature_c"]
    weight = 2 + 3 * min(4, len(chemistry)) + ("temperature_c" in readings) + bool(day)
    return Recognised("water", _headings([*readings.values(), day]), weight, names_ponds=bool(pond))


def _days_below(rows: Sequence[RawRow]) -> bool:
    for row in rows[:5]:
        for cell in row.cells[:3]:
            if any(map(str.isdigit, cell)) and not cell.strip().replace(".", "").isdigit():
                try:
                    found = day_cell(cell)
                except BadInput:
                    continue
                if found.year or found.month:
                    return True
    return False


def _logger(rows: Sequence[RawRow]) -> Recognised | None:
    """The series of a machine: the same few minutes from row to row."""
    columns: Counter[int] = Counter()
    for row in rows:
        for place, cell in enumerate(row.cells[:8]):
            text = cell.strip()
            if len(text) >= 6 and (day_layout(text, "dmy") or day_layout(text, "ymd")):
                columns[place] += not text.isdigit()
    if not columns:
        return None
    place, count = columns.most_common(1)[0]
    if count < _FEW_ROWS:
        return None
    for order in ("ymd", "dmy", "mdy"):
        stamps = []
        for row in rows:
            beside = row.cell(place + 1).strip()
            clock = beside if ":" in beside and clock_layout(beside) is not None else ""
            stamp = read_stamp(row.cell(place).strip(), clock, order)
            if not isinstance(stamp, str):
                stamps.append(stamp.wall_ms)
        if len(stamps) * 10 < count * 8:
            continue
        steps = Counter(abs(two - one) for one, two in pairwise(stamps))
        steps.pop(0, None)
        if not steps:
            continue
        step, times = steps.most_common(1)[0]
        if times * 10 >= sum(steps.values()) * 7 and step <= _MOST_STEP_MS:
            return Recognised(
                "logger", f"its rows come every {_span(step)}, as a machine writes them", 14
            )
    return None


def _span(step_ms: int) -> str:
    if step_ms % _HOUR_MS == 0:
        hours = step_ms // _HOUR_MS
        return "hour" if hours == 1 else f"{hours} h"
    if step_ms % 60_000 == 0:
        return f"{step_ms // 60_000} min"
    return f"{step_ms / 1000:g} s"


def _is_prose(head: FileHead) -> bool:
    """Sentences and no cells."""
    lines = [line.strip() for line in head.lines if line.strip()]
    wordy = sum(len(line.split()) >= 5 and line.count(";") + line.count("\t") < 2 for line in lines)
    return bool(lines) and wordy * 2 >= len(lines)


def _headings(titles: Sequence[str]) -> str:
    few = list(dict.fromkeys(f"“{one:.24}”" for one in titles if one))[:_NAMED]
    return f"its headings {', '.join(few)}"
