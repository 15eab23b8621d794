"""Half a name on the telephone finds the client and the pond."""

from __future__ import annotations

import itertools
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import event

from store.book.act import Act
from store.book.book import Book
from store.book.find import directory, find, folded


@pytest.fixture
def filled(book: Book, act: Act) -> Book:
    return _filled(book, act)


@pytest.fixture
def filled_sqlite(sqlite_book: Book, act: Act) -> Book:
    return _filled(sqlite_book, act)


def _filled(book: Book, act: Act) -> Book:
    with book.writing(act) as writing:
        henderson = writing.add(
            "client", name="Margery Henderson", phone="01632 960123", phone2="+44 7700 900456",
            email="margery@example.org",
        )  # fmt: skip
        oconnor = writing.add("client", name="O'Connor & Søn", phone="(01632) 960-987")
        writing.add("client", name="Nomad Castaway", phone="01632 960555")
        garden = writing.add(
            "site", client_id=henderson, name="The Old Rectory", address="3 Mill Lane",
            town="Ashbrook", postcode="ZZ12 3QX",
        )  # fmt: skip
        hotel = writing.add("site", client_id=oconnor, name="Château Hôtel", town="Mill Brook")
        for place, name, code in (
            (garden, "Koi pond", "H1"), (garden, "Lily pond", "H2"), (hotel, "Lobby pond", "C1"),
        ):  # fmt: skip
            writing.add("pond", site_id=place, name=name, code=code)
    return book


def names(book: Book, typed: str) -> list[str]:
    return [each.pond or each.client for each in find(book, typed)]


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("henderson", "Margery Henderson"),
        ("HENDER", "Margery Henderson"),
        ("enders", "Margery Henderson"),
        ("hendreson", "Margery Henderson"),
        ("hednerson", "Margery Henderson"),
        ("hendersen margery", "Margery Henderson"),
        ("henerso", "Margery Henderson"),  # half of it, with a letter left out
        ("hennde", "Margery Henderson"),  # and with one doubled
        ("margery henderson", "Margery Henderson"),
        ("koi henderson", "Koi pond"),
        ("pond lily", "Lily pond"),
        ("h2", "Lily pond"),
        ("lobby", "Lobby pond"),
        ("oconnor", "O'Connor & Søn"),
        ("o’connor", "O'Connor & Søn"),
        ("son", "O'Connor & Søn"),
        ("chateau", "O'Connor & Søn"),
        ("hotel lobby", "Lobby pond"),
        ("millbrook", "O'Connor & Søn"),
        ("mill lane", "Margery Henderson"),
        ("zz12 3qx", "Margery Henderson"),
        ("zz123qx", "Margery Henderson"),
        ("ashbrok", "Margery Henderson"),
        ("margery@example.org", "Margery Henderson"),
        ("960123", "Margery Henderson"),
        ("01632 960 123", "Margery Henderson"),
        ("01632960123", "Margery Henderson"),
        ("+44 1632 960123", "Margery Henderson"),
        ("0044 1632 960123", "Margery Henderson"),
        ("07700 900456", "Margery Henderson"),
        ("0456", "Margery Henderson"),
        ("960987", "O'Connor & Søn"),
        ("960-987", "O'Connor & Søn"),
        ("connor 987", "O'Connor & Søn"),
        ("castaway", "Nomad Castaway"),
    ],
)
def test_half_of_what_one_knows_is_enough(filled_sqlite: Book, typed: str, first: str) -> None:
    assert names(filled_sqlite, typed)[0] == first


def test_the_same_on_each_database(filled: Book) -> None:
    assert names(filled, "hendreson")[0] == "Margery Henderson"
    assert set(names(filled, "henderson")) == {"Margery Henderson", "Koi pond", "Lily pond"}
    assert [place.pond for place in directory(filled).places] == [
        "Koi pond", "Lily pond", "Lobby pond",
    ]  # fmt: skip


@pytest.mark.parametrize("typed", ["", "  ", "-", "xylophone", "henderson lobby", "*", "%"])
def test_what_fits_nothing_finds_nothing(filled_sqlite: Book, typed: str) -> None:
    assert find(filled_sqlite, typed) == ()


def test_the_reason_is_told(filled_sqlite: Book) -> None:
    reasons = {
        typed: find(filled_sqlite, typed)[0].reason
        for typed in ("henders", "hendreson", "960123", "koi ashbrook")
    }
    assert reasons == {
        "henders": "client Margery Henderson",
        "hendreson": "client spelt Margery Henderson",
        "960123": "telephone has 960123",
        "koi ashbrook": "pond Koi pond, town Ashbrook",
    }


def test_whole_words_come_before_parts_and_parts_before_misspelt(
    sqlite_book: Book, act: Act
) -> None:
    with sqlite_book.writing(act) as writing:
        for name in ("Marton", "Marshton", "Marsh", "Marsham", "Saltmarsh", "Marhs"):
            writing.add("client", name=name)
    found = names(sqlite_book, "marsh")
    assert found[0] == "Marsh"
    assert set(found[1:3]) == {"Marsham", "Marshton"}
    assert found[3:5] == ["Saltmarsh", "Marhs"]


def test_order_of_words_does_not_matter(filled_sqlite: Book) -> None:
    words = ["koi", "margery", "ashbrook"]
    lists = {tuple(names(filled_sqlite, " ".join(p))) for p in itertools.permutations(words)}
    assert lists == {("Koi pond",)}


def test_what_was_just_written_is_found_and_what_was_struck_is_not(filled: Book, act: Act) -> None:
    assert find(filled, "newcomer") == ()
    with filled.writing(act) as writing:
        key = writing.add("client", name="Newcomer")
    assert names(filled, "newcomer") == ["Newcomer"]
    with filled.writing(act) as writing:
        writing.change("client", key, 1, name="Latecomer")
    assert names(filled, "newcomer")[:1] != ["Newcomer"]
    with filled.writing(act) as writing:
        writing.strike("client", key, "was here already")
    assert find(filled, "latecomer") == ()
    koi = next(each for each in find(filled, "koi") if each.kind == "pond")
    assert koi.pond_id is not None
    with filled.writing(act) as writing:
        writing.strike("pond", koi.pond_id, "filled in")
    assert find(filled, "koi") == ()
    assert directory(filled).total == 2


def test_the_index_is_kept_while_nothing_of_it_was_written(filled_sqlite: Book, act: Act) -> None:
    from store.book.find import _index

    first = _index(filled_sqlite)
    with filled_sqlite.writing(act) as writing:
        writing.add("kit", name="Drops")
    assert _index(filled_sqlite) is first
    with filled_sqlite.writing(act) as writing:
        writing.add("client", name="One more")
    assert _index(filled_sqlite) is not first


def test_the_directory_counts_what_it_does_not_show(filled_sqlite: Book) -> None:
    page = directory(filled_sqlite, limit=1, offset=1)
    assert [place.pond for place in page.places] == ["Lily pond"]
    assert (page.fitting, page.total) == (3, 3)
    page = directory(filled_sqlite, "henderson")
    assert [(place.client, place.pond) for place in page.places] == [
        ("Margery Henderson", "Koi pond"), ("Margery Henderson", "Lily pond"),
    ]  # fmt: skip
    assert (page.fitting, page.total) == (2, 3)
    assert directory(filled_sqlite, "xylophone").places == ()


def test_folding() -> None:
    assert folded("ÉCLUSE") == folded("écluse") == "ecluse"
    assert folded("Łódź Straße Æbeltoft") == "lodz strasse aebeltoft"
    assert folded("بركة") == "بركة"


@settings(
    max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(typed=st.text(max_size=500))
def test_anything_may_be_typed(filled_sqlite: Book, typed: str) -> None:
    for found in find(filled_sqlite, typed):
        assert 0.0 < found.score <= 1.0
        assert found.reason


def test_three_thousand_ponds_are_searched_while_typing(sqlite_book: Book, act: Act) -> None:
    """All are read once; the next searches go to memory."""
    with sqlite_book.writing(act) as writing:
        owners = writing.add_many(
            "client",
            [{"name": f"Owner{n:04} Family", "phone": f"01632 {n:06}"} for n in range(1500)],
        )
        places = writing.add_many(
            "site",
            [{"client_id": key, "name": f"House{n}", "town": f"Town{n % 90}"}
             for n, key in enumerate(owners)],
        )  # fmt: skip
        writing.add_many(
            "pond", [{"site_id": places[n // 2], "name": f"Pond{n}"} for n in range(3000)]
        )
    statements: list[str] = []

    @event.listens_for(sqlite_book.engine, "before_cursor_execute")
    def count(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        if "JOIN" in statement:
            statements.append(statement)

    assert names(sqlite_book, "owner0777")[0] == "Owner0777 Family"
    assert len(find(sqlite_book, "onwer0778 family")) == 20
    assert directory(sqlite_book).total == 3000
    assert len(statements) == 1
