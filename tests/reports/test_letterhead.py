"""The letterhead: the newest is in force, what stood before is kept, a number is asked for."""

from __future__ import annotations

from datetime import timedelta

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.letterhead import practice_head, practice_heads, set_practice_head
from store.errors import BadInput
from store.paper.paper import head_rows
from store.reports.kept.head import head_of
from tests.conftest import NOW


def test_the_newest_is_in_force(book: Book, act: Act) -> None:
    assert practice_head(book) is None
    assert head_of(book).practice == "Test practice"
    assert not head_of(book).kept
    with book.writing(act) as writing:
        first = set_practice_head(writing, practice="Reedmace", telephone="01632 960555")
    later = Act(act.by, NOW + timedelta(minutes=1))
    with book.writing(later) as writing:
        same = set_practice_head(writing, practice=" Reedmace ", telephone="01632 960555")
        assert same == first
    with book.writing(later) as writing:
        second = set_practice_head(
            writing, practice="Reedmace", telephone="01632 960556",
            address="4 Weir Lane\nAshbourne", email="desk@example.org", foot="Registered.",
        )  # fmt: skip
    assert second != first
    assert [one.telephone for one in practice_heads(book)] == ["01632 960556", "01632 960555"]
    head = head_of(book)
    assert head.kept
    assert head.foot_lines == ("Registered.",)
    rows = dict(head_rows(head.to("Alder Row", "", "Ada Vet"), book.today(NOW)))
    assert rows["Address"] == "4 Weir Lane, Ashbourne"
    assert rows["Pond"] == "Alder Row"
    assert rows["Vet"] == "Ada Vet"


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"practice": " ", "telephone": "1"}, "practice"),
        ({"practice": "R", "telephone": " "}, "telephone"),
    ],
)
def test_without_a_name_or_number_nothing_is_saved(
    book: Book, act: Act, given: dict[str, str], field: str
) -> None:
    with (
        pytest.raises(BadInput, match="Nothing was saved") as trouble,
        book.writing(act) as writing,
    ):
        set_practice_head(writing, **given)
    assert trouble.value.field == field
    assert practice_head(book) is None


def test_a_paper_without_a_number_is_refused(book: Book) -> None:
    with pytest.raises(BadInput, match="letterhead") as trouble:
        head_of(book).to("Alder Row", "pond")
    assert trouble.value.field == "telephone"
