"""Two sites or two ponds that are one: nothing that points to the emptied one is lost."""

from __future__ import annotations

import random
import sys
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from entries import NOW, log_of, row_of
from sqlalchemy import select, update

from store.book.act import Act
from store.book.book import Book
from store.book.clients import sites
from store.book.columns import Base
from store.book.merging import merge_ponds as of_ponds
from store.book.merging import merge_sites as of_sites
from store.book.merging.merge_ponds import merge_ponds
from store.book.merging.merge_sites import merge_sites
from store.book.ponds import ponds
from store.book.tables import table
from store.book.told.history import history
from store.book.writing import Writing
from store.errors import BadInput, ChangedMeanwhile, NotAllowed

sys.path.append(str(Path(__file__).parents[1] / "exchange"))

from any_book import fill_any

WHY = "one garden, entered in spring and in autumn"
SITE = {"address": "3 Mill Lane", "town": "Wick", "postcode": "SO99 9ZZ"}


def _pointing(target: str) -> set[tuple[str, str]]:
    return {
        (each.name, column.name)
        for each in Base.metadata.sorted_tables
        for column in each.columns
        for key in column.foreign_keys
        if key.target_fullname == f"{target}.id"
    }


def test_every_column_that_points_at_a_place_is_known() -> None:
    assert _pointing("site") == set(of_sites.POINTING)
    logged = {(name, "pond_id") for name in of_ponds.LOGGED}
    assert _pointing("pond") == {*of_ponds.POINTING, *of_ponds.STAYS, *logged}


def _two(book: Book, act: Act, name: Any, **values: Any) -> tuple[UUID, UUID]:
    """Two sites of one client, or two ponds of one site."""
    with book.writing(act) as writing:
        owner = writing.add("client", name="Anne Alder")
        if name == "pond":
            owner = writing.add("site", client_id=owner, name="Garden")
        to = {"site": "client_id", "pond": "site_id"}[name]
        kept = writing.add(name, **{to: owner, "name": "The old one"})
        return kept, writing.add(name, **({to: owner, "name": "The new one"} | values))


def _all_pointing_at(book: Book, columns: Any, key: UUID) -> None:
    """A book with rows in every table, of which each points at one place that may."""
    fill_any(book, random.Random(5), most=2)
    with (
        book.engine.connect().execution_options(pondround_writes=True) as connection,
        connection.begin(),
    ):
        courses = table("course")
        connection.execute(update(courses).values(state="completed"))
        ways = table("drive_time")
        if columns is of_sites.POINTING:
            connection.execute(
                update(ways).values(
                    from_kind="site", from_site_id=key, from_staff_id=None,
                    to_kind="practice", to_site_id=None, to_staff_id=None,
                )
            )  # fmt: skip
        for name, column in columns:
            if (name, column) != ("drive_time", "to_site_id"):
                numbered = (
                    {"rev": 1} if "rev" in table(name).c else {}
                )  # any number may be the last
                connection.execute(update(table(name)).values({column: key} | numbered))


def _found(book: Book, key: UUID) -> set[tuple[str, str]]:
    """Where the key of a place stands, by whatever column, outside the log and its own row."""
    found = set()
    with book.reading() as connection:
        for each in Base.metadata.sorted_tables:
            if each.name == "change":
                continue
            for row in connection.execute(select(each)).mappings():
                for name, value in row.items():
                    text = str(value)
                    if (key.hex in text or str(key) in text) and row.get("id") != key:
                        found.add((each.name, name))
    return found


def test_nothing_points_to_the_emptied_site_any_more(book: Book, act: Act) -> None:
    kept, emptied = _two(book, act, "site")
    _all_pointing_at(book, of_sites.POINTING, emptied)
    pointing = set(of_sites.POINTING) - {("drive_time", "to_site_id")}
    assert _found(book, emptied) == pointing
    later = Act(act.by, NOW + timedelta(hours=1))
    merged = merge_sites(book, later, kept, emptied, WHY)
    assert _found(book, emptied) == set()
    assert _found(book, kept) == pointing
    assert set(merged.moved) == {name for name, _ in pointing}
    with book.reading() as connection:
        for name, column in pointing:
            rows = connection.execute(select(table(name).c.id, table(name).c.rev)).all()
            assert len(rows) == merged.moved[name]  # type: ignore[index]
            for key, rev in rows:
                line = log_of(book, key)[-1]
                assert (line.rev, line.what, line.after) == (rev, "change", {column: str(kept)})
                assert line.before == {column: str(emptied)}
                assert WHY in line.why
    assert row_of(book, "site", emptied).struck_why == f"the same site as The old one: {WHY}"


def test_nothing_points_to_the_emptied_pond_any_more(book: Book, act: Act) -> None:
    kept, emptied = _two(book, act, "pond")
    series = tuple((name, "pond_id") for name in of_ponds.LOGGED)
    _all_pointing_at(book, (*of_ponds.POINTING, *series[:1]), emptied)
    with book.writing(act) as writing:
        visit = writing.add("visit", site_id=row_of(book, "pond", kept).site_id, on_day=NOW.date())
        named = writing.add(
            "visit_purpose", visit_id=visit, about=f"concern:{emptied.hex}:no_air", kind="test",
            says="x", due_on=NOW.date(), first_on=NOW.date(), last_on=NOW.date(),
        )  # fmt: skip
    pointing = {*of_ponds.POINTING, series[0]}
    assert _found(book, emptied) == {*pointing, ("visit_purpose", "about")}
    merged = merge_ponds(book, Act(act.by, NOW + timedelta(hours=1)), kept, emptied, WHY)
    assert _found(book, emptied) == set()
    assert _found(book, kept) >= pointing
    assert row_of(book, "visit_purpose", named).about == f"concern:{kept.hex}:no_air"
    assert set(merged.moved) == {name for name, _ in pointing}
    moved = merged.moved["logger_reading"]
    assert f"(with {moved} values of loggers)" in row_of(book, "pond", emptied).struck_why


def test_what_the_kept_site_lacked_is_filled_in_and_what_differs_is_noted(
    sqlite_book: Book, act: Act
) -> None:
    kept, emptied = _two(sqlite_book, act, "site", **SITE, access_hours="after 9")
    with sqlite_book.writing(act) as writing:
        rev = writing.change("site", kept, 1, access_hours="before noon", access_notes="Dog bites.")
        way = {"from_kind": "site", "to_kind": "site", "minutes": 4.0, "source": "own"}
        writing.add("drive_time", from_site_id=kept, to_site_id=emptied, **way)
        for site in (kept, emptied):
            writing.add("pond", site_id=site, name="Lower pond")
    merged = merge_sites(sqlite_book, act, kept, emptied, WHY, kept_rev=rev, emptied_rev=1)
    (one,) = sites(sqlite_book)
    assert (one.address, one.town, one.postcode) == tuple(SITE.values())
    assert one.access_hours == "before noon"
    assert one.access_notes == "Dog bites.\nAlso entered as The new one; access after 9"
    assert merged.told == (
        "1 drive time between the two struck through.",
        "2 ponds of the site are called Lower pond now; if they are one, merge them.",
        "One gets in there before noon, as before; of the other it was said: after 9.",
    )


def test_what_the_kept_pond_lacked_is_filled_in_and_what_differs_is_noted(
    sqlite_book: Book, act: Act
) -> None:
    kept, emptied = _two(
        sqlite_book, act, "pond", code="A7", lining="clay", depth_m=1.2, use="food", notes="Deep."
    )
    with sqlite_book.writing(act) as writing:
        writing.change("pond", kept, 1, lining="rubber", notes="Shady.")
        for pond in (kept, emptied):
            writing.add("water_test", pond_id=pond, taken_at=NOW, way="form")
    merged = merge_ponds(sqlite_book, act, kept, emptied, WHY)
    (one,) = ponds(sqlite_book)
    assert (one.code, one.lining, one.depth_m, one.use) == ("A7", "rubber", 1.2, "food")
    assert one.notes == "Shady.\nAlso entered as The new one; lining clay\nDeep."
    assert merged.moved == {"water_test": 1}
    assert merged.told[0].startswith("At 1 moment there are several water tests now")


def test_what_nobody_can_make_one_is_refused_and_nothing_changed(
    sqlite_book: Book, act: Act
) -> None:
    book = sqlite_book
    kept, emptied = _two(book, act, "pond", use="food")
    elsewhere = _two(book, act, "pond")[0]
    garden = row_of(book, "pond", kept).site_id, row_of(book, "pond", elsewhere).site_id
    with pytest.raises(BadInput, match="at two sites"):
        merge_ponds(book, act, kept, elsewhere, WHY)
    with pytest.raises(BadInput, match="two clients"):
        merge_sites(book, act, *garden, WHY)
    with pytest.raises(BadInput, match="known to be one"):
        merge_sites(book, act, *garden, " ")
    with pytest.raises(BadInput, match="with itself"):
        merge_ponds(book, act, kept, kept, WHY)
    with book.writing(act) as writing:
        rev = writing.change("pond", kept, 1, use="ornamental")
    with pytest.raises(ChangedMeanwhile):
        merge_ponds(book, act, kept, emptied, WHY, kept_rev=1)
    with pytest.raises(NotAllowed, match="are eaten"):
        merge_ponds(book, act, kept, emptied, WHY)
    with book.writing(act) as writing:
        writing.change("pond", kept, rev, use="not asked")
        rule = {"pond_id": emptied, "rule": "no_air", "why": "shallow"}
        writing.add("rule_change", **rule, params={"act_below": 5.0})
    with pytest.raises(NotAllowed, match=r"limits of its own \(no_air\)"):
        merge_ponds(book, act, kept, emptied, WHY)
    with book.writing(Act(act.by, NOW + timedelta(hours=1))) as writing:
        writing.add("rule_change", **rule, params={})
    _logged(book, kept, NOW)
    _logged(book, emptied, NOW + timedelta(minutes=5))
    with pytest.raises(NotAllowed, match="temperature by a logger on 2026-03-14"):
        merge_ponds(book, act, kept, emptied, WHY)
    assert {one.id for one in ponds(book)} >= {kept, emptied}
    assert row_of(book, "pond", emptied).rev == 1


def _logged(book: Book, pond: UUID, at: datetime) -> None:
    with (
        book.engine.connect().execution_options(pondround_writes=True) as connection,
        connection.begin(),
    ):
        values = {"pond_id": pond, "parameter": "temperature"}
        connection.execute(table("logger_reading").insert(), [values | {"at": at, "value": 7.0}])
        day = {"day": date(2026, 3, 14), "n": 1, "mean": 7.0, "low": 7.0, "high": 7.0}
        connection.execute(table("logger_day").insert(), [values | day])


def test_two_courses_never_come_to_run_in_one_water(sqlite_book: Book, act: Act) -> None:
    kept, emptied = _two(sqlite_book, act, "pond")
    course = table("course")
    fill_any(sqlite_book, random.Random(3), most=6)
    with sqlite_book.reading() as connection:
        rows = connection.execute(select(course.c.id)).scalars().all()
    assert len(rows) > 1
    with (
        sqlite_book.engine.connect().execution_options(pondround_writes=True) as connection,
        connection.begin(),
    ):
        for key, pond in zip(rows, (kept, emptied), strict=False):
            connection.execute(
                update(course)
                .where(course.c.id == key)
                .values(pond_id=pond, state="running", struck_at=None, struck_by=None)
            )
    with pytest.raises(NotAllowed, match="they would add up"):
        merge_ponds(sqlite_book, act, kept, emptied, WHY)
    with sqlite_book.writing(act) as writing:
        writing.change("pond", kept, row_of(sqlite_book, "pond", kept).rev, volume_l=18_400)
    with (
        sqlite_book.engine.connect().execution_options(pondround_writes=True) as connection,
        connection.begin(),
    ):
        planned = {"volume_low_l": 2_200, "volume_l": 2_200, "volume_high_l": 2_200, "rev": 1}
        connection.execute(update(course).values(planned))
        connection.execute(update(course).where(course.c.pond_id == kept).values(state="completed"))
    told = merge_ponds(sqlite_book, act, kept, emptied, WHY).told
    assert told[0] == (
        "The amounts of its course are for 2,200 L, and the pond has 18,400 L in force: a vet "
        "looks at both before the next dose."
    )


def _rest(writing: Writing, pond: UUID, rule: str, until: date = date(2026, 4, 1)) -> UUID:
    return writing.add(
        "rest", pond_id=pond, rule=rule, until_day=until, reason="sampled", level="watch"
    )


def test_what_was_at_rest_at_one_of_two_ponds_speaks_again(sqlite_book: Book, act: Act) -> None:
    book = sqlite_book
    kept, emptied = _two(book, act, "pond")
    with book.writing(act) as writing:
        hushed = _rest(writing, emptied, "khv_suspected")
        mine = _rest(writing, kept, "no_air")
        both = [_rest(writing, pond, "old_test") for pond in (kept, emptied)]
        past = _rest(writing, emptied, "low_kh", date(2026, 3, 14))
        writing.add("water_test", pond_id=kept, taken_at=NOW, way="form")
    merged = merge_ponds(book, act, kept, emptied, WHY)
    assert merged.told == (
        "What was at rest at one of the two speaks again (khv suspected): it was put to rest by "
        "the records of one.",
    )
    assert WHY in row_of(book, "rest", hushed).struck_why
    # The emptied pond had no record of its own: what was said of the kept one holds.
    for key in (mine, *both, past):
        assert row_of(book, "rest", key).struck_at is None
        assert row_of(book, "rest", key).pond_id == kept


def test_what_a_person_is_to_look_at_is_told(sqlite_book: Book, act: Act) -> None:
    book = sqlite_book
    own: dict[str, Any] = {"use": "food", "indoor": True, "heated": True, "test_every_days": 7}
    own["shade"] = "open sky"
    seasons = [{"from": "11-01", "to": "02-28", "every_days": 30}]
    kept, emptied = _two(book, act, "pond", **own, test_seasons=seasons)
    day = NOW.date()
    with book.writing(act) as writing:
        writing.change("pond", kept, 1, test_every_days=28, shade="most of the day")
        for pond in (kept, emptied):
            writing.add("death_count", pond_id=pond, on_day=day, species="koi", dead=2)
            writing.add("head_count", pond_id=pond, on_day=day, species="koi", fish=20, how="told")
            writing.add("pond_event", pond_id=pond, on_day=day, kind="new_fish", amount=3)
        writing.add("pond_event", pond_id=emptied, on_day=day, kind="spawning")
    merged = merge_ponds(book, act, kept, emptied, WHY)
    adds_up = "at both, and it adds up: if it was entered twice, strike one through."
    plan = "every 7 days, from 11-01 to 02-28 every 30 days"
    assert merged.told == (
        f"On 1 day dead fish were counted {adds_up}",
        f"On 1 day the same happened {adds_up}",
        "Fish were counted at both: the newest count of a kind is that of the one.",
        "Its fish are eaten now, as was said of the other.",
        "It stays outdoors, unlike the other.",
        "It stays unheated, unlike the other.",
        "Its shade stays most of the day; of the other it was said: open sky.",
        f"It is to be tested every 28 days as before; of the other it was said: {plan}.",
    )
    (one,) = ponds(book)
    assert one.notes == (
        f"Also entered as The new one; to be tested {plan}; entered as indoors; entered as heated; "
        "shade open sky"
    )


def test_two_visits_to_one_site_and_two_hours_of_access_are_told(
    sqlite_book: Book, act: Act
) -> None:
    book = sqlite_book
    kept, emptied = _two(book, act, "site", access_hours="after 9")
    with book.writing(act) as writing:
        writing.change("site", kept, 1, access_hours="before noon")
        for site, state in ((kept, "planned"), (emptied, "planned"), (emptied, "done")):
            writing.add("visit", site_id=site, on_day=date(2026, 3, 20), state=state)
            writing.add("visit", site_id=site, on_day=date(2026, 3, 13))
    assert merge_sites(book, act, kept, emptied, WHY).told == (
        "2 visits are planned there on 20 Mar 2026 now; one may be enough.",
        "One gets in there before noon, as before; of the other it was said: after 9.",
    )


def test_a_window_that_still_shows_the_emptied_one_saves_nothing_there(
    book: Book, act: Act
) -> None:
    kept, emptied = _two(book, act, "pond")
    merge_ponds(book, act, kept, emptied, WHY)
    event: dict[str, Any] = {"on_day": NOW.date(), "kind": "spawning"}
    with (
        pytest.raises(
            NotAllowed, match=r"The new one is struck through \(the same pond as The old"
        ),
        book.writing(act) as writing,
    ):
        writing.add_many("pond_event", [event | {"pond_id": one} for one in (kept, emptied)])
    with book.writing(act) as writing:
        assert not writing.has("pond_event")
        writing.add("pond_event", pond_id=kept, **event)


@pytest.mark.parametrize("name", ["site", "pond"])
def test_the_history_of_the_kept_one_names_the_merging_also_where_it_lacked_nothing(
    sqlite_book: Book, act: Act, name: Any
) -> None:
    kept, emptied = _two(sqlite_book, act, name)
    with sqlite_book.writing(act) as writing:
        writing.change(name, emptied, 1, name="The old one")
    merge: Any = {"site": merge_sites, "pond": merge_ponds}[name]
    merge(sqlite_book, act, kept, emptied, WHY)
    newest, _added = history(sqlite_book, name, kept)
    assert (newest.what, newest.rev, dict(newest.after)) == ("change", 2, {})
    assert newest.why == f"the same {name} as The old one: {WHY}"
    assert row_of(sqlite_book, name, kept).rev == 2
