"""The record of changes over the whole book: pages, wishes, and all that hangs on a thing."""

from __future__ import annotations

from datetime import timedelta
from uuid import UUID

from entries import add_pond

from store.book.act import Act
from store.book.book import Book
from store.book.told.hanging import hanging
from store.book.told.record import Wish, Word, record
from store.book.visits import plan_visit


def _all(book: Book, wish: Wish, limit: int = 3, look: int | None = None) -> list[tuple[str, str]]:
    """Every line of a wish, read in pages, as table and what was done."""
    found, before = [], None
    for _ in range(1000):
        page = record(book, wish, before=before, limit=limit, look=look)
        assert len(page.lines) <= limit
        found += page.lines
        before = page.next
        if before is None:
            break
    assert len({one.id for one in found}) == len(found)
    order = [(one.at, one.id) for one in found]
    assert order == sorted(order, reverse=True)
    return [(one.table, one.what) for one in found]


def test_pages_join_to_the_whole_and_wishes_narrow_it(book: Book, act: Act) -> None:
    pond = add_pond(book, act, name="Koi% house")
    with book.writing(act) as writing:
        owner = writing.add("client", name="Äbbey Lodge")
        other = add_elsewhere(writing, owner)
    later = Act(act.by, act.at + timedelta(days=2))
    with book.writing(later) as writing:
        visit = plan_visit(writing, pond, book.today(later.at), kind="round")
        ben = writing.add("staff", name="Ben Rare", role="vet", initials="BR")
    with book.writing(Act(ben, later.at)) as writing:
        writing.change("pond", pond, 1, why="by a 100% honest stick", depth_m=1.4)
        writing.strike("visit", visit, "rained off")
    everything = _all(book, Wish())
    assert everything == _all(book, Wish(), limit=100)
    assert everything[:2] == [("visit", "strike"), ("pond", "change")]
    today = book.today(act.at)
    soon = book.today(later.at)
    assert _all(book, Wish(since=soon)) == everything[:4]
    assert _all(book, Wish(until=today)) == everything[4:]
    assert _all(book, Wish(since=today, until=soon)) == everything
    for look in (1, 2, 100):  # however few are looked at, all that fit are found
        assert _all(book, Wish(by=ben), look=look) == everything[:2]
        assert _all(book, Wish(tables=("visit",)), look=look) == [
            ("visit", "strike"), ("visit", "add"),
        ]  # fmt: skip
        assert _all(book, Wish(words=(Word("HONEST"),)), look=look) == [("pond", "change")]
    assert _all(book, Wish(tables=())) == []
    assert _all(book, Wish(words=(Word("100%"),))) == [("pond", "change")]
    assert _all(book, Wish(words=(Word("100_"),))) == []  # no sign of a pattern means anything
    assert ("visit", "add") in _all(book, Wish(words=(Word("koi%"),)))
    assert ("pond", "add") in _all(book, Wish(words=(Word("äbbey"),)))
    assert _all(book, Wish(words=(Word("x", did=("strike",)),)))[0] == ("visit", "strike")
    assert _all(book, Wish(row=("pond", pond))) == [("pond", "change"), ("pond", "add")]
    of_pond = _all(book, Wish(about=("pond", pond)))
    assert of_pond[:2] == everything[:2]
    assert of_pond.count(("pond", "add")) == 1
    assert _all(book, Wish(about=("pond", other))) == [("pond", "add")]
    assert _all(book, Wish(about=("client", owner))) == [
        ("pond", "add"), ("site", "add"), ("client", "add"),
    ]  # fmt: skip


def test_a_line_carries_its_values_and_its_link(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    with book.writing(act) as writing:
        writing.change("pond", pond, 1, why="measured", depth_m=2.0)
    (line,) = record(book, Wish(row=("pond", pond)), limit=1).lines
    assert (line.by_name, line.what, line.rev, line.why) == ("Ada Vet", "change", 2, "measured")
    assert (line.after, set(line.before)) == ({"depth_m": 2.0}, {"depth_m"})
    assert len(line.hash) == 64


def test_what_hangs_on_a_thing_follows_the_tables(book: Book, act: Act) -> None:
    pond = add_pond(book, act)
    with book.writing(act) as writing:
        owner = writing.add("client", name="Other")
        lent = writing.add("kit", name="Lent", pond_id=pond)
        test = writing.add("water_test", pond_id=pond, taken_at=act.at, way="form", kit_id=lent)
        elsewhere = add_elsewhere(writing, owner)
        away = writing.add(
            "water_test", pond_id=elsewhere, taken_at=act.at, way="form", kit_id=lent
        )
    with book.reading() as connection:
        found = set(connection.execute(hanging({"pond": [pond]})).scalars())
    # The kit is kept at the pond; a test of another pond does not hang on it for that.
    assert {pond, lent, test} <= found
    assert not {away, elsewhere, owner} & found


def add_elsewhere(writing: object, owner: UUID) -> UUID:
    site = writing.add("site", client_id=owner, name="Yard")  # type: ignore[attr-defined]
    return writing.add("pond", site_id=site, name="Tank")  # type: ignore[attr-defined,no-any-return]
