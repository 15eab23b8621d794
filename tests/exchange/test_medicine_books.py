"""Medicine books in the shapes in which practices keep them: what went out stands at its pond.

The shapes are those of common practice; batches and places are invented.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from uuid import UUID

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sheets import NOW, add_ponds, sheet
from test_import_command import run

from store.book.act import Act
from store.book.book import Book
from store.book.events import events
from store.errors import BadInput
from store.exchange.columns.said import Said, key_of
from store.exchange.medicines.medicine_books import (
    PlannedGiven,
    look_at_medicines,
    save_medicines,
)
from store.exchange.named.planning import Preview
from store.exchange.plain.events_csv import read_events, save_events
from store.exchange.plain.planned import Done, Plan
from tests.courses.treated_ponds import add_carp_pond, treat

TEXT = """Medicine book 2026;;;;;;;;;;
Date;Product;Batch;Expiry;Opened;In;Out (ml);Client;Withdrawal end;For;Remarks
20/01/2026;Formalin 37 %;F221;06/2027;;5 L;;;;;from the wholesaler
13/02/2026;Formalin 37 %;F221;06/2027;13/02/2026;;250;Mere Farm;01/04/2026;carp;bath
14/02/2026;Formalin 37 %;F221;06/2027;13/02/2026;;0,5 L;Brook House;28 days;koi;
15/02/2026;Praziquantel;P9;01/2026;;;20 g;Brook House, Upper pond;;koi;
16/02/2026;Praziquantel;P9;01/2026;;;3;Mere Farm;;;
17/02/2026;Praziquantel;P9;01/2026;;;-;destroyed;;;
18/02/2026;Praziquantel;P9;01/2026;;;all;destroyed;;;
19/02/2026;;P9;;;;1 g;Mere Farm;;;
20/02/2026;X;P9;;;;1 g;Mere Farm;01/02/2026;;
20/02/2027;X;P9;;;;1 g;Mere Farm;;;
21/02/2026;X;P9;;;;1 g;;;;
"""
ANSWERS = {
    ("blank", ""): "none", ("ponds", "Brook House"): "P-1", ("ponds", "destroyed"): "ignore",
}  # fmt: skip


def look(
    book: Book, path: Path, answers: dict[tuple[str, str], str] | None = None, pond: str = ""
) -> Preview[PlannedGiven]:
    said = Said({key_of(*key): value for key, value in (answers or {}).items()})
    return look_at_medicines(path, book, NOW, said=said, pond=pond)


def planned(
    book: Book, path: Path, answers: dict[tuple[str, str], str] | None = None
) -> Plan[PlannedGiven]:
    plan = look(book, path, answers).plan
    assert plan is not None
    return plan


def food_pond(book: Book, act: Act) -> UUID:
    with book.writing(act) as writing:
        client = writing.add("client", name="Mere Farm")
        site = writing.add("site", client_id=client, name="Farm")
        return writing.add("pond", site_id=site, name="Mere", code="M-1", use="food")


def test_lines_out_stand_at_their_ponds(book: Book, act: Act, tmp_path: Path) -> None:
    upper, _ = add_ponds(book, act, "Upper pond", "Lower pond")
    mere = food_pond(book, act)
    path = sheet(tmp_path, TEXT)
    asked = {(one.field, one.about) for one in look(book, path).questions}
    # Expiry and opened are blank often enough: only what may be meant as above is asked.
    assert asked == {
        ("blank", "Product"), ("blank", "Client"), ("ponds", "Brook House"), ("ponds", "destroyed"),
    }  # fmt: skip
    preview = look(book, path, ANSWERS)
    assert preview.plan is not None
    assert [(one.line, one.pond, one.given.words) for one in preview.plan.items] == [
        (4, mere, "Formalin 37 %, 250 ml"), (5, upper, "Formalin 37 %, 0,5 L"),
        (6, upper, "Praziquantel, 20 g"), (7, mere, "Praziquantel, 3 ml"),
    ]  # fmt: skip
    reasons = {one.line: one.reason for one in preview.plan.refused}
    for line, part in {
        8: "neither what came in", 9: "left out, as a person said", 10: "names no product",
        11: "ends on 1 Feb 2026, before", 12: "20 Feb 2027 lies ahead", 13: "at which pond",
    }.items():  # fmt: skip
        assert part in reasons.pop(line)
    assert reasons == {}
    told = " ".join(preview.told)
    for part in (
        "food fish without the day on which the withdrawal ends: line 7",
        "whether fish of these ponds may be eaten: Brook House, Upper pond",
        "kept in its words: line 5, “28 days” first", "Given after its expiry: lines 6, 7",
        "1 line of what came in, not kept, as this book keeps no stock: Line 3, 20 Jan 2026: "
        "Formalin 37 %, 5 L, batch F221",
    ):  # fmt: skip
        assert part in told
    assert save_medicines(book, act, preview) == Done(4, 0, 6)
    found = {(one.kind, one.on_day): one for one in events(book, mere)}
    assert found["medicine_given", date(2026, 2, 13)].note == (
        "Formalin 37 %: 250 ml; batch F221; expiry 06/2027; opened 13 Feb 2026; withdrawal until "
        "1 Apr 2026, as written; for carp; bath"
    )
    assert found["not_for_eating", date(2026, 2, 13)].until_day == date(2026, 4, 1)
    assert len(found) == 3
    again = look(book, path, ANSWERS)
    assert again.plan is not None
    assert (again.plan.items, again.plan.already) == ((), 4)
    assert save_medicines(book, act, again).added == 0
    assert len(events(book, upper)) == 2


def test_a_day_behind_a_word_is_a_day_and_a_name_is_short(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    rows = (
        "13/02/2026,A,1 l,P-1,until 14/3/2026\n13/02/2026,B,1 l,P-1,28 d (14/3/2026)\n"
        f"13/02/2026,{'B' * 300},1 l,P-1,\n"
    )
    plan = planned(sqlite_book, sheet(tmp_path, f"Date,Product,Qty used,Pond,Withdrawal\n{rows}"))
    assert [one.given.until for one in plan.items] == [date(2026, 3, 14), None]
    assert [one.reason for one in plan.refused] == ["A name of 300 characters is none. Shorten it."]


def test_what_bars_for_ever_is_told_first(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond", use="food")
    rows = "2026-02-01,salt,5 kg,P-2,\n2026-02-01,Malachite green,2 g,P-1,2026-03-01\n"
    preview = look(sqlite_book, sheet(tmp_path, f"Date,Product,Out,Pond,Withdrawal\n{rows}"))
    assert preview.told[0].startswith(
        "STOP: line 3 gives Malachite green at Brook House, Upper pond: after malachite green and "
        "related dyes fish may never be eaten"
    )


def test_the_same_line_twice_was_given_twice(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    head, row = "Date,Product,Out,Pond\n", "2026-02-01,salt,5 kg,P-1\n"
    one = sheet(tmp_path, head + row, "one.csv")
    assert save_medicines(sqlite_book, act, look(sqlite_book, one)).added == 1
    two = sheet(tmp_path, head + row + row, "two.csv")
    assert save_medicines(sqlite_book, act, look(sqlite_book, two)) == Done(1, 1, 0)
    assert save_medicines(sqlite_book, act, look(sqlite_book, two)) == Done(0, 2, 0)
    (first, _) = events(sqlite_book, pond)
    with sqlite_book.writing(act) as writing:  # what a person wrote behind it changes nothing
        writing.change("pond_event", first.id, first.rev, note=f"{first.note}; fish were calm")
    assert save_medicines(sqlite_book, act, look(sqlite_book, two)) == Done(0, 2, 0)


def test_a_number_that_begins_another_is_no_line_of_the_book(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    head = "Date,Product,Out,Pond\n"
    first = sheet(tmp_path, f"{head}2026-02-01,praziquantel,50 kg,P-1\n", "one.csv")
    assert save_medicines(sqlite_book, act, look(sqlite_book, first)).added == 1
    second = look(sqlite_book, sheet(tmp_path, f"{head}2026-02-01,praziquantel,5,P-1\n", "two.csv"))
    assert "The book has the same medicine of the same pond and day in other words: line 2" in (
        " ".join(second.told)
    )
    assert save_medicines(sqlite_book, act, second) == Done(1, 0, 0)


def test_of_two_withdrawals_of_a_day_none_is_lost_on_the_way_out_and_in(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond", use="food")
    rows = "P-1,fish not for eating,2026-03-01,{},{}\n"
    text = "pond,kind,on_day,until_day,note\n" + "".join(
        rows.format(*one) for one in (("2026-03-05", "a"), ("2026-04-20", "b"), ("", "c"))
    )
    path = sheet(tmp_path, text)
    assert save_events(sqlite_book, act, read_events(path, sqlite_book, NOW)) == Done(3, 0, 0)
    assert save_events(sqlite_book, act, read_events(path, sqlite_book, NOW)) == Done(0, 3, 0)
    assert {one.until_day for one in events(sqlite_book, pond)} == {
        date(2026, 3, 5), date(2026, 4, 20), None,
    }  # fmt: skip


def test_a_dose_that_was_logged_is_told(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    pond = add_carp_pond(sqlite_book, act, use="ornamental")
    treat(sqlite_book, act, pond, "trichlorfon", [date(2026, 2, 3)], use="ornamental")
    rows = "2026-02-03,powder,9 g,carp pond\n2026-02-04,powder,9 g,carp pond\n"
    plan = planned(sqlite_book, sheet(tmp_path, f"Date,Product,Out,Pond\n{rows}"))
    assert len(plan.items) == 2
    (said,) = (one for one in plan.told if one.startswith("Doses were logged"))
    assert "under a course: line 2 (powder, logged as bottle first)" in said


def test_one_column_of_amounts_is_asked_about(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "Date,Product,Quantity,Owner\n2026-02-01,salt,5 kg,Brook House\n")
    (question,) = look(sqlite_book, path).questions
    assert (question.field, question.about) == ("column", "Quantity")
    assert [one.words for one in planned(sqlite_book, path, {("column", "Quantity"): "out"}).items]
    came = planned(sqlite_book, path, {("column", "Quantity"): "in"})
    assert came.items == ()
    assert "came in" in came.told[-1]
    text = (
        "Product: Formalin,,,\nDate,In/Out,Quantity,Owner\n2026-02-01,out,5 l,Brook House\n"
        "2026-02-02,in,5 l,\n2026-02-03,?,5 l,Brook House\n"
    )
    plan = planned(sqlite_book, sheet(tmp_path, text, "page.csv"))
    assert [one.given.words for one in plan.items] == ["Formalin, 5 l"]
    assert [(one.line, one.reason[:24]) for one in plan.refused] == [
        (5, "“?” does not say whether")
    ]
    with pytest.raises(BadInput, match="no column with the amounts"):
        look(sqlite_book, sheet(tmp_path, "Date,Product,Owner\n2026-02-01,salt,x\n", "none.csv"))


def test_days_are_asked_with_the_clients(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    head = "Date,Product,Out,Client,Withdrawal until\n"
    path = sheet(tmp_path, f"{head}1/2/2026,salt,5 kg,Brook House,3/4/2026\n")
    asked = [one.field for one in look(sqlite_book, path).questions]
    assert asked == ["order", "ponds"]
    # The end of a withdrawal shows the order as well as the day does.
    path = sheet(tmp_path, f"{head}1/2/2026,salt,5 kg,Brook House,13/4/2026\n")
    plan = planned(sqlite_book, path, {("ponds", "Brook House"): "Lower pond"})
    assert (plan.items[0].given.on_day, plan.items[0].given.until) == (
        date(2026, 2, 1), date(2026, 4, 13),
    )  # fmt: skip


def test_an_expiry_of_month_and_year_shows_no_order(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    head = "Date,Product,Out,Pond,Expiry,W/D end\n"
    path = sheet(tmp_path, f"{head}1/2/2026,oxy,5 g,P-1,12/25,3/4/2026\n")
    assert [one.field for one in look(sqlite_book, path).questions] == ["order"]
    plan = planned(sqlite_book, path, {("order", ""): "dmy"})
    assert (plan.items[0].given.until, plan.items[0].given.expired) == (date(2026, 4, 3), True)
    path = sheet(tmp_path, f"{head}1/2/2026,oxy,5 g,P-1,31/12/2026,3/4/2026\n", "whole.csv")
    assert planned(sqlite_book, path).items[0].given.on_day == date(2026, 2, 1)


def test_the_medicines_command(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    upper, _ = add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    path = sheet(tmp_path, "when used,stuff,out,owner\n1/2/2026,salt,5 kg,Brook House\n")
    assert run(sqlite_book, act, "medicines", path) == 1
    err = capsys.readouterr().err
    assert "“Brook House” has 2 ponds (line 2 first). Which one is meant?" in err
    assert "--ponds “Brook House=P-1”  Brook House, Upper pond" in err
    assert run(sqlite_book, act, "medicines", path, "--blank", "above") != 0
    assert "“above” is no answer to --blank. Say same or none." in capsys.readouterr().err
    words = ("--order", "dmy", "--column", "stuff=product", "--ponds", "Brook House=P-1")
    assert run(sqlite_book, act, "medicines", path, *words, "--dry-run") == 0
    out = capsys.readouterr().out
    assert "Brook House, Upper pond, 1 Feb 2026: salt, 5 kg" in out
    assert "Would save 1 line out of a medicine book; nothing was saved." in out
    assert events(sqlite_book, upper) == ()
    assert run(sqlite_book, act, "medicines", path, *words) == 0
    assert "Saved 1 line out of a medicine book." in capsys.readouterr().out
    assert [one.note for one in events(sqlite_book, upper)] == ["salt: 5 kg"]


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rows=st.lists(
        st.tuples(
            st.sampled_from(["2026-02-01", "13/2/2026", "", "soon", "2026-02-30"]),
            st.sampled_from(["salt", "", "é\x1b", "=1+1"]),
            st.sampled_from(["5", "0", "-", "", "2 kg", "½ tube", "-3 ml"]),
            st.sampled_from(["1 l", "", "0"]),
            st.sampled_from(["2026-03-01", "31/2/2026", "28 d", "", "nil", "2062-01-01"]),
        ),
        max_size=6,
    )
)
def test_every_line_out_is_kept_or_refused(
    sqlite_book: Book, act: Act, tmp_path: Path, rows: list[tuple[str, ...]]
) -> None:
    if not events_ponds(sqlite_book):
        add_ponds(sqlite_book, act, "Upper pond")
    lines = ["Date;Product;Out;In;Withdrawal;Pond\n", *(";".join((*row, "P-1\n")) for row in rows)]
    path = sheet(tmp_path, "".join(lines))
    answers = {("order", ""): "dmy", ("blank", ""): "none"}
    preview = look(sqlite_book, path, answers)
    plan = preview.plan
    assert plan is not None
    placed = {one.line for one in plan.items} | {one.line for one in plan.refused}
    for line, (_, product, out, came, _) in enumerate(rows, start=2):
        if out not in ("0", "-", ""):
            assert line in placed
        elif came in ("", "0") and product:
            assert line in {one.line for one in plan.refused}
    for one in plan.items:
        assert one.given.until is None or one.given.until >= one.given.on_day


def events_ponds(book: Book) -> bool:
    from store.book.ponds import ponds

    return bool(ponds(book))
