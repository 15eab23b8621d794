"""The sheet of a call: answers as typed, and what is understood of them.

An answer that is not understood is kept as typed and counts as not known.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo

from store.diary.calling.typed import (
    HAS_NONE,
    HAS_SOCKET,
    HAS_TAP,
    STOPPED,
    YES,
    Used,
    either,
    read_temperature,
    says,
    signs_in,
    typed_count,
    typed_litres,
    typed_metres,
    typed_safe,
    typed_span_days,
    typed_stock,
    typed_use,
    unknown,
    yes_or_no,
)
from store.errors import BadInput
from store.facts.call_questions import Question, questions, safe_list
from store.facts.signs import signs
from store.water.given import figures
from store.water.line import read_cell, shown, understand
from store.water.measures import quantity, spelt, to_litres, to_metres
from store.water.understood import KitForms, ReadingValue, Understood


@dataclass(frozen=True, slots=True)
class Told:
    """What was told in a call, as far as it is understood.

    `dead` and `stock` are numbers of fish [count], `dead_days` the days over which they died [d];
    None where that is not known. `died` is True where deaths were told, with or without a number.
    `yes` and `no` hold codes of questions. `temp_c` is the water now [°C], `volume_l` the volume
    [L], `depth_m` the greatest depth [m]. `signs` are codes of `store.facts.signs`.
    """

    answers: Mapping[str, str]
    dead: int | None
    died: bool
    dead_days: float | None
    fish: str
    stock: int | None
    yes: frozenset[str]
    no: frozenset[str]
    temp_c: float | None
    volume_l: float | None
    depth_m: float | None
    use: Used
    put_in: bool | None
    stopped: bool
    tap: bool
    socket: bool
    signs: tuple[str, ...]
    readings: Understood
    advised: tuple[str, ...]

    def text(self, code: str) -> str:
        """The answer to one question as typed, without blanks at its ends."""
        return self.answers.get(code, "").strip()

    def reading(self, parameter: str) -> ReadingValue | None:
        """The reading of a parameter that was told, in its stored unit; None where none was."""
        return next((one for one in self.readings.readings if one.parameter == parameter), None)

    @property
    def missing(self) -> tuple[str, ...]:
        """What is missing for the van, in a word or two each, in the order of the questions."""
        return tuple(one.van for one in questions().values() if one.van and not self._has(one))

    def _has(self, one: Question) -> bool:
        if one.code == "volume":
            return self.volume_l is not None
        if one.code == "depth":
            return self.depth_m is not None
        if one.code == "temperature":
            return self.temp_c is not None
        if one.code == "use":
            return self.use != "not asked"
        return bool(self.text(one.code)) and not unknown(self.text(one.code))


def told(answers: Mapping[str, str], *, now: datetime, zone: tzinfo) -> Told:
    """What is understood of the answers of a call.

    Parameters
    ----------
    answers
        Texts as typed, by code of the question; what is left out was not asked.
    now
        The present instant, with a time zone.
    zone
        The practice's zone.

    Examples
    --------
    >>> from datetime import UTC
    >>> answers = {"fish": "12 koi, 8 goldfish", "dead": "5-6", "dead_days": "2", "gasping": "no"}
    >>> one = told(answers, now=datetime(2026, 5, 2, tzinfo=UTC), zone=UTC)
    >>> one.dead, one.dead_days, one.stock, sorted(one.no)
    (6, 2.0, 20, ['gasping'])
    """
    said = {code: yes_or_no(code, answers.get(code, "")) for code in questions()}
    readings = understand(answers.get("readings", ""), kit=KitForms(), now=now, zone=zone)
    temp = read_temperature(answers.get("temperature", ""))
    if temp is None:
        beside = (one for one in readings.readings if one.parameter == "temperature_c")
        temp = next(beside, None)
    seen = ", ".join(answers.get(code, "") for code in ("saw", "gasping", "sores"))
    dead_text = answers.get("dead", "")
    dead = typed_count(dead_text)
    put_in = answers.get("put_in", "").strip()
    site = answers.get("site_water", "").casefold().strip()
    runs = answers.get("filter", "").casefold()
    return Told(
        answers=dict(answers),
        dead=dead,
        died=bool(dead) or (dead is None and not unknown(dead_text)),
        dead_days=typed_span_days(answers.get("dead_days", "")),
        fish=answers.get("fish", "").strip(),
        stock=typed_stock(answers.get("fish", "")),
        yes=frozenset(code for code, one in said.items() if one == "yes"),
        no=frozenset(code for code, one in said.items() if one == "no"),
        temp_c=None if temp is None else temp.value,
        volume_l=typed_litres(answers.get("volume", "")),
        depth_m=typed_metres(answers.get("depth", "")),
        use=typed_use(answers.get("use", "")),
        put_in=None if unknown(put_in) else either(put_in, otherwise="yes") == "yes",
        stopped=(said["filter"] == "no" and HAS_NONE.fullmatch(runs.strip()) is None)
        or says(STOPPED, runs),
        tap=says(HAS_TAP, site),
        socket=says(HAS_SOCKET, site),
        signs=signs_in(seen),
        readings=readings,
        advised=tuple(safe_list()[code].says for code in typed_safe(answers.get("told", ""))),
    )  # fmt: skip


def echo(code: str, text: str, *, now: datetime, zone: tzinfo) -> str | None:
    """What is understood of one answer, to stand beside it while it is typed.

    Parameters
    ----------
    code
        Of the question.
    text
        As typed.
    now
        The present instant, with a time zone.
    zone
        The practice's zone.

    Returns
    -------
    str or None
        None where there is nothing to say: the hint of the question stays.
    """
    said = text.strip()
    if not said:
        return None
    reads = questions()[code].reads
    if reads == "readings":
        found = understand(said, kit=KitForms(), now=now, zone=zone)
        return found.echo or "kept as typed"
    if reads == "temperature":
        temp = read_cell("temperature_c", said, None, KitForms())
        return shown(temp) if isinstance(temp, ReadingValue) else _question(temp)
    if reads == "yes_no":
        return _echo_yes_no(code, said)
    if reads in ("volume", "length"):
        return _echo_measure(reads, said)
    if reads == "signs":
        words = ", ".join(signs()[one].words for one in signs_in(said))
        return words or "kept as typed"
    if reads == "told":
        return _echo_told(said)
    return _echo_number(reads, said)


def _question(doubt: object) -> str:
    question = getattr(doubt, "question", "")
    return question or "not understood: kept as typed, counts as not known"


def _echo_yes_no(code: str, said: str) -> str:
    found = yes_or_no(code, said)
    if found == "yes" and not YES.match(said.casefold()):
        return "taken as yes"
    return "not known" if found == "not known" else found


def _echo_measure(reads: str, said: str) -> str:
    try:
        number, unit = quantity(said, "volume" if reads == "volume" else "depth")
        if reads == "length":
            return f"{figures(to_metres(number, unit), 3)} m"
        if not unit:
            return "in which unit?"
        if spelt(unit) == "gal":
            return "UK or US gallons?"
        return f"{to_litres(number, unit):,.0f} L"
    except BadInput as trouble:
        return trouble.message


def _echo_told(said: str) -> str:
    chosen = set(typed_safe(said))
    numbers = [str(number) for number, code in enumerate(safe_list(), 1) if code in chosen]
    return f"of the list: {', '.join(numbers)}" if numbers else "nothing of the list"


def _echo_number(reads: str, said: str) -> str | None:
    if reads == "count":
        count = typed_count(said)
        return "no number: kept as typed" if count is None else f"{count:,}"
    if reads == "days":
        days = typed_span_days(said)
        return "no number: kept as typed" if days is None else f"{days:.0f} d"
    if reads == "fish":
        stock = typed_stock(said)
        return "how many?" if stock is None else f"{stock:,} fish"
    if reads == "use":
        use = typed_use(said)
        return "not understood: stays not asked" if use == "not asked" else use
    return None


def readings_line(one: Told) -> str:
    """The told temperature and readings as the line of a water test; empty where none were told.

    Parameters
    ----------
    one
        What was told.
    """
    own = one.text("temperature")
    inside = one.reading("temperature_c") is not None
    temp = "" if inside or one.temp_c is None else f"{figures(one.temp_c, 3)}C"
    line = " ".join(part for part in (temp, one.text("readings")) if part)
    if not line or not (one.readings.readings or own):
        return ""
    kit = one.text("kit")
    note = "told on the telephone" + (f", kit: {kit}" if kit else "")
    return f"{line}; {note}" if "//" in line else f"{line} // {note}"


def record_texts(one: Told) -> dict[str, str]:
    """The answers as texts for the forms of a client, a site and a pond.

    Parameters
    ----------
    one
        What was told.

    Returns
    -------
    dict
        By record and column, such as `client.name`; whether fish may be eaten only where the caller
        said so.
    """
    town, comma, postcode = one.text("town").rpartition(",")
    if not comma or not any(letter.isdigit() for letter in postcode):
        town, postcode = one.text("town"), ""
    use = {"food": "food", "ornamental": "ornamental"}.get(one.use, "not asked")
    found = {
        "client.name": one.text("caller"),
        "client.phone": one.text("phone"),
        "site.name": "Garden",
        "site.address": one.text("address"),
        "site.town": town.strip(),
        "site.postcode": postcode.strip(),
        "site.access_notes": one.text("access"),
        "site.water_supply": one.text("site_water"),
        "pond.name": "Pond",
        "pond.use": use,
        "pond.said_by": one.text("caller") if use != "not asked" else "",
        "pond.species": one.fish,
        "pond.depth_m": "" if one.depth_m is None else f"{figures(one.depth_m, 4)}",
    }
    ponds = one.text("ponds")
    if ponds:
        found["pond.notes"] = f"Ponds, as told on the telephone: {ponds}"
    return found
