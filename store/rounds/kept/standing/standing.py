"""How every site stands: clean, doubtful, infected, or suspect of a notifiable disease.

Nothing of it is entered: it follows from examinations, courses, deaths, samples and events. What
speaks against a pond is never weighed against what speaks for it, the worst reason decides; and the
worst pond decides for its site, since boots and nets go round all of it.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from functools import cache
from uuid import UUID

from store.book.book import Book
from store.exams.carried import seen_lately
from store.exams.new_fish import watch_new_fish
from store.exams.open_findings import open_findings
from store.facts.driving import driving
from store.facts.hazards import hazards
from store.rounds.kept.standing.looked import looking
from store.rounds.kept.standing.standing_rows import (
    CourseOf,
    Records,
    SampleOf,
    SitePond,
    read_records,
)
from store.rounds.kept.standing.standing_values import (
    RANK,
    Reason,
    SiteStanding,
    Standing,
    hazard_said,
    infectious,
    notifiable,
)
from store.text import day_said
from store.watch.concern import MorningList
from store.watch.found import OpenFinding
from store.watch.kinds.losses import BEFORE, LossesKind
from store.watch.kinds.suspicion import suspected_by
from store.watch.lost import number
from store.watch.rule import Rule
from store.watch.seen import SEEN_SAME_DAY, PondSeen

Told = tuple[Standing, str, date | None]
"""A standing, why in words, and the day."""
_NO_POND = "no pond is entered here"


def site_standings(
    book: Book,
    now: datetime,
    morning: MorningList | None = None,
    *,
    sites: Collection[UUID] | None = None,
) -> Mapping[UUID, SiteStanding]:
    """How every site of the book stands, or some of them, and why.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    morning
        The morning list of today, where it is at hand: it saves a second look at ponds where the
        rules have nothing to say.
    sites
        Keys of the sites that are wanted; None for all. What was carried to them from elsewhere
        is known all the same.

    Returns
    -------
    Mapping
        By site, those without a pond among them; one that is struck through is left out. Suspect:
        a rule suspects a notifiable disease, at whatever level and also at rest, a laboratory was
        asked for one and has not ruled it out, one was found or treated. Infected:
        an open finding, a running course unless it is against the water alone, a note of a hazard
        that nobody has looked for or treated since, losses that nothing explains. Doubtful: fish
        that were never examined, or not for long, or not since a course; new fish within the time
        in which they may still fall ill; gear that came undisinfected from an infected pond. Else
        clean.
    """
    today = book.today(now)
    with book.reading() as connection:
        records = read_records(connection, today, book.zone, sites)
    found, carried = open_findings(book), seen_lately(book, now)
    ruled = _by_the_rules(book, now, today, records, morning)
    told_of: dict[UUID, list[tuple[SitePond, list[Told]]]] = {}
    for one in records.ponds:
        told: list[Told] = []
        if one.pond is None:
            told.append(("doubtful", _NO_POND, None))
        else:
            key = one.pond
            told += ruled.get(key, ())
            told += _found(found.get(key, ()))
            told += _noted(records, key)
            told += _courses(records, key)
            told += _samples(records.samples.get(key, ()))
            told += _new_fish(records, key, today)
            for each in carried.get(key, ()):
                looked = records.examined.get(key)
                if (
                    each.kind == SEEN_SAME_DAY
                    and infectious(each.hazard)
                    and (looked is None or looked <= each.first)
                ):
                    what = f"{hazard_said(each.hazard)} may have been carried here: {each.says}"
                    told.append(("doubtful", what, each.first))
            told.append(_looked(records.examined.get(key), today))
        told_of.setdefault(one.site_id, []).append((one, told))
    return {site: _site(ponds) for site, ponds in told_of.items()}


def _site(ponds: Sequence[tuple[SitePond, Sequence[Told]]]) -> SiteStanding:
    reasons = [
        Reason(standing, one.pond, one.pond_name, says, day)
        for one, told in ponds
        for standing, says, day in told
    ]
    worst = max(RANK[one.standing] for one in reasons)
    if worst:  # what is well at a site that is not clean is no reason
        reasons = [one for one in reasons if one.standing != "clean"]
    reasons.sort(
        key=lambda one: (
            -RANK[one.standing], -(one.on_day or date.min).toordinal(), one.pond_name, one.says,
        )
    )  # fmt: skip
    first = ponds[0][0]
    return SiteStanding(first.site_id, first.client, first.site, tuple(reasons))


def _found(findings: Sequence[OpenFinding]) -> Iterator[Told]:
    for one in findings:
        if not infectious(one.hazard):
            continue
        how = "suspected" if one.suspected else "found"
        after = f" after {one.after_course}" if one.after_course else ""
        says = f"{hazard_said(one.hazard)} {how} on {day_said(one.on_day)}{after}, unanswered"
        yield "suspect" if notifiable(one.hazard) else "infected", says, one.on_day


def _noted(records: Records, pond: UUID) -> Iterator[Told]:
    """Hazards in the notes of a pond that nobody has treated or looked for since."""
    examined = records.examined.get(pond)
    for hazard, day in records.named.get(pond, ()):
        if not infectious(hazard):
            continue
        treated = any(
            hazard in one.hazards and one.started_on >= day for one in records.courses.get(pond, ())
        )
        cleared = any(
            one.hazard == hazard and one.result == "not detected" and one.taken_on >= day
            for one in records.samples.get(pond, ())
        )
        looked = examined is not None and examined > day and not notifiable(hazard)
        if not (treated or cleared or looked):
            says = f"{hazard_said(hazard)} noted on {day_said(day)}, unanswered"
            yield "suspect" if notifiable(hazard) else "infected", says, day


def _courses(records: Records, pond: UUID) -> Iterator[Told]:
    courses = records.courses.get(pond, ())
    for one in courses:
        if one.state != "running":
            continue
        against = [hazard for hazard in one.hazards if infectious(hazard)]
        since = f"a course runs since {day_said(one.started_on)}"
        if any(map(notifiable, against)):
            yield "suspect", f"{since} against {_named(against)}", one.started_on
        elif against:
            yield "infected", f"{since} against {_named(against)}", one.started_on
        elif not one.hazards:
            says = f"{since} ({one.reason}), and it is not said which hazard it is against"
            yield "infected", says, one.started_on
    examined, samples = records.examined.get(pond), records.samples.get(pond, ())
    doubts = []
    for one in courses:
        if one.ended_on is None or not _leaves_doubt(one):
            continue
        against = [hazard for hazard in one.hazards if infectious(hazard)]
        how = "ended" if one.state == "completed" else "was stopped early"
        what = f"against {_named(against)}" if against else f"({one.reason})"
        said = f"the course {what} {how} on {day_said(one.ended_on)}"
        # Fish that came through a virus carry it on, and no eye sees it.
        carried = [
            hazard for hazard in against
            if notifiable(hazard) and not _ruled_out(samples, hazard, one.ended_on)
        ]  # fmt: skip
        if carried:
            says = f"{said}, and no laboratory has ruled out {_named(carried)} since"
            yield "suspect", says, one.ended_on
        elif examined is None or examined < one.ended_on:
            doubts.append((one.ended_on, f"{said}, and no control examination was made"))
    if doubts:
        day, says = max(doubts)
        yield "doubtful", says, day


def _ruled_out(samples: Sequence[SampleOf], hazard: str, since: date) -> bool:
    return any(
        (one.hazard or _asked_for(one.asked)) == hazard
        and one.result == "not detected"
        and one.taken_on >= since
        for one in samples
    )


def _leaves_doubt(course: CourseOf) -> bool:
    """Whether a course ended that was against something infectious, or nobody knows what."""
    ended = course.state in {"completed", "stopped"}
    return ended and (not course.hazards or any(map(infectious, course.hazards)))


def _named(codes: Sequence[str]) -> str:
    return ", ".join(map(hazard_said, codes))


def _samples(samples: Sequence[SampleOf]) -> Iterator[Told]:
    """Samples that are awaited, or were reported unclear with no clear word on a later one."""
    for one in samples:
        hazard = one.hazard or _asked_for(one.asked)
        later = any(
            other.result in {"detected", "not detected"}
            and other.taken_on > one.taken_on
            and (other.hazard or _asked_for(other.asked)) == hazard
            for other in samples
        )
        if one.result not in {"awaited", "unclear"} or (one.result == "unclear" and later):
            continue
        if hazard and not infectious(hazard):
            continue
        about = f" for {hazard_said(hazard)}" if hazard else ""
        where = f" at {one.laboratory}" if one.laboratory else ""
        how = "is awaited" if one.result == "awaited" else "came back unclear"
        says = f"sample “{one.label}” of {day_said(one.taken_on)}{about}{where} {how}"
        yield "suspect" if notifiable(hazard) else "doubtful", says, one.taken_on


@cache
def _notifiable_words() -> tuple[tuple[str, re.Pattern[str]], ...]:
    return tuple(
        (
            code,
            re.compile("|".join(rf"\b{re.escape(word.casefold())}\b"
                                for word in (code, one.name, one.plain_name))),
        )
        for code, one in hazards().items()
        if one.notifiable
    )  # fmt: skip


def _asked_for(asked: str) -> str:
    """The notifiable disease that a sample was sent for, by the words; empty where none is."""
    text = asked.casefold()
    return next((code for code, words in _notifiable_words() if words.search(text)), "")


def _new_fish(records: Records, pond: UUID, today: date) -> Iterator[Told]:
    for one in records.came.get(pond, ()):
        watch = watch_new_fish(one.on_day, one.temp_c)
        if watch is not None and watch.until >= today:
            many = "fish" if one.fish is None else f"{one.fish} fish"
            water = "temperature not known" if one.temp_c is None else f"{one.temp_c:.1f} °C"
            says = (
                f"{many} came on {day_said(one.on_day)} and may still fall ill until "
                f"{day_said(watch.until)} ({water})"
            )
            yield "doubtful", says, one.on_day


def _looked(examined: date | None, today: date) -> Told:
    """What is known of the fish where nothing speaks against them."""
    if examined is None:
        return "doubtful", "fish never examined", None
    since = f"fish last examined on {day_said(examined)}"
    if (today - examined).days > driving().examined_days:
        return "doubtful", f"{since}, more than {driving().examined_days} days ago", examined
    return "clean", f"{since}, and nothing is open", examined


def _by_the_rules(
    book: Book, now: datetime, today: date, records: Records, morning: MorningList | None
) -> Mapping[UUID, Sequence[Told]]:
    """What the rules on deaths and on notifiable diseases find, of ponds with any such record."""
    with_losses = [one.pond for one in records.ponds if one.pond in records.losses]
    wanted = _speaking(with_losses, today, morning)
    found: dict[UUID, list[Told]] = {}
    for pond, losses in records.losses.items():
        died = losses.deaths(today - timedelta(days=driving().losses_days - 1), today)
        if died:
            says = f"{number(died)} dead in {driving().losses_days} days"
            found[pond] = [("doubtful", says, died[0].on_day)]
    with looking(book, wanted, now) as looked:
        for pond, seen in looked.seen.items():
            for rule in looked.rules.of(pond):
                told = list(_of_rule(rule, seen, today))
                if told and rule.kind == "losses":
                    found[pond] = [each for each in found.get(pond, ()) if each[0] != "doubtful"]
                found.setdefault(pond, []).extend(told)
    return found


def _speaking(
    ponds: Sequence[UUID | None], today: date, morning: MorningList | None
) -> Collection[UUID]:
    """Of some ponds those at which a rule may speak; all of them without a list of today."""
    keys = {pond for pond in ponds if pond is not None}
    if morning is None or morning.today != today:
        return keys
    return {
        line.pond
        for line in morning.lines
        if line.pond in keys and (line.level != "calm" or line.resting)
    }


def _of_rule(rule: Rule, seen: PondSeen, today: date) -> Iterator[Told]:
    if not rule.enabled:
        return
    if rule.kind == "suspicion":
        one = suspected_by(rule, seen, today)
        if one is not None:
            name = hazard_said(rule.hazard)
            why = one.for_it[0].removesuffix(".") if one.for_it else f"since {day_said(one.since)}"
            act = one.level == "act"
            head = f"{name} is suspected" if act else f"something speaks for {name}"
            yield "suspect", f"{head}: {why}", one.since
    elif rule.kind == "losses":
        kind = LossesKind()
        finding = kind.find(rule, seen, today)
        if finding is not None and finding.level != "calm":
            yield _losses(kind.what(rule, seen, finding), rule, seen, today)


def _losses(says: str, rule: Rule, seen: PondSeen, today: date) -> Told:
    """Deaths: infected unless each day of them has a cause that was written down."""
    assert seen.losses is not None
    died = seen.losses.deaths(today - timedelta(days=round(rule.number("within_days")) - 1), today)
    newest = max(one.on_day for one in died)
    causes = {
        dead.on_day: BEFORE[one.kind]
        for dead in died
        for one in seen.circumstances
        if one.kind in BEFORE and 0 <= (dead.on_day - one.first).days <= 1
    }
    if len(causes) == len({dead.on_day for dead in died}):
        why = " and ".join(sorted(set(causes.values())))
        return "doubtful", f"{says}, just after {why}", newest
    return "infected", f"{says}, nothing explains them", newest
