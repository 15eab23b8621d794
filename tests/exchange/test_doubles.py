"""Doubles: pairs with a score and reasons in words; a name alone never makes one client."""

from __future__ import annotations

import random

import pytest

from store.exchange.catch_up.addresses import ListedAddress
from store.exchange.catch_up.doubles import Somebody, compare, doubles
from store.exchange.catch_up.grouped import surely
from store.exchange.catch_up.names import joined_name, listed_name

HERE = ListedAddress("3 Mill Lane", "Wick", "SO99 9ZZ")
NEAR = ListedAddress("4 Mill Lane", "Wick", "SO99 9ZZ")
FAR = ListedAddress("1 Far Street", "Tarn", "TA99 1AA")


def _one(
    key: str, name: str, phone: str = "", address: ListedAddress | None = None, mail: str = ""
) -> Somebody:
    return Somebody(
        key, listed_name(name), (phone,) if phone else (), (mail,) if mail else (),
        (address,) if address else (),
    )  # fmt: skip


def test_every_pair_says_why() -> None:
    pair = compare(
        _one("a", "Alder, Anne", "01632 960111", HERE),
        _one(
            "b", "Mrs A. Alder", "+44 1632 960 111", ListedAddress("3 Mill Ln", "Wick", "so99 9zz")
        ),
    )
    assert pair.reasons == (
        "the telephone is the same (01632 960111)",
        "the surname is the same, Anne and A. fit",
        "the address is the same",
    )
    assert pair.against == ()
    assert pair.score > 90
    against = compare(
        _one("a", "Anne Alder", "01632 960111", HERE), _one("b", "Anne Alder", "01632 960222", FAR)
    )
    assert against.against == ("the telephones differ", "the addresses differ")
    assert against.said == "the name is the same; but the telephones differ, the addresses differ"
    assert against.name_alone


@pytest.mark.parametrize(
    ("more", "less"),
    [
        (("Anne Alder", "01632 960111"), ("Anne Alder", "01632 960112")),
        (("Anne Alder", "01632 960111"), ("Bert Alder", "01632 960111")),
        (("Anne Alder", ""), ("Anne Adler", "")),
        (("Anne Alder", ""), ("Bert Alder", "")),
    ],
)
def test_less_in_common_scores_less(more: tuple[str, str], less: tuple[str, str]) -> None:
    first = _one("a", "Anne Alder", "01632 960111")
    assert compare(first, _one("b", *more)).score > compare(first, _one("b", *less)).score


def test_a_pair_scores_the_same_from_both_sides() -> None:
    one, other = _one("a", "Alder J", "01632 960111", HERE), _one("b", "Jane Alder", "", NEAR)
    assert compare(one, other).score == compare(other, one).score


def test_nothing_is_sure_on_a_name_alone() -> None:
    alone = _one("a", "Anne Alder"), _one("b", "Anne Alder")
    assert not surely(*alone, compare(*alone))
    near = _one("a", "Anne Alder", "", HERE), _one("b", "Anne Alder", "", NEAR)
    assert not surely(*near, compare(*near))
    other = _one("a", "Mr A Alder", "01632 960111"), _one("b", "Mrs A Alder", "01632 960111")
    assert not surely(*other, compare(*other))
    against = (
        _one("a", "Anne Alder", "01632 960111", HERE), _one("b", "Anne Alder", "01632 960111", FAR)
    )  # fmt: skip
    assert not surely(*against, compare(*against))
    sure = _one("a", "Alder, Anne", "01632 960111", HERE), _one("b", "Anne Alder", "01632 960111")
    assert surely(*sure, compare(*sure))


def test_house_numbers_are_no_misspelling() -> None:
    pair = compare(_one("a", "Anne Alder", "", HERE), _one("b", "Anne Alder", "", NEAR))
    assert "the postcode is the same (SO99 9ZZ)" in pair.reasons
    assert not any("address" in reason for reason in pair.reasons)


def test_a_postcode_that_lost_its_zero_is_the_same() -> None:
    one = _one("a", "Anne Alder", "", ListedAddress("Weg 3", "Dresden", "1067"))
    other = _one("b", "Anne Alder", "", ListedAddress("Weg 3", "Dresden", "01067"))
    assert "the address is the same" in compare(one, other).reasons


def test_pairs_are_found_within_the_list_and_against_the_book() -> None:
    listed = [
        _one("line 2", "Alder, Anne", "01632 960111", HERE),
        _one("line 3", "Rowan, Iris", "01632 960300", FAR),
        _one("line 4", "A. Alder", "", HERE),
        _one("line 5", "Harbour Hotel", "01632 960400"),
    ]
    known = [_one("book 1", "The Harbour Hotel Ltd", "01632 960400"), _one("book 2", "Iris Rowann")]
    found = {(pair.one, pair.other) for pair in doubles(listed, known)}
    assert found == {("line 4", "line 2"), ("line 5", "book 1"), ("line 3", "book 2")}
    scores = [pair.score for pair in doubles(listed, known)]
    assert scores == sorted(scores, reverse=True)


def test_thousands_are_compared_by_what_they_share() -> None:
    """Every double hidden among 2,000 is found, and nobody of another name, number and place."""
    chance = random.Random(3)
    letters = "bcdfghklmnprstvw"

    def word() -> str:
        return "".join(
            chance.choice(letters) + chance.choice("aeiou") for _ in range(4)
        ).capitalize()

    people = [
        _one(f"book {at}", f"{word()} {word()}", f"0{chance.randrange(10**9, 10**10)}",
             ListedAddress(f"{at} {word()} Road", word(), f"{at:05}"))
        for at in range(2000)
    ]  # fmt: skip
    hidden = chance.sample(range(2000), 40)
    listed = [
        _one(f"line {at}", people[at].name.typed.replace(" ", "  "), people[at].phones[0][1:])
        for at in hidden
    ]
    found = doubles(listed, people)
    sure = {(pair.one, pair.other) for pair in found if not pair.name_alone}
    assert sure == {(f"line {at}", f"book {at}") for at in hidden}


def test_a_town_alone_speaks_against_nothing() -> None:
    """As where a list with towns and no streets is brought in twice."""
    wick, tarn = ListedAddress("", "Wick", ""), ListedAddress("", "Tarn", "")
    pair = compare(_one("a", "BIRCH B", address=wick), _one("b", "Birch B", address=wick))
    assert (pair.score, pair.against) == (45, ())
    assert compare(_one("a", "Birch B", address=wick), _one("b", "Birch B", address=tarn)).against


def test_a_surname_of_several_words_is_found_again() -> None:
    """“y” is read as “and” in a whole name, and not in a column of surnames."""
    listed = Somebody("a", joined_name("", "", "Rey y Roca"))
    assert compare(listed, _one("b", listed.name.shown)).score >= 45
