"""The page of a client in words: the facts at its head, and what is due, runs and was, by pond."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Final, Literal
from uuid import UUID

from rich.cells import cell_len
from rich.style import Style
from rich.text import Text
from textual.content import Content

from store.text import joined
from tui.said import said_age, said_day, said_moment, said_since, since_column
from tui.screens.desk.desk_lines import (
    RING_BACK,
    level_of,
    said_attempts,
    said_booked,
    said_late,
    said_ring,
    said_why,
    said_window,
)
from tui.screens.ponds.pond_lines import said_volume, short_name
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import cut, one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.book.clients import Site
    from store.book.visits import Visit
    from store.courses.kept.under_way import UnderWay
    from store.diary.desk.due import Attempt, DueLine
    from store.diary.kept.calls.call_notes import CallNote
    from store.diary.kept.due.client_picture import ClientPicture, PondPicture, Wrote
    from store.diary.kept.promised.follow_ups import FollowUp

COLUMNS: Final = (Column("label", "", 11), Column("what", "", 20, weight=1))
SITES_SHOWN: Final = 2
"""At the head, on 24 lines; the others are counted, and stand beside their ponds."""
_INDENT: Final = ""
_ENDED: Final = {
    "completed": "completed", "stopped": "stopped early", "changed": "changed to another course",
}  # fmt: skip

LineKind = Literal["pond", "due", "course", "visit", "wrote", "later", "call", "attempt"]


@dataclass(frozen=True, slots=True)
class ClientKey:
    """What a line of the page is; `name` is the key or the name of what it shows."""

    kind: LineKind
    name: str
    pond_id: UUID | None = None


def said_phones(picture: ClientPicture) -> str:
    """The telephone numbers as dialled."""
    phones = (picture.client.phone, picture.client.phone2)
    return "  or  ".join(one_line(one) for one in phones if one.strip()) or "no telephone number"


def facts(picture: ClientPicture, width: int, most_sites: int = SITES_SHOWN) -> Content:
    """What is to be known before one rings: when, where it is, how to get in."""
    client, today = picture.client, picture.today
    # A ring-back that is due stands in the list.
    rings = any(line.promised.kind == RING_BACK for line in picture.all_due)
    ring = "" if rings else said_ring(picture.ring_on, picture.ring_at, today).rstrip(".")
    first: list[tuple[str, str]] = []
    if client.struck_at is not None:
        first.append((f"struck through: {one_line(client.struck_why)}", "bold $level-watch"))
    if ring:
        now = picture.ring_on is not None and picture.ring_on <= today
        first.append((ring, "bold $level-watch" if now else "bold"))
    if client.notes.strip():
        first.append((one_line(client.notes), "bold"))
    if client.email.strip():
        first.append((one_line(client.email), "$quiet"))
    lines = [_joined(first, width)] if first else [Content.styled("No notes.", "$quiet")]
    alone = len(picture.sites) == 1 and most_sites > 1
    for one in picture.sites[:most_sites]:
        lines += _site_lines(one, width, alone=alone)
    more = len(picture.sites) - most_sites
    if more > 0:
        lines.append(
            Content.styled(f"and {more} more {'site' if more == 1 else 'sites'}", "$quiet")
        )
    return Content("\n").join(lines)


def _joined(parts: list[tuple[str, str]], width: int) -> Content:
    found: list[Content] = []
    room = width
    for number, (text, style) in enumerate(parts):
        said = text if number == len(parts) - 1 else text.rstrip(".")
        shown = cut(f" · {said}" if number else said, room)
        room -= len(shown)
        found.append(Content.styled(shown, style))
    return Content("").join(found)


def _site_lines(site: Site, width: int, *, alone: bool) -> Iterator[Content]:
    """Where it is and how to get in; of the only site on two lines where one has no room."""
    place = ", ".join(
        one_line(part) for part in (site.address, site.town, site.postcode) if part.strip()
    )
    access = said_access(site)
    said = f"{one_line(site.name)}: {place or 'no address'}"
    whole = f"{said} · access {access}" if access else said
    if alone and access and cell_len(whole) > width:
        yield Content.styled(cut(said, width), "$quiet")
        yield Content.styled(cut(f"access {access}", width), "$quiet")
    else:
        yield Content.styled(cut(whole, width), "$quiet")


def said_access(site: Site) -> str:
    """When one gets in, and how; empty where nothing is known."""
    return joined(one_line(part) for part in (site.access_hours, site.access_notes))


def rows_of(picture: ClientPicture) -> list[Row]:
    """Who rang, what is due of the client, then pond by pond what is due, runs, was and comes."""
    rows = [_attempts_row(picture)] if picture.attempts else []
    listed = {line.promised.about.split(":")[1] for line in picture.all_due}
    rows += [_call_row(one, picture) for one in picture.calls if one.id.hex not in listed]
    rows += _due_rows(picture.due, picture.today)
    for pond in picture.ponds:
        rows += _pond_rows(pond, picture)
    later = [one for one in picture.follow_ups if one.id.hex not in listed]
    rows += [_later_row(one, picture.today, picture.resting.get(one.id, "")) for one in later]
    return rows


def _pond_rows(pond: PondPicture, picture: ClientPicture) -> Iterator[Row]:
    card, today = pond.card, picture.today
    key = card.pond.id
    title = Text()
    title.append(one_line(card.pond.name), Style(bold=True))
    if len(picture.sites) > 1:
        title.append(f", {one_line(card.site.name)}")
    title.append(f"  {said_pond(pond, today)}", "quiet")
    yield Row(ClientKey("pond", str(key), key), (Text("pond", style="quiet"), title))
    yield from _due_rows(pond.due, today)
    for course in pond.courses:
        yield _course_row(course, key)
    if pond.last_course is not None:
        yield _ended_row(pond.last_course, key, today)
    wrote = pond.wrote
    if pond.last_visit is not None:
        yield _last_row(pond.last_visit, picture, key)
    if wrote is not None and not (pond.last_visit and wrote.key == pond.last_visit.id):
        yield _wrote_row(wrote, key, today)
    if pond.next_visit is not None:
        yield _next_row(pond.next_visit, picture, key)


def _due_rows(due: Iterable[DueLine], today: date) -> Iterator[Row]:
    shown, later = near(due, today)
    for line in shown:
        yield _due_row(line, today)
    if later:
        yield _then_row(later, today)


def near(due: Iterable[DueLine], today: date) -> tuple[list[DueLine], list[DueLine]]:
    """What stands on a line of its own, and what lies further ahead, which shares one.

    Of what lies ahead only the nearest has a line of its own; what is booked has one too.
    """
    now: list[DueLine] = []
    settled: list[DueLine] = []
    ahead: list[DueLine] = []
    for line in due:
        booked = line.booked is not None and line.booked.in_window
        waits = line.promised.first_on > today
        (settled if booked else ahead if waits else now).append(line)
    ahead.sort(key=lambda line: line.promised.due_on)
    comes = sorted([*ahead[:1], *settled], key=_comes_on)
    return [*now, *comes], ahead[1:]


def _comes_on(line: DueLine) -> date:
    return line.promised.due_on if line.booked is None else line.booked.on_day


def _then_row(later: list[DueLine], today: date) -> Row:
    said = ", ".join(
        f"{said_day(line.promised.due_on, today)} {one_line(line.promised.says)}" for line in later
    )
    own = later[0].promised
    return Row(ClientKey("due", own.about, own.pond_id), (Text("then", style="quiet"), said))


def said_pond(pond: PondPicture, today: date) -> str:
    """Volume, use, fish, and when the water was tested last."""
    card = pond.card
    use = {"food": "FOOD FISH", "not asked": "use not asked"}.get(card.pond.use, card.pond.use)
    tested = (
        "no water test yet"
        if pond.last_test_on is None
        else f"tested {since_column(pond.last_test_on, today)}"
    )
    parts = (said_volume(card), use, one_line(card.pond.species), tested)
    return " · ".join(part for part in parts if part)


def _due_row(line: DueLine, today: date) -> Row:
    own = line.promised
    level = level_of(line, today)
    what = Text(one_line(own.says), style="quiet" if level == "quiet" else "")
    if own.pond_id is None and line.site:
        what.append(f"  {one_line(line.site)}", "quiet")
    booked = said_booked(line.booked, today).rstrip(".")
    if booked and level != "quiet":  # else its first column tells it
        what.append(f"  {booked[:1].lower()}{booked[1:]}", "quiet")
    key = ClientKey("due", own.about, own.pond_id)
    return Row(key, (Text(said_late(line, today), style=level), what))


def _course_row(course: UnderWay, pond: UUID) -> Row:
    if course.course.state == "planned":
        said = f"{one_line(course.name)}: planned, not begun"
    else:
        against = one_line(course.course.plan.reason)
        said = f"{one_line(course.name)}: {course.given} of {course.doses} given, against {against}"
    key = ClientKey("course", str(course.course.id), pond)
    return Row(key, (Text("course", style="quiet"), said))


def _ended_row(course: UnderWay, pond: UUID, today: date) -> Row:
    ended = course.course
    when = "" if ended.ended_on is None else f" {said_since(ended.ended_on, today)}"
    waits = "" if course.first is None else f", {one_line(course.first.what)}"
    said = f"{one_line(course.name)} {_ENDED.get(ended.state, ended.state)}{when}{waits}"
    key = ClientKey("course", str(ended.id), pond)
    return Row(key, (Text("course", style="quiet"), Text(said, style="quiet")))


def _last_row(visit: Visit, picture: ClientPicture, pond: UUID) -> Row:
    who = picture.people.get(visit.staff_id, "") if visit.staff_id is not None else ""
    by = f", {short_name(who)}" if who else ""
    text = Text()
    text.append(f"{one_line(visit.kind) or 'visit'}{by}", "quiet")
    if visit.note.strip():
        text.append(f"  {one_line(visit.note)}")
    label = Text(f"last {since_column(visit.on_day, picture.today)}", style="quiet")
    return Row(ClientKey("visit", str(visit.id), pond), (label, text))


def _next_row(visit: Visit, picture: ClientPicture, pond: UUID) -> Row:
    today = picture.today
    who = picture.people.get(visit.staff_id, "") if visit.staff_id is not None else ""
    at = "" if visit.at_time is None else f"{visit.at_time:%H:%M} "
    text = Text(f"{at}{one_line(visit.kind) or 'visit'}{f' with {one_line(who)}' if who else ''}")
    if visit.note.strip():
        text.append(f"  {one_line(visit.note)}", "quiet")
    label = Text(f"next {since_column(visit.on_day, today)}", style="quiet")
    if visit.on_day < today:
        label = Text(f"was {since_column(visit.on_day, today)}", style="watch")
        text.append("  planned, and nobody said what became of it", "watch")
    return Row(ClientKey("visit", str(visit.id), pond), (label, text))


def _wrote_row(wrote: Wrote, pond: UUID, today: date) -> Row:
    text = Text(one_line(wrote.says))
    by = f", {short_name(wrote.by)}" if wrote.by else ""
    text.append(f"  {wrote.of} {said_day(wrote.at.date(), today)}{by}", "quiet")
    return Row(
        ClientKey("wrote", str(wrote.key), pond),
        (Text("told" if wrote.of == "call" else "vet wrote", style="quiet"), text),
    )


def _later_row(one: FollowUp, today: date, rests: str) -> Row:
    """What was promised and is not near; where it rests, why, and that it comes again by itself."""
    again = ", again and again" if one.repeats else ""
    text = Text(one_line(one.says))
    if rests:
        text.append(f"  {one_line(rests).rstrip('.')}; restored, it falls due again", "watch")
    else:
        text.append(f"  from {said_since(one.first_on, today)}{again}", "quiet")
    label = Text("at rest", style="watch") if rests else Text("promised", style="quiet")
    return Row(ClientKey("later", str(one.id), one.pond_id), (label, text))


def _call_row(one: CallNote, picture: ClientPicture) -> Row:
    level = "act" if one.urgency == "same day" else "watch" if one.urgency == "next day" else ""
    text = Text(one_line(one.says))
    said = f"  {said_moment(one.called_at, picture.zone, picture.today)}, {one_line(one.caller)}"
    text.append(said, "quiet")
    label = "call" if one.urgency == "routine" else f"call {one.urgency.partition(' ')[0]}"
    return Row(ClientKey("call", str(one.id), one.pond_id), (Text(label, style=level), text))


def _attempts_row(picture: ClientPicture) -> Row:
    """Who rang when: the newest attempts on one line; enter shows all of them."""
    said = ", ".join(_short(one, picture) for one in picture.attempts)
    newest = picture.attempts[0]
    key = ClientKey("attempt", str(newest.id), newest.pond_id)
    return Row(key, (Text("rung", style="quiet"), said))


def _short(one: Attempt, picture: ClientPicture) -> str:
    day = said_day(one.at.astimezone(picture.zone).date(), picture.today)
    note = f" ({one_line(one.note)})" if one.note.strip() else ""
    return f"{day} {_outcome(one, picture.today)}{note}"


def _outcome(one: Attempt, today: date) -> str:
    ring = said_ring(one.ring_on, one.ring_at, today).removeprefix("Ring back ").rstrip(".")
    return f"{one.outcome} {ring}" if ring else one.outcome


def said_attempt(one: Attempt, picture: ClientPicture) -> str:
    """When a client was rung, by whom, what came of it."""
    today = picture.today
    at = one.at.astimezone(picture.zone)
    by = f" {short_name(one.by)}" if one.by else ""
    note = f" ({one_line(one.note)})" if one.note.strip() else ""
    return f"{said_day(at.date(), today)} {at:%H:%M}{by} {_outcome(one, today)}{note}"


def told_due(line: DueLine, picture: ClientPicture) -> Told:
    """Why it is due, who promised it, its window, who was rung about it, what is booked."""
    own, today = line.promised, picture.today
    window = said_window(line, today)
    return Told(
        f"{one_line(own.says)}: {said_why(line, today)}".removesuffix(": "),
        one_line(line.weighed),
        said_attempts(line, today, picture.zone),
        f"{window[:1].upper()}{window[1:]}. {said_booked(line.booked, today)}".strip(),
    )


def told_pond(pond: PondPicture, picture: ClientPicture) -> Told:
    """Where the pond is, how to get in, what is due there."""
    site = pond.card.site
    access = said_access(site)
    count = len(pond.due)
    due = "nothing is due" if not count else f"{count} due" if count > 1 else "1 thing is due"
    age = None if pond.last_test_on is None else (picture.today - pond.last_test_on).days
    tested = "never" if age is None else "today" if age == 0 else f"{said_age(age)} ago"
    return Told(
        f"{one_line(pond.card.pond.name)}, {one_line(site.name)}: {due}; water tested {tested}",
        f"Access: {access}" if access else "No access hours are known.",
        one_line(pond.card.pond.notes),
        "enter opens the pond, b books a visit, p promises something.",
    )
