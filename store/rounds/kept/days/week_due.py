"""What is due in a week, site by site, parted into visits each of which has days of its own."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID, uuid5

from store.diary.desk.due import DueLine
from store.diary.desk.weigh import last_fitting, weigh
from store.diary.kept.due.desk import UNKNOWN
from store.facts.follow_ups import FollowUpKind, follow_up_kinds
from store.rounds.kept.days.candidates import DueAt
from store.rounds.week.said import weekday_said
from store.rounds.week.values import Limit, WeekWish
from store.text import day_said, joined


@dataclass(frozen=True, slots=True)
class DueGroup:
    """Lines of one site that one visit can keep, heaviest first, with the days for it.

    `key` is that of the site, or one made of it where the site needs several visits. `weight` is
    that of the first day of the week on which each line is due.
    """

    key: UUID
    site_id: UUID
    lines: tuple[DueLine, ...]
    limit: Limit
    weight: float

    @property
    def named(self) -> str:
        """Whose it is."""
        return self.lines[0].client


def groups_of(at: DueAt, wish: WeekWish, today: date) -> Iterator[DueGroup]:
    """The lines of a site in visits: those whose days meet are kept by one.

    Parameters
    ----------
    at
        What is due at the site.
    wish
        The week.
    today
        The practice's calendar day.
    """
    weights = {line.promised.about: _weight(line, wish, today) for line in at.lines}
    parts: list[tuple[list[DueLine], Limit]] = []
    for line in sorted(at.lines, key=lambda one: -weights[one.promised.about]):
        limit = limit_of(line, wish, today)
        for nth, (lines, known) in enumerate(parts):
            joint = _joint(known, limit)
            if max(joint.first_on, wish.first) <= joint.until:
                lines.append(line)
                parts[nth] = lines, joint
                break
        else:
            parts.append(([line], limit))
    for nth, (lines, limit) in enumerate(parts):
        key = at.site_id if nth == 0 else uuid5(at.site_id, lines[0].promised.about)
        weight = sum(weights[line.promised.about] for line in lines)
        yield DueGroup(key, at.site_id, tuple(lines), limit, weight)


def _kind(line: DueLine) -> FollowUpKind:
    kinds = follow_up_kinds()
    return kinds.get(line.promised.kind, kinds[UNKNOWN])


def _weight(line: DueLine, wish: WeekWish, today: date) -> float:
    day = min(max(wish.first, line.promised.due_on), wish.last)
    return line.weight if day == today else weigh(line.promised, _kind(line), day).weight


def limit_of(line: DueLine, wish: WeekWish, today: date) -> Limit:
    """Between which days a line of the desk is to be kept.

    Parameters
    ----------
    line
        The line.
    wish
        The week; what is borne no longer when it begins is to be kept on its first day.
    today
        The practice's calendar day, from which lateness is borne.
    """
    promised, kind = line.promised, _kind(line)
    until = today + timedelta(days=last_fitting(promised, kind, today))
    says, closes = promised.says, day_said(promised.last_on)
    if promised.last_on >= today:
        said = f"{says}: its window closes on {closes}"
    else:
        said = (
            f"{says}: its window closed on {closes}; to {day_said(until)} it is borne, as "
            f"{kind.label}"
        )
    first = max(promised.first_on, wish.first)
    return Limit(promised.first_on, promised.last_on, max(until, first), said)


def _joint(one: Limit, other: Limit) -> Limit:
    """The days that both bear."""
    nearer = min(one, other, key=lambda each: each.until)
    return Limit(
        max(one.first_on, other.first_on), min(one.last_on, other.last_on), nearer.until,
        nearer.said,
    )  # fmt: skip


def booked_elsewhere(groups: Sequence[DueGroup]) -> Iterator[str]:
    """What is booked on a day outside of its window: another visit would be one too many.

    Parameters
    ----------
    groups
        What is due.
    """
    for group in groups:
        days = {one.booked.on_day for one in group.lines if one.booked is not None}
        if days:
            said = joined([weekday_said(day) for day in sorted(days)], " and ")
            yield (
                f"{group.named}: something of it is booked for {said}, outside of its window; "
                "move that visit rather than book another."
            )
