"""A messy client list into the book: new, the same, asked; the same file twice adds nothing."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from client_lists import HEADER, MESSY, bring, write_csv, write_xlsx
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import func, select

from store.book.act import Act
from store.book.book import Book
from store.book.clients import clients, sites
from store.book.merging.merge_clients import merge_clients
from store.book.opening import open_book
from store.book.people import staff
from store.book.ponds import cards
from store.book.tables import table
from store.book.told.history import history
from store.book.volumes import estimates
from store.errors import BadInput, ChangedMeanwhile, NotFound
from store.exchange.catch_up.book_doubles import doubles_of
from store.exchange.catch_up.known_clients import TABLES
from store.exchange.catch_up.read_clients import read_clients
from store.exchange.catch_up.save_clients import save_clients
from store.exchange.plain.planned import write_refused

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
DOUBLE = "double line 10 = line 4"
KOI, TANK = "pond line 4 Koi pond", "pond line 4 Quarantine tank"
TWO = ("pond line 6 Pond 1", "pond line 6 Pond 2")
ALL = {DOUBLE: "same", KOI: "take", TANK: "take", TWO[0]: "take", TWO[1]: "leave"}


def _counts(book: Book) -> dict[str, int]:
    with book.reading() as connection:
        return {
            name: connection.execute(select(func.count()).select_from(table(name))).scalar() or 0  # type: ignore[arg-type]
            for name in (*TABLES, "volume_estimate", "change")
        }


def _list(tmp_path: Path, *rows: list[str], header: list[str] | None = None) -> Path:
    return write_csv(
        tmp_path / "list.csv", [header or ["Name", "Tel", "Address", "Remarks"], *rows]
    )


def test_a_messy_list_says_what_is_new_and_what_is_asked(
    book: Book, act: Act, tmp_path: Path
) -> None:
    looked_at = read_clients(write_csv(tmp_path / "list.csv", MESSY), book)
    assert [(one.line, one.state, one.name) for one in looked_at.clients] == [
        (4, "new", "Mr & Mrs J. Alder"), (6, "new", "Brook House Hotel"),
        (8, "new", "Prof. Iris Rowan"), (10, "ask", "Alder J"), (11, "new", "Rowan I"),
    ]  # fmt: skip
    assert [one.key for one in looked_at.open_questions] == [DOUBLE, KOI, TANK, *TWO]
    double = looked_at.questions[0]
    assert double.reasons.startswith("the telephone is the same (+44 1632 960 111)")
    assert dict(double.left)["telephone"] == "+44 1632 960 111"
    assert dict(double.right)["name"] == "ALDER, Mr & Mrs J."
    assert looked_at.counted() == (4, 4, 0)
    assert _counts(book)["client"] == 0, "nothing is saved by looking"
    told = " ".join(looked_at.plan.told)
    for said in ("totals: line 12", "footnotes: line 13", "headings: line 9", "Balance", "2 names"):
        assert said in told


def test_what_is_saved_keeps_the_words_of_the_list(book: Book, act: Act, tmp_path: Path) -> None:
    path = write_csv(tmp_path / "list.csv", MESSY)
    _looked_at, done = bring(book, act, path, ALL)
    assert (done.added, done.refused) == (4, 0)
    alder = next(one for one in clients(book) if one.name == "Mr & Mrs J. Alder")
    assert (alder.phone, alder.phone2) == ("01632 960111", "07700 900222")
    for line in (
        "koi pond 12,000 l, 1.4 m deep", "Telephone: ask for Mrs Alder", "Telephone: 07700 900333",
        "Account 1", "In the list: ALDER, Mr & Mrs J.", "pays late", "Also listed as Alder J",
        "Also number 4",
    ):  # fmt: skip
        assert line in alder.notes.split("\n")
    (site,) = sites(book, alder.id)
    assert (site.address, site.town, site.postcode) == (
        "3 Mill Lane, Hampshire",
        "Wick",
        "SO99 9ZZ",
    )
    koi, one, tank = sorted(cards(book), key=lambda card: card.pond.name)
    assert [card.pond.name for card in (koi, one, tank)] == [
        "Koi pond",
        "Pond 1",
        "Quarantine tank",
    ]
    assert (koi.pond.volume_l, koi.pond.volume_method, koi.pond.depth_m) == (
        12_000.0,
        "stated",
        1.4,
    )
    assert koi.pond.volume_low_l is not None
    assert koi.pond.volume_low_l < 12_000.0
    assert "koi pond 12,000 l, 1.4 m deep" in koi.pond.notes
    assert "12,000 l" in estimates(book, koi.pond.id)[0].workings
    assert one.pond.volume_l is None
    assert one.pond.use == "not asked"
    assert "line 4" in history(book, "client", alder.id)[0].why


@pytest.mark.parametrize("answers", [{}, ALL, {DOUBLE: "other"}, {DOUBLE: "open", KOI: "leave"}])
def test_the_same_file_twice_adds_nothing(
    book: Book, act: Act, tmp_path: Path, answers: dict[str, str]
) -> None:
    path = write_csv(tmp_path / "list.csv", MESSY)
    bring(book, act, path, answers)
    first = _counts(book)
    again, done = bring(book, act, path, answers)
    assert (done.added, _counts(book)) == (0, first)
    assert "This very file was brought in on 2026-03-14" in again.plan.told[0]
    _looked_at, done = bring(book, act, path)  # and without the answers
    assert (done.added, _counts(book)) == (0, first)


def test_answers_may_come_later(book: Book, act: Act, tmp_path: Path) -> None:
    path = write_csv(tmp_path / "list.csv", MESSY)
    bring(book, act, path)
    assert _counts(book)["pond"] == 0
    looked_at, done = bring(book, act, path, ALL)
    assert done.added == 2
    assert [one.adds[-1] for one in looked_at.plan.items] == ["pond Quarantine tank", "pond Pond 1"]
    assert (_counts(book)["client"], _counts(book)["pond"]) == (4, 3)
    alder = next(one for one in clients(book) if one.name == "Mr & Mrs J. Alder")
    assert alder.notes.endswith("Also listed as Alder J\nAlso number 4")
    later = _counts(book)
    assert bring(book, act, path, ALL)[1].added == 0
    assert _counts(book) == later


def test_a_workbook_gives_the_same(book: Book, act: Act, tmp_path: Path) -> None:
    as_csv = read_clients(
        write_csv(tmp_path / "list.csv", MESSY, separator=";", encoding="cp1252"), book
    )
    as_xlsx = read_clients(write_xlsx(tmp_path / "list.xlsx", MESSY), book)
    assert as_csv.clients == as_xlsx.clients
    assert as_csv.questions == as_xlsx.questions


def test_a_client_of_the_book_gets_only_what_it_lacks(book: Book, act: Act, tmp_path: Path) -> None:
    with book.writing(act) as writing:
        alder = writing.add("client", name="Anne Alder", phone="01632 960111", notes="Dog bites.")
        writing.add("site", client_id=alder, name="Garden")
    path = _list(
        tmp_path, ["Alder, Anne", "01632 960111 / 07700 900222", "3 Mill Lane, Wick, SO99 9ZZ", "Dog bites."],
    )  # fmt: skip
    looked_at, done = bring(book, act, path)
    (one,) = looked_at.clients
    assert (one.state, one.in_book, done.added) == ("same", "Anne Alder", 1)
    assert one.adds == (
        "telephone 07700 900222", "notes “In the list: Alder, Anne”",
        "address 3 Mill Lane, Wick, SO99 9ZZ",
    )  # fmt: skip
    (client,) = clients(book)
    assert (client.phone, client.phone2) == ("01632 960111", "07700 900222")
    assert client.notes == "Dog bites.\nIn the list: Alder, Anne"
    (site,) = sites(book, alder)
    assert (site.name, site.address, site.postcode) == ("Garden", "3 Mill Lane", "SO99 9ZZ")
    assert bring(book, act, path)[1].added == 0


def test_a_name_alone_is_asked_and_never_merged(book: Book, act: Act, tmp_path: Path) -> None:
    with book.writing(act) as writing:
        known = writing.add("client", name="Anne Alder")
    path = _list(tmp_path, ["Anne Alder", "01632 960111", "", ""])
    looked_at, done = bring(book, act, path)
    (question,) = looked_at.open_questions
    assert question.key == f"double line 2 = {known.hex}"
    assert (looked_at.clients[0].state, done.added) == ("ask", 0)
    assert len(clients(book)) == 1
    other, _done = bring(book, act, path, {question.key: "other"})
    assert other.clients[0].state == "new"
    assert [one.name for one in clients(book)] == ["Anne Alder", "Anne Alder"]
    # Said to be two once, they are two for every later list.
    assert bring(book, act, path)[1].added == 0


def test_a_list_of_names_alone_brought_twice_is_known_by_the_file(
    book: Book, act: Act, tmp_path: Path
) -> None:
    path = _list(tmp_path, ["Anne Alder"], ["Iris Rowan"], header=["Name"])
    assert bring(book, act, path)[1].added == 2
    looked_at, done = bring(book, act, path)
    assert (done.added, done.already, looked_at.open_questions) == (0, 2, ())


def test_two_of_one_surname_and_nothing_else_are_asked_and_not_doubled(
    book: Book, act: Act, tmp_path: Path
) -> None:
    path = _list(tmp_path, ["1", "Alder"], ["2", "Alder"], header=["A/C", "Name"])
    looked_at, done = bring(book, act, path)
    assert [one.key for one in looked_at.open_questions] == ["double line 3 = line 2"]
    assert done.added == 1
    assert bring(book, act, path)[1].added == 0
    bring(book, act, path, {"double line 3 = line 2": "same"})
    assert [one.notes for one in clients(book)] == ["Account 1"]


def test_lost_zeros_and_gallons_are_asked_once_for_the_file(
    book: Book, act: Act, tmp_path: Path
) -> None:
    rows = [
        ["Anne Alder", "0351 960111", "Weg 3", "01067", "Dresden", "3000"],
        ["Iris Rowan", "0351 960222", "Weg 4", "1067", "Dresden", ""],
        ["Bert Birch", "351960333", "Weg 5", "10115", "Berlin", ""],
    ]
    header = ["Name", "Tel", "Street", "PLZ", "Town", "Pond volume (gallons)"]
    path = _list(tmp_path, *rows, header=header)
    looked_at, done = bring(book, act, path)
    assert [one.key for one in looked_at.open_questions] == ["postcodes", "telephones", "gallons"]
    assert [(one.state, one.waits_for) for one in looked_at.clients] == [
        ("new", ()), ("ask", ("postcodes",)), ("ask", ("telephones",)),
    ]  # fmt: skip
    assert (done.added, _counts(book)["pond"]) == (1, 0)
    bring(book, act, path, {"postcodes": "zero", "telephones": "zero", "gallons": "uk"})
    by_name = {one.name: one for one in clients(book)}
    assert sites(book, by_name["Iris Rowan"].id)[0].postcode == "01067"
    assert by_name["Bert Birch"].phone == "0351960333"
    (card,) = cards(book)
    # 3,000 UK gallons of 4.54609 L each: Weights and Measures Act 1985.
    assert card.pond.volume_l == pytest.approx(13_638.27, abs=0.01)
    with pytest.raises(BadInput, match="no answer to “gallons”"):
        read_clients(path, book, answers={"gallons": "big ones"})


def test_another_address_of_a_known_client_is_asked(book: Book, act: Act, tmp_path: Path) -> None:
    with book.writing(act) as writing:
        alder = writing.add("client", name="Anne Alder", phone="01632 960111")
        site = writing.add("site", client_id=alder, name="Wick", address="3 Mill Lane", town="Wick")
        writing.add("pond", site_id=site, name="Lower pond")
    path = _list(tmp_path, ["Anne Alder", "01632 960111", "1 Far Street, Tarn", "koi pond 5000 l"])
    double = f"double line 2 = {alder.hex}"
    looked_at, done = bring(book, act, path)
    assert done.added == 0
    assert [one.key for one in looked_at.open_questions] == [double, "pond line 2 Koi pond"]
    looked_at, _done = bring(book, act, path, {double: "same"})
    address = "address line 2 1 Far Street, Tarn"
    assert [one.key for one in looked_at.open_questions] == [address]
    assert _counts(book)["site"] == 1
    said = {double: "same", address: "another", "pond line 2 Koi pond": "take"}
    bring(book, act, path, said)
    assert [one.town for one in sites(book, alder)] == ["Tarn", "Wick"]
    assert {card.pond.name: card.site.town for card in cards(book)} == {
        "Koi pond": "Tarn", "Lower pond": "Wick",
    }  # fmt: skip


def test_a_pond_beside_ponds_of_other_names_is_asked(book: Book, act: Act, tmp_path: Path) -> None:
    with book.writing(act) as writing:
        alder = writing.add("client", name="Anne Alder", phone="01632 960111")
        site = writing.add("site", client_id=alder, name="Wick", address="3 Mill Lane", town="Wick")
        writing.add("pond", site_id=site, name="Lower pond")
    path = _list(
        tmp_path, ["Anne Alder", "01632 960111", "3 Mill Lane, Wick", "4000"],
        header=["Name", "Tel", "Address", "Volume (l)"],
    )  # fmt: skip
    looked_at, done = bring(book, act, path)
    (question,) = looked_at.open_questions
    assert "the site has in the book: Lower pond" in question.reasons
    assert done.added == 0


def test_two_clients_of_the_book_are_not_made_one_by_an_answer(
    book: Book, act: Act, tmp_path: Path
) -> None:
    with book.writing(act) as writing:
        one = writing.add("client", name="Anne Alder")
        two = writing.add("client", name="Ann Alder")
    path = _list(tmp_path, ["Anne Alder", "01632 960111", "", ""])
    said = {f"double line 2 = {key.hex}": "same" for key in (one, two)}
    looked_at, _done = bring(book, act, path, said)
    (refused,) = looked_at.plan.refused
    assert "Merge them in the book first" in refused.reason


def test_refused_rows_lie_beside_the_file_and_are_read_again(
    book: Book, act: Act, tmp_path: Path
) -> None:
    path = _list(
        tmp_path, ["", "01632 960000", "", ""], ["A" * 600, "01632 960111", "", "x"], ["Iris Rowan", "01632 960300"],
    )  # fmt: skip
    looked_at, done = bring(book, act, path)
    assert (done.added, done.refused) == (1, 2)
    beside = write_refused(looked_at.plan)
    assert beside is not None
    text = beside.read_text("utf-8")
    assert "longer than 500 characters" in text
    beside.write_text(text.replace("A" * 600, "Anne Alder"), "utf-8")
    again, done = bring(book, act, beside)
    assert (done.added, done.refused) == (1, 1)
    assert [one.name for one in again.clients] == ["Anne Alder"]


def test_nothing_is_saved_over_what_was_written_meanwhile(
    book: Book, act: Act, tmp_path: Path
) -> None:
    looked_at = read_clients(write_csv(tmp_path / "list.csv", MESSY), book)
    with book.writing(act) as writing:
        writing.add("client", name="Alder J")
    with pytest.raises(ChangedMeanwhile, match="look at the list again"):
        save_clients(book, act, looked_at)
    assert len(clients(book)) == 1


def test_a_list_without_names_is_refused_whole(book: Book, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="names"):
        read_clients(_list(tmp_path, ["01632 960111"], header=["Tel"]), book)


_CELL = st.one_of(
    st.sampled_from(
        ["", "", "Alder, Anne", "ALDER J", "Mr & Mrs Alder", "01632 960111", "960111 or 960112",
         "3 Mill Lane, Wick", "SO99 9ZZ", "1067", "01067", "koi pond 12,000 l", "two ponds",
         "3000 gal", "Total", "* note", "a@b.example", "Name", "Tel", "1.4 m deep", "12.50",
         "4.47701E+11", "Brook House Ltd"]
    ),
    st.text(max_size=12),
)  # fmt: skip


@settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    rows=st.lists(st.lists(_CELL, min_size=1, max_size=9), min_size=1, max_size=8),
    headed=st.booleans(),
    choice=st.integers(0, 2),
)
def test_whatever_a_list_holds_it_is_read_or_refused_and_never_doubled(
    sqlite_template: Path, tmp_path: Path, rows: list[list[str]], headed: bool, choice: int
) -> None:
    path = write_csv(tmp_path / "any.csv", [HEADER, *rows] if headed else rows)
    place = tmp_path / "practice.pondround"
    shutil.copyfile(sqlite_template, place)
    with open_book(place, now=NOW) as book:
        act = Act(staff(book)[0].id, NOW)
        answers: dict[str, str] = {}
        try:
            for one in read_clients(path, book).questions:
                answers[one.key] = one.choices[min(choice, len(one.choices) - 1)]
            bring(book, act, path, answers)
        except BadInput:
            return
        first = _counts(book)
        for again in (answers, {}):
            try:
                bring(book, act, path, again)
            except BadInput:
                continue
            assert _counts(book) == first


def test_the_refused_and_the_waiting_are_counted(book: Book, act: Act, tmp_path: Path) -> None:
    looked_at: Any = read_clients(write_csv(tmp_path / "list.csv", MESSY), book)
    assert looked_at.plan.rows_read == 6
    assert [one.line for one in looked_at.waiting] == [10]
    assert len(looked_at.plan.items) == 4


def test_clients_of_the_book_who_may_be_one_are_found_and_merged(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        anne = writing.add("client", name="Anne Alder", phone="01632 960111")
        again = writing.add("client", name="Alder, Mrs A.", phone="+44 1632 960111")
        writing.add("client", name="Iris Rowan", phone="01632 960300")
    (pair,) = doubles_of(book, anne)
    assert (pair.other_id, pair.other_name) == (again, "Alder, Mrs A.")
    assert pair.said.startswith("the telephone is the same")
    merge_clients(
        book, act, anne, again, pair.said, kept_rev=pair.rev, emptied_rev=pair.other_rev
    )  # fmt: skip
    assert doubles_of(book, anne) == ()
    with pytest.raises(NotFound):
        doubles_of(book, again)


def test_a_list_brought_again_does_not_bring_back_whom_a_person_merged(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    path = _list(tmp_path, ["Anne Alder"], ["The Mill Estate"], header=["Name"])
    assert bring(sqlite_book, act, path)[1].added == 2
    kept, emptied = sorted(clients(sqlite_book), key=lambda one: one.name)
    merge_clients(sqlite_book, act, kept.id, emptied.id, "she says so")
    looked_at, _done = bring(sqlite_book, act, path)
    assert [one.state for one in looked_at.clients] == ["same", "same"]
    assert looked_at.open_questions == ()
    assert [one.id for one in clients(sqlite_book)] == [kept.id]
    assert bring(sqlite_book, act, path)[1].added == 0
