"""Some sites and ponds by themselves stand, and are seen, as they do among all of them."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from sqlalchemy import event as on

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.courses.kept.morning import morning_list
from store.exchange.demo.practice import make_demo
from store.rounds.kept.standing.standing import site_standings
from store.rounds.kept.standing.wishes import hour_wishes
from store.watch.look import Caseload, look
from tests.bench.caseload import make_caseload
from tests.book.entries import NOW
from tests.diary.desk_entries import GOOD
from tests.diary.desk_entries import sample as water
from tests.exams.dying_pond import add_dying_pond
from tests.rounds.standing_ponds import DAY, FLUKES, TODAY, looked, own, sent, treat
from tests.rounds.test_standing import died, event

DEMO_NOW = datetime(2026, 11, 25, 7, 31, tzinfo=NOW.tzinfo)


def same_for_some(book: Book, now: datetime) -> None:
    """Every site alone, some of them, and all: each time the same."""
    every = site_standings(book, now)
    assert every
    morning = morning_list(book, now)
    for site, one in every.items():
        assert site_standings(book, now, sites=[site]) == {site: one}
        assert site_standings(book, now, morning, sites={site}) == {site: one}
    some = list(every)[::2]
    assert site_standings(book, now, sites=some) == {site: every[site] for site in some}
    assert site_standings(book, now, sites=every) == every
    assert site_standings(book, now, sites=()) == {}
    wishes = hour_wishes(book, now, every)
    assert hour_wishes(book, now, every, morning) == wishes
    for site in every:
        assert hour_wishes(book, now, [site]) == {
            key: one for key, one in wishes.items() if key == site
        }


def test_ponds_of_every_kind_stand_by_themselves_as_among_all(book: Book, act: Act) -> None:
    """Found, treated, sampled, dying, new, noted, with water that is off, and carried between."""
    add_dying_pond(book, act)
    first, one, two = own(book, act, "Ann Pike", "Upper", "Lower")
    looked(book, act, one, 2, FLUKES)
    _second, near = own(book, act, "Bea Ash")
    looked(book, act, near, 2, hour=11)
    _third, treated = own(book, act, "Cal Reed")
    treat(book, act, treated, 9, "gill_flukes", ended=3)
    sent(book, act, two, 3)
    event(book, act, treated, "new_fish", 4, amount=6.0)
    died(book, act, near, 1, 6)
    water(book, act, two, NOW - timedelta(hours=6), GOOD.replace("DO 9.4", "DO 3.1"))
    gone, _pond = own(book, act, "Gone")
    with book.writing(act) as writing:
        writing.strike("site", gone, "sold")
    same_for_some(book, NOW)
    assert site_standings(book, NOW, sites=[gone]) == {}
    assert site_standings(book, NOW, sites=[first])[first].standing == "suspect"


def test_what_was_carried_is_known_though_its_source_is_not_asked_for(book: Book, act: Act) -> None:
    """The same person came from an infected pond of another site on the same day."""
    _source, sick = own(book, act, "Ann Pike")
    looked(book, act, sick, 2, FLUKES, hour=8)
    site, pond = own(book, act, "Bea Ash")
    looked(book, act, pond, 2, hour=11)
    found = site_standings(book, NOW, sites=[site])
    assert set(found) == {site}
    assert "may have been carried here: it was seen on 12 Mar 2026 at Ann Pike" in found[site].said


def test_the_sites_of_the_demo_practice_stand_alone_as_among_all(empty_address: str) -> None:
    with make_demo(empty_address, DEMO_NOW) as book:
        same_for_some(book, DEMO_NOW)


def as_seen(caseload: Caseload) -> dict[UUID, tuple[Any, ...]]:
    """What there is of each pond, however its tests came."""
    return {
        key: (
            caseload.places[key], one.altitude_m, one.indoor, one.every_days, one.seasons,
            [(test.at_ms, test.temperature_c, one.values(nth))
             for nth, test in enumerate(one.tests)],
            one.added, one.midnight_ms, dict(one.logger), dict(one.last_hours),
            one.circumstances, one.losses, dict(one.kits()),
        )
        for key, one in caseload.seen.items()
    }  # fmt: skip


def test_some_ponds_are_seen_as_all_are(book: Book, act: Act) -> None:
    dying = add_dying_pond(book, act)
    _site, *ponds = own(book, act, "Ann Pike", "Upper", "Lower", "Filled in")
    for nth, pond in enumerate(ponds):
        for days in range(9):
            water(book, act, pond, NOW - days * DAY, GOOD.replace("12C", f"{11 + nth}C"))
    event(book, act, ponds[0], "new_fish", 4, amount=6.0)
    logged = [
        {"pond_id": pond, "parameter": "temperature_c", "at": NOW - timedelta(hours=hour),
         "value": 9.0 + hour}
        for pond in ponds[:2] for hour in (3, 2, 1)
    ]  # fmt: skip
    days = [
        {"pond_id": pond, "parameter": "temperature_c", "day": TODAY - nth * DAY, "n": 24,
         "mean": 9.0 + nth, "low": 8.0, "high": 19.0}
        for pond in ponds[:2] for nth in (1, 0)
    ]  # fmt: skip
    with book.writing(act) as writing:
        writing.strike("pond", ponds[2], "filled in")
        writing.add_many("logger_reading", logged)
        writing.add_many("logger_day", days)
    with book.reading() as connection:
        every = as_seen(look(connection, NOW, book.zone))
        for some in ([dying], [dying, ponds[1]], [*ponds, dying, dying], []):
            seen = as_seen(look(connection, NOW, book.zone, ponds=some))
            assert seen == {key: every[key] for key in some if key in every}
            assert ponds[2] not in seen


def test_what_some_cost_does_not_grow_with_the_caseload(tmp_path: Path) -> None:
    """Neither in queries nor in rows: only the ponds that are asked for are read."""
    steps = []
    for ponds in (60, 600):
        path = tmp_path / f"{ponds}.pondround"
        make_caseload(path, ponds, 6, NOW)
        with open_book(path, now=NOW) as book:
            sites = list(site_standings(book, NOW))[:8]
            hour_wishes(book, NOW, sites)
            said: list[int] = []

            def counted(raw: Any, *_: Any, into: list[int] = said) -> None:
                raw.set_progress_handler(lambda: into.append(1), 1000)

            on.listen(book.engine, "checkout", counted)
            assert len(site_standings(book, NOW, sites=sites)) == 8
            assert hour_wishes(book, NOW, sites)
            steps.append(len(said))
    assert steps[1] < 3 * steps[0] + 5, steps
