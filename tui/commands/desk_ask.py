"""Whom to ask for a thermometer reading, as text and JSON; part of `pondround desk`."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from tui.widgets.literal import fit, one_line

if TYPE_CHECKING:
    from store.diary.desk.ask import AskLine, AskList


def ask_text(listed: AskList) -> Iterator[str]:
    """The ponds of which one reading today would settle most, a line each; nothing for none.

    Parameters
    ----------
    listed
        Whom to ask.
    """
    if not listed.lines:
        return
    yield ""
    yield "Ask for a thermometer reading (by estimate, °C; four in five hold the water):"
    yield "  ".join(
        (fit("client and pond", 34), fit("telephone", 16), fit("ask", 14), "estimate and why")
    )
    for line in listed.lines:
        yield "  ".join(
            (
                fit(one_line(line.where), 34),
                fit(one_line(line.phone or line.phone2), 16),
                fit(_whom(line), 14),
                one_line(line.because),
            )
        ).rstrip()


def _whom(line: AskLine) -> str:
    at = "" if line.going_at is None else f" {line.going_at:%H:%M}"
    return f"{one_line(line.going)}{at}" if line.going else "owner"


def ask_json(listed: AskList) -> list[dict[str, Any]]:
    """The same as objects, what a reading settles most first.

    Keys: `about` (the name under which calls are logged), `client`, `client_id`, `pond`, `pond_id`,
    `phones`, `ask` (`owner`, or who of the practice is to be there today) and `ask_at` (or null),
    `estimate` with `mean_c`, `low_c`, `high_c` (four in five hold the water), `last_on` and
    `last_c` (as measured, or null), `worth`, `weighed`, `because`, `attempts`, `waits` (the course
    that waits for the temperature, or empty), and `settles`: each with `rule`, `name`, `band`,
    `chance` (0 to 1), `on_day`, `weight`, `worth`, `weighs`.

    Parameters
    ----------
    listed
        Whom to ask.
    """
    return [_object(line) for line in listed.lines]


def _object(line: AskLine) -> dict[str, Any]:
    return {
        "about": line.about,
        "client": line.client,
        "client_id": str(line.client_id),
        "pond": line.pond,
        "pond_id": str(line.pond_id),
        "phones": [phone for phone in (line.phone, line.phone2) if phone],
        "ask": line.going or "owner",
        "ask_at": f"{line.going_at:%H:%M}" if line.going_at else None,
        "estimate": {
            "mean_c": round(line.mean_c, 2),
            "low_c": round(line.low_c, 2),
            "high_c": round(line.high_c, 2),
        },
        "last_on": line.last_on.isoformat() if line.last_on else None,
        "last_c": None if line.last_c is None else round(line.last_c, 2),
        "worth": round(line.worth, 4),
        "weighed": line.weighed,
        "because": line.because,
        "attempts": line.attempts,
        "waits": line.waits,
        "settles": [
            {
                "rule": one.rule,
                "name": one.name,
                "band": one.band,
                "chance": round(one.chance, 4),
                "on_day": one.on_day.isoformat(),
                "weight": one.weight,
                "worth": round(one.worth, 4),
                "weighs": one.weighs,
            }
            for one in line.undecided
        ],
    }
