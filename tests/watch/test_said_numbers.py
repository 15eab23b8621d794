"""Every number of a rule is said with its unit, and one number everywhere in the same way."""

from __future__ import annotations

import ast
import re
from datetime import timedelta
from pathlib import Path

import pytest
from ponds import TODAY, days_ago, pond

import store
from store.book.act import Act
from store.book.book import Book
from store.watch.kinds import KINDS
from store.watch.morning import SPARK_TESTS, morning_list, watch_pond
from store.watch.rule_page import read_number, rule_page, save_numbers
from store.watch.rule_words import in_one_clause, said_number
from store.watch.rulebook import published
from store.water.understood import ReadingValue
from store.water.water_tests import NewTest, save_test

_NUMBER = re.compile(r"(?P<before>pH )?(?<![\w.])\d+(?:\.\d+)?(?P<behind> \S+)?")
_UNITS = {
    "°C", "mg/L", "g/L", "µS/cm", "%", "h", "days", "signs", "corrections", "dead", "points", "×", "pH", "dKH",
    "dGH", "readings", "to", "per", "of",
}  # fmt: skip
"""How units begin; behind the lower end of a window stand `to` and the upper one."""


def without_unit(said: str) -> list[str]:
    """The numbers of a text that stand without a unit."""
    return [
        found.group()
        for found in _NUMBER.finditer(said)
        if not found["before"] and (found["behind"] or "").strip(" ();,") not in _UNITS
    ]


@pytest.mark.parametrize("code", published())
def test_no_number_of_a_rule_is_said_without_its_unit(code: str, sqlite_book: Book) -> None:
    assert without_unit("watch above 0.02; act above 0.05") == ["0.02", "0.05"]
    assert not without_unit(in_one_clause(published()[code]))
    page = rule_page(sqlite_book, code)
    for number in page.numbers:
        assert not without_unit(number.said), number.name
    for statement in page.statements:
        span, colon, _ = statement.said.partition(": ")
        assert not (colon and span[:1].isdigit() and without_unit(span)), span


def test_the_limit_says_of_what_it_is_a_share_and_as_what_it_is_counted() -> None:
    said = {code: in_one_clause(published()[code]) for code in published()}
    assert said["ammonia_un_ionised"] == "watch above 0.02 mg/L NH3; act above 0.05 mg/L NH3-N"
    assert said["ammonia_criterion"] == (
        "watch above 1 × the chronic criterion; act above 1 × the acute criterion"
    )
    assert said["chloride_reserve"] == "note below 100 mg/L"
    assert said["conductivity"] == "note below 50 µS/cm, above 1500 µS/cm"
    assert said["nitrite"] == "watch above 0.2 mg/L NO2; act above 1 mg/L NO2"
    assert said_number("trend_least_values", 3.0) == "3 days with a value"


def test_alkalinity_is_said_in_both_units_wherever_its_limit_stands(sqlite_book: Book) -> None:
    rule = published()["alkalinity_low"]
    assert in_one_clause(rule) == "watch below 75 mg/L (4.2 dKH); act below 20 mg/L (1.1 dKH)"
    seen, kind = pond(days_ago(1, alkalinity_mg_l=50.0)), KINDS[rule.kind]
    finding = kind.find(rule, seen, TODAY)
    assert finding is not None
    told = kind.tell(rule, seen, finding, lambda *_: "", TODAY)
    assert told.arithmetic == ("alkalinity (KH) 2.8 dKH is below 4.2 dKH (75 mg/L CaCO3)",)
    page = rule_page(sqlite_book, "alkalinity_low")
    assert page.statements[0].said.startswith("75 to 200 mg/L CaCO3 (4.2 to 11.2 dKH): ")
    assert read_number("watch_below_mg_l", "5 dKH", "alkalinity_mg_l") == pytest.approx(89.24, 1e-4)


def test_a_number_of_the_practice_says_whose_it_is_and_what_was_published(
    sqlite_book: Book, act: Act
) -> None:
    with sqlite_book.writing(act) as writing:
        owner = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=owner, name="Garden")
        key = writing.add("pond", site_id=site, name="Lower pond")
    name, day = "watch_below_mg_l", f"{act.at:%Y-%m-%d}"
    page = rule_page(sqlite_book, "alkalinity_low")
    save_numbers(sqlite_book, act, page, {name: 90.0}, "Soft wells")
    number = next(
        one for one in rule_page(sqlite_book, "alkalinity_low").numbers if one.name == name
    )
    assert number.source == f"the practice's own, changed by Ada Vet on {day}: Soft wells"
    assert number.standing == "practice's own"
    assert number.note.startswith("Published: 75 mg/L (4.2 dKH); Wurts")
    page = rule_page(sqlite_book, "alkalinity_low", key)
    save_numbers(sqlite_book, act, page, {name: 60.0}, "Rain", pond=key)
    page = rule_page(sqlite_book, "alkalinity_low", key)
    number = next(one for one in page.numbers if one.name == name)
    assert number.source == f"the pond's own, changed by Ada Vet on {day}: Rain"
    assert "90 mg/L" in number.note
    assert "75 mg/L" in number.note


def test_the_list_and_the_page_never_contradict_each_other_on_since_when(
    book: Book, act: Act
) -> None:
    with book.writing(act) as writing:
        owner = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=owner, name="Garden")
        ponds = [writing.add("pond", site_id=site, name=f"{count}") for count in (5, 30, 70)]
    for key, count in zip(ponds, (5, 30, 70), strict=True):
        # Too alkaline at that many tests in a row, one every third day, and good before.
        for place in range(count + 1):
            ph = 8.7 if place < count else 7.6
            taken_at = act.at - timedelta(days=3 * place + 1)
            reading = ReadingValue("ph", ph, None, None, "=", str(ph), "", "")
            save_test(book, act, key, NewTest(taken_at=taken_at, readings=(reading,)))
    lines = {line.pond: line for line in morning_list(book, act.at).lines}
    assert SPARK_TESTS < 30
    for key, of_list, of_page in zip(ponds, (False, True, True), (False, False, True), strict=True):
        line = lines[key]
        told = next(one for one in watch_pond(book, key, act.at).concerns if one.rule == line.rule)
        assert line.rule == "ph_range"
        assert (line.or_earlier, told.or_earlier) == (of_list, of_page)
        assert line.since is not None
        assert told.since is not None
        assert told.since < line.since if of_list else told.since == line.since


def test_what_is_multiplied_is_said_with_the_sign_for_it() -> None:
    found = []
    rooms = Path(store.__file__).parent
    paths = [
        path
        for room in ("water", "watch", "facts", "courses")
        for path in (rooms / room).rglob("*.py")
    ]
    for path in sorted(paths):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        comments = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
        found += [
            f"{path.name} {node.lineno}: {node.value}"
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and id(node) not in comments
            and re.search(r"(?:^|\S) x(?: |$)", node.value)
        ]
    assert not found
