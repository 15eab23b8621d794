"""A sheet of ponds that says whether fish are eaten is named as what said so."""

from __future__ import annotations

from pathlib import Path

from store.book.act import Act
from store.book.book import Book
from store.book.declared import declared
from store.book.listing import listing
from store.book.told.history import history
from store.exchange.plain.ponds_csv import read_ponds, save_ponds

SHEET = "client,pond,use\nBrook House,Upper,food\nBrook House,Lower,\nRoe,Vat,ornamental\n"


def test_the_file_is_named_where_it_says_a_use(book: Book, act: Act, tmp_path: Path) -> None:
    path = tmp_path / "our ponds.csv"
    path.write_text(SHEET, "utf-8")
    save_ponds(book, act, read_ponds(path, book, act.at))
    keys = {one.pond: one.pond_id for one in listing(book).lines}
    said = {name: declared(book, key) for name, key in keys.items()}
    assert said["Lower"] is None
    assert [one.why for one in history(book, "pond", keys["Lower"])] == [""]
    for name, use in (("Upper", "food"), ("Vat", "ornamental")):
        found = said[name]
        assert found is not None
        assert (found.use, found.said) == (use, "declared by the file our ponds.csv")
        assert found.by_name == "Ada Vet"
