"""`doubles` lists who may be one, `merge` shows both and merges with a reason."""

from __future__ import annotations

import json
from typing import Any

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.clients import clients, sites
from store.book.opening import open_book
from store.book.ponds import ponds
from store.exchange.catch_up.book_doubles import client_doubles, merge_two, two_clients
from store.exchange.catch_up.place_doubles import pond_doubles, site_doubles, two_ponds, two_sites
from tests.conftest import NOW
from tui.commands.main import main


@pytest.fixture
def keys(sqlite_book: Book, act: Act) -> dict[str, Any]:
    """A client entered twice, of whom one has a site and a pond entered twice."""
    with sqlite_book.writing(act) as writing:
        anne = writing.add("client", name="Anne Alder", phone="01632 960111")
        mrs = writing.add("client", name="Mrs A. Alder", phone="01632 960111", phone2="960222")
        iris = writing.add("client", name="Iris Rowan", phone="01632 960300")
        mill = writing.add("site", client_id=anne, name="Mill", address="3 Mill Lane", town="Wick")
        home = writing.add("site", client_id=anne, name="Home", address="3 Mill Ln", town="Wick")
        writing.add("site", client_id=anne, name="Works", address="9 Weir Road", town="Tarn")
        upper = writing.add("pond", site_id=mill, name="Koi pond", volume_l=None, depth_m=1.2)
        again = writing.add("pond", site_id=mill, name="koi-pond", notes="Shady.")
        writing.add("pond", site_id=mill, name="Upper pond")
    return {
        "anne": anne, "mrs": mrs, "iris": iris, "mill": mill, "home": home,
        "upper": upper, "again": again,
    }  # fmt: skip


def run(book: Book, *words: str) -> int:
    return main([*words, "--book", book.name])


def test_all_that_may_be_one_is_listed_with_reasons(
    sqlite_book: Book, keys: dict[str, Any], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(sqlite_book, "doubles") == 0
    said = capsys.readouterr().out
    assert "Pairs that may be one: 1 of clients, 1 of sites, 1 of ponds." in said
    assert "the telephone is the same (01632 960111)" in said
    assert "the address is" in said
    assert f"pondround merge --of pond {keys['upper']} {keys['again']}" in said
    assert run(sqlite_book, "doubles", "--json") == 0
    told = json.loads(capsys.readouterr().out)
    assert [one["kind"] for one in told["lines"]] == ["client", "site", "pond"]
    assert told["lines"][0]["one"]["told"][1] == ["telephone", "01632 960111"]
    assert len(clients(sqlite_book)) == 3
    assert (client_doubles(sqlite_book)[0].score, len(site_doubles(sqlite_book, keys["mrs"]))) == (
        told["lines"][0]["score"], 0,
    )  # fmt: skip


def test_two_are_shown_and_merged_with_a_reason(
    sqlite_book: Book, keys: dict[str, Any], capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(sqlite_book, "merge", "Anne Alder", "Mrs A. Alder", "--dry-run") == 0
    shown = capsys.readouterr().out
    assert "name Anne Alder" in shown
    assert "telephone 960222" in shown
    assert run(sqlite_book, "merge", "Anne Alder", "Mrs A. Alder") == 1
    assert "say with --why" in capsys.readouterr().out
    assert len(clients(sqlite_book)) == 3
    assert run(sqlite_book, "merge", "Anne Alder", "Mrs A. Alder", "--why", "she says so") == 0
    said = capsys.readouterr().out
    assert "Merged: nothing moved.\nIt got phone2" in said
    assert len(clients(sqlite_book)) == 2
    for kind, one, other, moved in (
        ("pond", "upper", "again", "nothing"),
        ("site", "home", "mill", "3 ponds"),
    ):
        words = ("merge", "--of", kind, str(keys[one]), str(keys[other]), "--why", "one water")
        assert run(sqlite_book, *words) == 0
        assert f"Merged: {moved} moved." in capsys.readouterr().out
    assert {one.name for one in sites(sqlite_book)} == {"Home", "Works"}
    assert {one.name for one in ponds(sqlite_book)} == {"Koi pond", "Upper pond"}
    with open_book(sqlite_book.name, now=NOW) as book:
        assert ponds(book, keys["home"])[0].site_id == keys["home"]
    assert run(sqlite_book, "doubles") == 0
    assert "0 of clients, 0 of sites, 0 of ponds" in capsys.readouterr().out


def test_it_has_to_be_clear_which_two_are_meant(
    sqlite_book: Book, keys: dict[str, Any], capsys: pytest.CaptureFixture[str]
) -> None:
    for words in (
        ("Alder", "Iris Rowan"), ("nobody", "Iris Rowan"), ("Iris Rowan", "Iris Rowan"),
        ("--of", "site", "Mill", "Home"), ("--of", "site", "Mill", str(keys["home"])),
    ):  # fmt: skip
        assert run(sqlite_book, "merge", *words, "--why", "x") == 2
    assert "Several clients fit" in capsys.readouterr().err
    assert len(clients(sqlite_book)) == 3


def test_any_two_stand_beside_each_other_and_what_changed_since_is_not_merged(
    sqlite_book: Book, act: Act, keys: dict[str, Any]
) -> None:
    from store.errors import BadInput, ChangedMeanwhile, NotFound

    pair = two_clients(sqlite_book, keys["iris"], keys["anne"])
    assert (pair.score, pair.said) == (
        0, "nothing that is compared speaks for it; the telephones differ; the names differ",
    )  # fmt: skip
    assert dict(pair.right)["ponds"].startswith("3: Koi pond, ")
    with sqlite_book.writing(act) as writing:
        writing.change("client", keys["anne"], 1, notes="moved")
    with pytest.raises(ChangedMeanwhile):
        merge_two(sqlite_book, act, pair, "sisters")
    with pytest.raises(NotFound):
        two_clients(sqlite_book, keys["iris"], keys["mill"])
    with pytest.raises(BadInput, match="given twice"):
        two_sites(sqlite_book, keys["mill"], keys["mill"])
    with sqlite_book.writing(act) as writing:
        writing.add("site", client_id=keys["iris"], name="Weir", address="9 Weir Road", town="Tarn")
    one = two_clients(sqlite_book, keys["iris"], keys["anne"])
    merged = merge_two(sqlite_book, act, one, "sisters", other_stays=True)
    assert (merged.kept, merged.emptied) == (keys["anne"], keys["iris"])
    assert "The sites Weir and Works may be one: the address is the same." in merged.told
    ponds_pair = two_ponds(sqlite_book, keys["upper"], keys["again"])
    assert ponds_pair in pond_doubles(sqlite_book)
    assert ("water tests", "0") in ponds_pair.left
