"""Names, telephones, addresses, remarks and columns of client lists."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.errors import BadInput
from store.exchange.catch_up.addresses import ListedAddress, listed_address, lost_zero
from store.exchange.catch_up.asking import Question, answered, answers_read, answers_text
from store.exchange.catch_up.list_columns import list_shape
from store.exchange.catch_up.list_words import MEANINGS
from store.exchange.catch_up.listed import ListRow, listed_clients
from store.exchange.catch_up.names import joined_name, listed_name
from store.exchange.catch_up.pond_remarks import proposed_ponds, read_depth, read_volume
from store.exchange.catch_up.telephones import lost_zero as lost_phone_zero
from store.exchange.catch_up.telephones import same_number, telephones


@pytest.mark.parametrize(
    ("typed", "shown", "surname", "given_names"),
    [
        ("Alder, Anne", "Anne Alder", "alder", "anne"),
        ("ALDER, Mr & Mrs J.", "Mr & Mrs J. Alder", "alder", "j"),
        ("Alder Mr & Mrs J & A", "Mr & Mrs J & A Alder", "alder", "j a"),
        ("ALDER Anne", "Anne Alder", "alder", "anne"),
        ("VAN DER BERG Piet", "Piet van der Berg", "van der berg", "piet"),
        ("Mr and Mrs Alder", "Mr and Mrs Alder", "alder", ""),
        ("Dr. Anne O'Brien", "Dr. Anne O'Brien", "obrien", "anne"),
        ("Court, Mrs A", "Mrs A Court", "court", "a"),
        ("Alder J.A.", "Alder J.A.", "alder", "j a"),
        ("Anne Alder, Prof.", "Anne Alder, Prof.", "alder", "anne"),
        ("ALDER ANNE", "ALDER ANNE", "anne", "alder"),
    ],
)
def test_a_name_is_turned_only_where_the_surname_is_beyond_doubt(
    typed: str, shown: str, surname: str, given_names: str
) -> None:
    name = listed_name(typed)
    assert (name.shown, name.surname, name.given) == (
        shown, tuple(surname.split()), tuple(given_names.split()),
    )  # fmt: skip
    assert name.typed == typed
    assert not name.firm


def test_firms_and_houses_are_no_persons() -> None:
    for typed in ("Harbour Hotel Ltd", "Brook House, Mill Lane", "A. Smith & Sons"):
        name = listed_name(typed)
        assert (name.shown, name.firm, name.given) == (typed, True, ())
    assert (
        joined_name("Mr", "John", "ALDER", "Alder Aquatics").shown
        == "Mr John Alder, Alder Aquatics"
    )


@pytest.mark.parametrize(
    ("cell", "numbers", "note"),
    [
        ("01632 960111 / 07700 900222 (ask for Mrs Alder)", ("01632 960111", "07700 900222"), "ask for Mrs Alder"),
        ("01632960111/07700900222", ("01632960111", "07700900222"), ""),
        ("H: 01632 960111 M: 07700 900222", ("01632 960111", "07700 900222"), ""),
        ("01632 960111 after 6pm", ("01632 960111",), "after 6pm"),
        ("07700-900222; wife 07700 900333", ("07700-900222", "07700 900333"), "wife"),
        ("01632 960111 07700 900222", ("01632 960111", "07700 900222"), ""),
        ("+44 (0)1632 960111", ("+44 (0)1632 960111",), ""),
        ("(01632) 960111 ext 12", ("(01632) 960111 ext 12",), ""),
        ("01632 960111/2", ("01632 960111/2",), ""),
        ("030/9018200", ("030/9018200",), ""),
        ("ex-directory", (), "ex-directory"),
        ("447700900222.0", ("447700900222",), ""),
    ],
)  # fmt: skip
def test_two_numbers_and_a_note_in_one_field(
    cell: str, numbers: tuple[str, ...], note: str
) -> None:
    read = telephones(cell)
    assert (read.numbers, read.note) == (numbers, note)


def test_a_number_turned_into_a_power_of_ten_is_told() -> None:
    assert telephones("4.47701E+11").spoilt == "4.47701E+11"
    assert telephones("4.47701E+11").numbers == ()


@given(st.text(alphabet="0123456789 /+()-;,.xeE&abcmob:\n", max_size=40))
def test_no_figure_of_a_telephone_cell_is_lost(cell: str) -> None:
    read = telephones(cell)
    kept = "".join(
        letter for letter in " ".join((*read.numbers, read.note, read.spoilt)) if letter.isdigit()
    )
    typed = "".join(letter for letter in cell if letter.isdigit())
    if len(set(read.numbers)) == len(read.numbers) and not cell.strip().endswith(".0"):
        once = all(cell.count(number) == 1 for number in read.numbers)
        assert len(kept) == len(typed) or not once
        assert sorted(kept) == sorted(typed) or not once


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ("+44 1632 960111", "01632 960 111", True),
        ("0044 (0)1632 960111", "01632960111", True),
        ("1632960111", "01632 960111", True),
        ("01632 960111", "01632 960112", False),
        ("960111", "01632 960111", False),
        ("01632 960111 ext 4", "01632 960111", True),
    ],
)
def test_numbers_are_compared_by_their_figures(one: str, other: str, same: bool) -> None:
    assert same_number(one, other) is same
    assert same_number(other, one) is same


def test_a_lost_zero_is_seen_only_where_the_list_writes_one() -> None:
    assert lost_phone_zero(("01632 960111", "07700 900222", "7700900333")) == ("7700900333",)
    assert lost_phone_zero(("5551234567", "5551234568", "01632 960111")) == ()
    assert lost_zero(["10115", "1067", "", "80331"]) == ("1067",)
    assert lost_zero(["8001", "3011"]) == ()
    assert lost_zero(["98101", "2134-1234"]) == ("2134-1234",)


@pytest.mark.parametrize(
    ("parts", "address"),
    [
        (
            ["3 Mill Lane", "Wick", "Hampshire", "so999zz"],
            ("3 Mill Lane, Hampshire", "Wick", "SO99 9ZZ"),
        ),
        (["3 Mill Lane, Wick SO99 9ZZ"], ("3 Mill Lane", "Wick", "SO99 9ZZ")),
        (["The Old Mill\nChurch Road\nWick\nUK"], ("The Old Mill, Church Road, UK", "Wick", "")),
        (["Seestrasse 4", "8001 Zürich"], ("Seestrasse 4", "Zürich", "8001")),
        (["4 Elm St, Austin TX 78701"], ("4 Elm St", "Austin TX", "78701")),
        (["1204 Elm Street", "Wick"], ("1204 Elm Street", "Wick", "")),
        (["12 Mill Lane"], ("12 Mill Lane", "", "")),
        (["", "", ""], ("", "", "")),
    ],
)
def test_an_address_over_four_columns_or_one(
    parts: list[str], address: tuple[str, str, str]
) -> None:
    assert listed_address(parts) == ListedAddress(*address)


@given(st.lists(st.text(alphabet="abc ,\n019AZ", max_size=20), max_size=4))
def test_no_word_of_an_address_is_lost(parts: list[str]) -> None:
    found = listed_address(parts).said.casefold().replace(" ", "")
    for part in parts:
        for piece in part.replace("\n", ",").split(","):
            assert piece.casefold().replace(" ", "") in found


def test_ponds_are_read_out_of_remarks_with_their_doubts() -> None:
    (one,) = proposed_ponds("koi pond approx 3000 gal, 5 ft deep, 23 koi")
    assert (one.litres, one.gallons, one.depth_m, one.species) == (None, 3000.0, 1.524, "koi")
    assert one.doubts == ("gallons: US or UK?",)
    upper, lower = proposed_ponds("upper pond 5 m3 goldfish, lower pond 12.5m3 sturgeon")
    assert (upper.name, upper.litres, lower.name, lower.litres) == (
        "Upper pond",
        5000.0,
        "Lower pond",
        12500.0,
    )
    first, second = proposed_ponds("two ponds, 12000 litres")
    assert (first.litres, second.litres) == (None, None)
    assert first.doubts == ("2 ponds and 1 volume: not taken",)
    assert [one.litres for one in proposed_ponds("2 ponds: 5000 l and 8000 l")] == [5000.0, 8000.0]
    assert [one.litres for one in proposed_ponds("pond 1 400 l; pond 2 6000 l")] == [400.0, 6000.0]
    (doubtful,) = proposed_ponds("1,500 m3 lake with carp")
    assert (doubtful.litres, doubtful.doubts) == (None, ("“1,500 m3” can be read in two ways",))
    for remark in ("pays late", "dog bites, gate code 1234", "ask for Mrs Fox", ""):
        assert proposed_ponds(remark) == ()


def test_a_volume_without_a_unit_is_none() -> None:
    assert read_volume("4000") == ("4000", None, None, "a volume without a unit")
    assert read_volume("4000", "litres")[1] == 4000.0
    # 4 UK gallons = 18.18436 L: Weights and Measures Act 1985, 4.54609 L each.
    assert read_volume("4 imperial gallons")[1] == pytest.approx(18.18436, abs=1e-3)
    assert read_depth("4'") == pytest.approx(1.2192)  # the foot is 0.3048 m
    assert read_depth("1.4") is None


def test_columns_are_known_by_heading_or_by_what_stands_in_them() -> None:
    shape = list_shape(
        [
            ["", "Who", "", ""],
            ["1", "Anne Alder", "01632 960111", "anne@alder.example"],
            ["2", "Iris Rowan", "01632 960112", "iris@rowan.example"],
        ]
    )
    assert [one.meaning for one in shape.columns] == ["unknown", "unknown", "phone", "email"]
    assert [one.place for one in shape.names_among] == [1], "asked, never guessed"
    assert shape.headings_asked == ("Who",)
    corrected = list_shape(
        [["Name", "Box"], ["Alder", "4000 l"]], {"Box": "volume", "A": "surname"}
    )
    assert [one.meaning for one in corrected.columns] == ["surname", "volume"]
    with pytest.raises(BadInput, match="A column cannot mean “bicycle”"):
        list_shape([["Name"], ["Alder"]], {"name": "bicycle"})
    with pytest.raises(BadInput, match="No column of the file holds the clients' names"):
        list_shape([["Tel"], ["01632 960111"]])
    assert len(set(MEANINGS)) == len(MEANINGS)


def test_rows_without_a_name_belong_to_the_client_above() -> None:
    rows = [
        ["Name", "Tel", "Pond", "Volume (l)"],
        ["", "01632 960000", "", ""],
        ["Alder", "01632 960111", "Upper", "4000"],
        ["", "", "Lower", "6000"],
        ["Total", "", "", "10000"],
        ["", "", "", "10000"],
        ["Page 2"],
        ["Name", "Tel", "Pond", "Volume (l)"],
        ["Rowan", "", "", ""],
    ]
    listing = listed_clients(
        [ListRow(at + 1, tuple(row)) for at, row in enumerate(rows)], list_shape(rows)
    )
    assert [one.name.shown for one in listing.clients] == ["Alder", "Rowan"]
    assert [(pond.name, pond.litres) for pond in listing.clients[0].ponds] == [
        ("Upper", 4000.0),
        ("Lower", 6000.0),
    ]
    assert [(row.line, why) for row, why in listing.refused] == [
        (2, "The row names no client, and no client stands above it.")
    ]
    assert [(row.line, what) for row, what in listing.passed] == [
        (5, "total"), (6, "total"), (7, "footnote"), (8, "heading"),
    ]  # fmt: skip


def test_answers_go_through_a_file_and_come_back() -> None:
    one = Question("double line 7 = line 3", "double", 7, "Is it “x, y”?", "why; not", "same", 80)
    two = Question("gallons", "gallons", 3, "Which?", "3 clients")
    text = answers_text([one, two], "a" * 64, [("Box", "unknown", "no idea")])
    assert answers_read(text, "a" * 64) == {"double line 7 = line 3": "same"}
    typed = text.replace(",us / uk / open", "uk,us / uk / open").replace("\n,us", "\nuk,us")
    assert answers_read("\ufeff" + typed, "a" * 64)["gallons"] == "uk"
    with pytest.raises(BadInput, match="belong to another file"):
        answers_read(text, "b" * 64)
    with pytest.raises(BadInput, match="no file of answers"):
        answers_read("Name,Tel\nAlder,1\n", "a" * 64)
    with pytest.raises(BadInput, match="no file of answers"):
        answers_read("answer,key\n" + "x" * 200_000, "a" * 64)
    with pytest.raises(BadInput, match="no answer to “gallons”"):
        answered({"gallons": "litres"}, "gallons", "gallons")


_CELLS = st.one_of(
    st.sampled_from(
        ["", "", "Alder, Anne", "ALDER J", "01632 960111", "3 Mill Lane, Wick", "1067", "two ponds",
         "koi pond 12,000 l", "3000 gal", "Total", "Name", "Tel", "Address 1", "Remarks",
         "4.47701E+11", "Brook House Ltd", "Volume (l)", "2 m"]
    ),
    st.text(max_size=15),
    st.text(alphabet="0123456789+()/ -.,eEx\n", max_size=25),
    st.text(alphabet="pond l23koigal m,.two&'", max_size=30),
)  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(rows=st.lists(st.lists(_CELLS, max_size=8), min_size=1, max_size=7))
def test_every_row_of_a_list_is_a_client_passed_over_or_refused(rows: list[list[str]]) -> None:
    try:
        shape = list_shape(rows)
    except BadInput:
        return
    listing = listed_clients([ListRow(at, tuple(row)) for at, row in enumerate(rows)], shape)
    lines = [row.line for one in listing.clients for row in one.rows]
    lines += [row.line for row, _what in (*listing.passed, *listing.refused)]
    held = [at for at, row in enumerate(rows) if any(cell.strip() for cell in row)]
    assert sorted(lines) == [at for at in held if at != shape.header_at]
