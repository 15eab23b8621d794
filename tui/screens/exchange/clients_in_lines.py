"""A client list in words: the lines of its preview, what the strip tells, both sides of a pair."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.text import Text

from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import fit, one_line, wrapped
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.exchange.catch_up.asking import Question
    from store.exchange.catch_up.clients_plan import CatchUp, PlannedClient

COLUMNS = (
    Column("state", "State", 5),
    Column("name", "Client", 20, weight=2),
    Column("phone", "Telephone", 14, weight=1, drop_order=2),
    Column("place", "Town", 10, weight=1, drop_order=1),
    Column("ponds", "Ponds", 5),
    Column("open", "Asked", 11, weight=1),
)
FILE = "file"
"""Key of a line that asks something of the whole list, before that of its question."""
_STYLES = {"ask": "watch", "new": "", "same": "quiet"}
_OF_FILE = {
    "postcodes": "lost zeros", "telephones": "lost zeros", "gallons": "gallons",
    "names": "the names", "heading": "headings",
}  # fmt: skip


def key_of(one: PlannedClient) -> tuple[str, int]:
    """The key of a client's line."""
    return ("line", one.line)


def questions_of(found: CatchUp, key: object) -> tuple[Question, ...]:
    """The questions that belong to a line of the preview."""
    if not isinstance(key, tuple) or len(key) != 2:
        return ()
    if key[0] == FILE:
        return tuple(one for one in found.questions if one.key == key[1])
    client = client_of(found, key)
    if client is None:
        return ()
    return tuple(
        one
        for one in found.questions
        if one.kind not in _OF_FILE and (one.line in client.lines or one.key in client.waits_for)
    )


def client_of(found: CatchUp, key: object) -> PlannedClient | None:
    """The client of a line of the preview."""
    return next((one for one in found.clients if key_of(one) == key), None)


def rows_of(found: CatchUp) -> list[Row]:
    """What is asked of the whole list first, then a line for each client, as in the list."""
    rows = [
        Row(
            (FILE, one.key),
            (
                _styled("ask" if one.waits else "said", "watch" if one.waits else "quiet"),
                one_line(f"list: {_OF_FILE[one.kind]}"),
                "", "", "", "1 open" if one.waits else one.answer,
            ),
        )
        for one in found.questions
        if one.kind in _OF_FILE
    ]  # fmt: skip
    return [*rows, *(_row(found, one) for one in found.clients)]


def _row(found: CatchUp, one: PlannedClient) -> Row:
    asked = questions_of(found, key_of(one))
    open_ones = sum(each.waits for each in asked)
    said = f"{open_ones} open" if open_ones else "said" if asked else ""
    sites = one.sites
    ponds = sum(len(site.ponds) for site in sites)
    place = next((site.town or site.postcode for site in sites), "")
    style = _STYLES[one.state]
    phone = one.phone or one.phone2
    name = one.in_book if one.state == "same" and one.in_book else one.name
    if one.state == "same" and one.saves:
        said = said or "gets more"
    texts = (name, phone, place, str(ponds) if ponds else "", said)
    cells = (_styled(one_line(text), "quiet" if style == "quiet" else "") for text in texts)
    return Row(key_of(one), (_styled(one.state, style), *cells))


def _styled(text: str, style: str) -> Text:
    return Text.assemble((text, style), end="") if style else Text(text, end="")


def state_said(found: CatchUp) -> str:
    """What would be saved and what is open, in one line."""
    clients, sites, ponds = found.counted()
    said = [f"new: {many(clients, 'client')}, {many(sites, 'site')}, {many(ponds, 'pond')}"]
    given = sum(one.state == "same" for one in found.plan.items)
    if given:
        said.append(f"{given} get more")
    if found.plan.already:
        said.append(f"{found.plan.already} there already")
    if found.waiting:
        said.append(f"{len(found.waiting)} wait")
    if found.open_questions:
        said.append(f"{len(found.open_questions)} open")
    if found.plan.refused:
        said.append(f"{len(found.plan.refused)} refused")
    return "   ".join(said)


def before_saving(found: CatchUp, kept_in: str) -> str:
    """What F2 will save and what stays open, in sentences.

    Parameters
    ----------
    found
        The list.
    kept_in
        The name of the file of the answers; empty while none was given.
    """
    clients, sites, ponds = found.counted()
    new = f"{many(clients, 'client')}, {many(sites, 'site')} and {many(ponds, 'pond')} are new"
    given = sum(one.state == "same" for one in found.plan.items)
    gets = "gets what it lacks" if given == 1 else "get what they lack"
    said = [f"{new}; {given} in the book {gets}." if given else f"{new}."]
    asked = len(found.open_questions)
    if asked:
        stays = "stays" if asked == 1 else "stay"
        said.append(f"{many(asked, 'question')} {stays} open; what hangs on it waits.")
    if found.plan.refused:
        said.append(f"{many(len(found.plan.refused), 'row')} refused, into a file beside the list.")
    if kept_in:
        said.append(f"Your answers are in {one_line(kept_in)}, beside the list.")
    return " ".join(said)


def told(found: CatchUp, key: object) -> Told | None:
    """What the list says of the line under the cursor, and what to do next."""
    asked = questions_of(found, key)
    waiting = [one for one in asked if one.waits]
    first = next(iter([*waiting, *asked]), None)
    one = client_of(found, key)
    if one is None:
        if first is None:
            return None
        return Told(
            one_line(first.asks), one_line(first.reasons), "", _next(first.waits, len(asked))
        )
    lines = ", ".join(str(line) for line in one.lines)
    as_typed = f" (in the list “{one.typed}”)" if one.typed != one.name else ""
    head = f"{one.name}{as_typed}, line {lines}"
    if one.state == "same":
        head = f"{one.name}, line {lines}: in the book as {one.in_book}"
    places = "; ".join(site.said or site.name for site in one.sites) or "no address"
    if one.adds:
        places = f"gets {'; '.join(one.adds)}"
    doubts = "; ".join(one.doubts)
    notes = f"notes: {one.notes}" if one.notes and one.state == "new" else ""
    if first is not None:
        score = "" if first.score is None else f" {first.score} of 100:"
        return Told(
            one_line(head), one_line(places), one_line(f"{first.asks}{score} {first.reasons}"),
            _next(bool(waiting), len(asked)),
        )  # fmt: skip
    return Told(one_line(head), one_line(places), one_line(doubts or notes), "")


def _next(open_one: bool, count: int) -> str:
    if open_one:
        return "Next: enter decides; what hangs on it waits until then."
    return "Said. Enter changes the answer." if count else ""


def sides(one: Question, width: int) -> str:
    """Both sides of a question beside each other, or the one there is.

    Parameters
    ----------
    one
        The question.
    width
        Cells there are.
    """
    return side_by_side(one.left, one.right, width)


def side_by_side(
    one: Sequence[tuple[str, str]], other: Sequence[tuple[str, str]], width: int
) -> str:
    """Two lists of label and value beside each other.

    Parameters
    ----------
    one, other
        From top to bottom.
    width
        Cells there are.
    """
    half = max(12, (width - 3) // 2)
    left, right = _side(one, half), _side(other, half)
    lines = []
    for at in range(max(len(left), len(right))):
        mine = left[at] if at < len(left) else ""
        theirs = right[at] if at < len(right) else ""
        lines.append(f"{fit(mine, half)} │ {theirs}".rstrip())
    return "\n".join(lines)


def _side(pairs: Sequence[tuple[str, str]], width: int) -> list[str]:
    lines: list[str] = []
    for label, value in pairs:
        shown = value if label in ("from", "name") else f"{label} {value}"
        lines += wrapped(one_line(shown), width)
    return lines


def many(number: int, one: str) -> str:
    """A number of things, such as `2 clients`."""
    return f"{number:,} {one}{'' if number == 1 else 's'}"
