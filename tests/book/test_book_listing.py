"""The directory's lines: everything that can be opened, found or restored has one."""

from __future__ import annotations

from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.listing import ListLine, listing


def fill(book: Book, act: Act) -> dict[str, UUID]:
    with book.writing(act) as writing:
        brook = writing.add("client", name="Brook House", phone="01632 960 123")
        hill = writing.add("client", name="Alder Hill", phone2="+44 1632 960987")
        garden = writing.add(
            "site", client_id=brook, name="Garden", town="Nether Wick", access_notes="Dog"
        )
        yard = writing.add("site", client_id=brook, name="Yard")
        lower = writing.add("pond", site_id=garden, name="Lower pond")
        upper = writing.add("pond", site_id=garden, name="Upper pond")
    return {"brook": brook, "hill": hill, "garden": garden, "yard": yard, "lower": lower,
            "upper": upper}  # fmt: skip


def said(lines: tuple[ListLine, ...]) -> list[tuple[str, str, str, str | None]]:
    return [(line.client, line.site, line.pond, line.struck) for line in lines]


def test_every_pond_empty_site_and_client_has_a_line(book: Book, act: Act) -> None:
    fill(book, act)
    found = listing(book)
    assert said(found.lines) == [
        ("Alder Hill", "", "", None),
        ("Brook House", "Garden", "Lower pond", None),
        ("Brook House", "Garden", "Upper pond", None),
        ("Brook House", "Yard", "", None),
    ]
    assert (found.ponds, found.struck) == (2, 0)
    assert found.lines[1].access_notes == "Dog"


def test_it_is_narrowed_by_part_of_a_name_misspelt_and_by_telephone(book: Book, act: Act) -> None:
    keys = fill(book, act)
    assert [line.key for line in listing(book, "lowr").lines] == [keys["lower"]]
    assert {line.key for line in listing(book, "nether").lines} == {
        keys["lower"], keys["upper"], keys["yard"],
    }  # fmt: skip
    assert [line.key for line in listing(book, "960987").lines] == [keys["hill"]]
    assert listing(book, "nobody").lines == ()


def test_what_is_struck_is_shown_on_wish_and_can_be_found(book: Book, act: Act) -> None:
    keys = fill(book, act)
    with book.writing(act) as writing:
        writing.strike("pond", keys["upper"], "filled in")
    assert keys["upper"] not in [line.key for line in listing(book).lines]
    whole = listing(book, struck=True)
    struck = [line for line in whole.lines if line.struck]
    assert [(line.key, line.struck, line.struck_why) for line in struck] == [
        (keys["upper"], "pond", "filled in")
    ]
    assert whole.struck == 1
    assert [line.key for line in listing(book, "uPPer", struck=True).lines] == [keys["upper"]]
    assert listing(book, "upper").lines == ()


def test_what_lost_its_parts_keeps_a_line(book: Book, act: Act) -> None:
    """A site whose ponds are all struck can get a new one; so can a client whose sites are."""
    keys = fill(book, act)
    with book.writing(act) as writing:
        writing.strike("pond", keys["upper"], "filled in")
        writing.strike("pond", keys["lower"], "filled in")
    assert said(listing(book).lines) == [
        ("Alder Hill", "", "", None),
        ("Brook House", "Garden", "", None),
        ("Brook House", "Yard", "", None),
    ]
    with book.writing(act) as writing:
        writing.strike("site", keys["garden"], "sold")
        writing.strike("site", keys["yard"], "sold")
    assert said(listing(book).lines) == [
        ("Alder Hill", "", "", None),
        ("Brook House", "", "", None),
    ]
    with book.writing(act) as writing:
        writing.strike("client", keys["brook"], "moved away")
    assert said(listing(book).lines) == [("Alder Hill", "", "", None)]
    assert {line.struck for line in listing(book, "01632 960 123", struck=True).lines} == {"client"}
