"""Forms of the records: what is typed arrives in the book, and what stands there is typed again."""

from __future__ import annotations

from typing import Any

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.clients import client, site
from store.book.declared import declared
from store.book.kits import kit
from store.book.ponds import card
from store.book.told.history import history
from store.errors import BadInput, ChangedMeanwhile
from store.water.entered import (
    fields_of,
    save_new_pond,
    save_texts,
    texts_of,
    values_of,
)

NEW = {
    "client.name": "Brook House", "client.phone": "01632 960 123",
    "site.name": "Garden", "site.latitude": "51.5 N", "site.longitude": "0,1278 W",
    "site.elevation_m": "300 ft", "pond.name": "Lower pond", "pond.depth_m": "150 cm",
    "pond.test_every_days": "2 weeks", "pond.test_seasons": "Nov – Feb monthly",
    "pond.indoor": "yes", "pond.use": "not asked", "pond.heated": "yes",
    "pond.shade": "part of the day",
}  # fmt: skip


def test_client_site_and_pond_are_saved_in_one_go(book: Book, act: Act) -> None:
    pond = save_new_pond(book, act, NEW)
    found = card(book, pond)
    assert (found.client.name, found.site.name, found.pond.name) == (
        "Brook House", "Garden", "Lower pond",
    )  # fmt: skip
    assert (found.site.latitude, found.site.longitude) == (51.5, -0.1278)
    assert found.site.elevation_m == pytest.approx(91.44)
    assert (found.pond.depth_m, found.pond.test_every_days, found.pond.indoor) == (1.5, 14, True)
    assert found.pond.use == "not asked"
    assert (found.pond.heated, found.pond.shade) == (True, "part of the day")
    assert texts_of("pond", found.pond)["heated"] == "yes"
    again = save_new_pond(book, act, {"pond.name": "Upper pond"}, site_id=found.site.id)
    assert card(book, again).client.id == found.client.id


@pytest.mark.parametrize(
    ("field", "text"),
    [("client.name", ""), ("site.latitude", "north"), ("site.longitude", "5 N"),
     ("site.latitude", "95"), ("pond.depth_m", "3 furlongs"), ("pond.test_every_days", "0"),
     ("pond.test_seasons", "winter"), ("pond.name", "x" * 5000), ("client.email", "nobody")],
)  # fmt: skip
def test_a_fault_is_told_at_its_field_and_nothing_is_saved(
    sqlite_book: Book, act: Act, field: str, text: str
) -> None:
    from store.book.listing import listing

    with pytest.raises(BadInput) as refused:
        save_new_pond(sqlite_book, act, NEW | {field: text})
    assert refused.value.field == field
    assert listing(sqlite_book).lines == ()


def test_what_stands_in_a_form_is_saved_unchanged(book: Book, act: Act) -> None:
    found = card(book, save_new_pond(book, act, NEW))
    for record, row in (("pond", found.pond), ("site", found.site), ("client", found.client)):
        texts: Any = texts_of(record, row)  # type: ignore[arg-type]
        assert list(texts) == list(fields_of(record))  # type: ignore[arg-type]
        for name, value in values_of(record, texts).items():  # type: ignore[arg-type]
            assert value == getattr(row, name)
        save_texts(book, act, record, texts, key=row.id, rev=row.rev)  # type: ignore[arg-type]
    assert card(book, found.pond.id).pond.rev == found.pond.rev


def test_only_what_differs_is_changed_and_a_newer_record_is_kept(book: Book, act: Act) -> None:
    key = save_texts(book, act, "client", {"name": "Brook House"})
    row = client(book, key)
    begun = texts_of("client", row)
    save_texts(book, act, "client", begun | {"phone": "1"}, key=key, rev=row.rev, begun=begun)
    mine = begun | {"email": "a@example.org"}
    with pytest.raises(ChangedMeanwhile):
        save_texts(book, act, "client", mine, key=key, rev=row.rev, begun=begun)
    newer = client(book, key)
    save_texts(book, act, "client", mine, key=key, rev=newer.rev, begun=begun)
    assert (client(book, key).phone, client(book, key).email) == ("1", "a@example.org")


def test_days_of_a_kit(book: Book, act: Act) -> None:
    key = save_texts(
        book, act, "kit", {"name": "Case", "ammonia_form": "nh4", "expires_on": "2027-04-30"}
    )
    assert texts_of("kit", kit(book, key))["expires_on"] == "2027-04-30"
    with pytest.raises(BadInput) as refused:
        save_texts(book, act, "kit", {"name": "Case", "expires_on": "April"})
    assert refused.value.field == "expires_on"


def test_a_site_of_a_client_that_is_there(sqlite_book: Book, act: Act) -> None:
    key = save_texts(sqlite_book, act, "client", {"name": "Brook House"})
    pond = save_new_pond(
        sqlite_book, act, {"site.name": "Yard", "pond.name": "Vat 1"}, client_id=key
    )
    assert site(sqlite_book, card(sqlite_book, pond).site.id).client_id == key


def test_whether_fish_are_eaten_is_changed_with_a_name_or_not_at_all(book: Book, act: Act) -> None:
    pond = save_new_pond(book, act, NEW)
    texts = texts_of("pond", card(book, pond).pond)
    rev = card(book, pond).pond.rev
    food = {**texts, "use": "food", "name": "Top pond"}
    for begun in (texts, None):
        with pytest.raises(BadInput, match="name the person who said so") as refused:
            save_texts(book, act, "pond", food, key=pond, rev=rev, begun=begun)
        assert refused.value.field == "said_by"
    assert (card(book, pond).pond.use, card(book, pond).pond.name) == ("not asked", "Lower pond")
    named = {**food, "said_by": " Mrs  Alder "}
    save_texts(book, act, "pond", named, key=pond, rev=rev, begun=texts)
    found = declared(book, pond)
    assert found is not None
    assert (found.use, found.said, found.by_name) == ("food", "declared by Mrs Alder", "Ada Vet")
    now = card(book, pond).pond
    assert now.name == "Top pond"
    # Saved again it stands; another name declares it anew; taken back, the name stands with it.
    begun = texts_of("pond", now)
    save_texts(book, act, "pond", begun | {"said_by": ""}, key=pond, rev=now.rev, begun=begun)
    assert card(book, pond).pond.rev == now.rev
    save_texts(book, act, "pond", begun | {"said_by": "Bo"}, key=pond, rev=now.rev, begun=begun)
    assert (declared(book, pond) or found).said == "declared by Bo"
    now = card(book, pond).pond
    back = begun | {"use": "not asked"}
    with pytest.raises(BadInput, match="name the person"):
        save_texts(book, act, "pond", back, key=pond, rev=now.rev, begun=begun)
    save_texts(book, act, "pond", back | {"said_by": "Bo"}, key=pond, rev=now.rev, begun=begun)
    assert card(book, pond).pond.use == "not asked"
    assert declared(book, pond) is None
    assert history(book, "pond", pond)[0].why == "taken back by Bo"


def test_a_new_pond_that_says_its_use_names_who_said_so(book: Book, act: Act) -> None:
    with pytest.raises(BadInput) as refused:
        save_new_pond(book, act, NEW | {"pond.use": "ornamental"})
    assert refused.value.field == "pond.said_by"
    pond = save_new_pond(book, act, NEW | {"pond.use": "ornamental", "pond.said_by": "Mr Roe"})
    found = declared(book, pond)
    assert found is not None
    assert (found.use, found.said) == ("ornamental", "declared by Mr Roe")
