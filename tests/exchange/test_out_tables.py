"""Tables as CSV and JSON, whole and narrowed, and a pond's water as a sheet for its owner."""

from __future__ import annotations

import csv
import json
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from any_book import OWN, fill_any, tables_of

from store.book.act import Act
from store.book.book import Book
from store.book.columns import Base
from store.errors import BadInput, NotFound
from store.exchange.out.cells import unsafe
from store.exchange.out.described import table_names
from store.exchange.out.json_lines import export_json
from store.exchange.out.narrowed import Narrow, conditions, day_path, day_said, paths
from store.exchange.out.rows import Progress
from store.exchange.out.table_csv import export_table, known_table
from store.exchange.out.water_sheet import Days, export_water, heading
from store.water.line import understand
from store.water.parameters import PARAMETERS
from store.water.understood import KitForms, ReadingValue
from store.water.water_tests import NewTest, save_test, strike_test

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)


def cells(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file, strict=True))


@pytest.fixture
def two(sqlite_book: Book, act: Act) -> dict[str, UUID]:
    """Two clients with a pond each, water tests and visits on days that are known."""
    keys: dict[str, UUID] = {}
    with sqlite_book.writing(act) as writing:
        for name in ("=Ash", "Birch"):
            keys[name] = writing.add("client", name=name, phone="+44 1632 960001")
            site = writing.add("site", client_id=keys[name], name="Garden", latitude=-0.5)
            keys[f"{name} site"] = site
            keys[f"{name} pond"] = writing.add("pond", site_id=site, name="Pond", code=name[-3:])
            writing.add("visit", site_id=site, on_day=date(2026, 3, 1), kind="call")
    for name in ("=Ash", "Birch"):
        for day in (1, 2, 3):
            save_test(sqlite_book, act, keys[f"{name} pond"], NewTest(
                datetime(2026, 3, day, 23, 30, tzinfo=UTC), read("pH 7.4, KH 6")
            ))  # fmt: skip
    return keys


def read(line: str) -> tuple[ReadingValue, ...]:
    understood = understand(line, kit=KitForms("n", "no2", "no3"), now=NOW, zone=UTC)
    assert not understood.doubts, understood.doubts
    return understood.readings


# CSV


def test_a_table_goes_out_for_a_spreadsheet(
    sqlite_book: Book, two: dict[str, UUID], tmp_path: Path
) -> None:
    path = tmp_path / "client.csv"
    written = export_table(sqlite_book, "client", path)
    assert path.read_bytes().startswith(b"\xef\xbb\xbfid,name,phone")
    assert (written.rows, written.size) == (2, path.stat().st_size)
    ash, birch = cells(path)
    assert (ash["id"], ash["name"], ash["phone"]) == (str(two["=Ash"]), "'=Ash", "'+44 1632 960001")
    assert (birch["created_at"], birch["struck_at"]) == ("2026-03-14T07:30:00+00:00", "")
    export_table(sqlite_book, "site", tmp_path / "site.csv")
    assert {one["latitude"] for one in cells(tmp_path / "site.csv")} == {"-0.5"}


def test_every_table_of_any_book_goes_out(book: Book, tmp_path: Path) -> None:
    import random

    fill_any(book, random.Random(3))
    expected = tables_of(book)
    for name in table_names():
        told: list[Progress] = []
        written = export_table(book, name, tmp_path / f"{name}.csv", told=told.append)
        own = len(OWN) if name == "book_meta" else 0  # which copy it is, and where its chain ends
        rows = len(expected[name]) + own
        assert written.rows == rows == len(cells(tmp_path / f"{name}.csv"))
        assert told[-1] == Progress(name, written.rows, written.rows)
        for cell in (cell for row in cells(tmp_path / f"{name}.csv") for cell in row.values()):
            numeric = (
                cell[:1] == "-"
                and cell[1:].replace(".", "").replace("e", "").strip("-0123456789") == ""
            )
            assert cell[:1] not in set("=+-@\t\r") or numeric, cell


def test_narrowed_to_a_pond_a_client_and_days(
    sqlite_book: Book, two: dict[str, UUID], tmp_path: Path
) -> None:
    def rows(name: str, **narrow: Any) -> list[dict[str, str]]:
        export_table(sqlite_book, name, tmp_path / "x.csv", narrow=Narrow(**narrow), over=True)
        return cells(tmp_path / "x.csv")

    assert len(rows("reading")) == 12
    assert len(rows("reading", pond=two["Birch pond"])) == 6
    assert len(rows("water_test", client=two["=Ash"])) == 3
    assert {row["pond_id"] for row in rows("water_test", client=two["=Ash"])} == {
        str(two["=Ash pond"])
    }
    # 23:30 UTC is the same day in London in winter
    assert len(rows("water_test", first_day=date(2026, 3, 2), last_day=date(2026, 3, 2))) == 2
    assert len(rows("reading", first_day=date(2026, 3, 3), pond=two["Birch pond"])) == 2
    assert len(rows("visit", client=two["Birch"], last_day=date(2026, 3, 1))) == 1
    assert rows("visit", last_day=date(2026, 2, 28)) == []
    assert [unsafe(row["name"]) for row in rows("client", client=two["=Ash"])] == ["=Ash"]
    assert len(rows("client", first_day=date(2026, 3, 14))) == 2  # the day of entry
    assert rows("client", first_day=date(2026, 3, 15)) == []


def test_days_are_those_of_the_practice(
    sqlite_book: Book, two: dict[str, UUID], tmp_path: Path
) -> None:
    act = Act(UUID(int=0), NOW)  # only its time is used
    save = {"taken_at": datetime(2025, 7, 1, 23, 30, tzinfo=UTC)}  # 00:30 on the 2nd in London
    from store.book.people import staff

    save_test(sqlite_book, Act(staff(sqlite_book)[0].id, act.at), two["Birch pond"],
              NewTest(save["taken_at"], read("pH 7.4")))  # fmt: skip
    for day, expected in ((1, 0), (2, 1)):
        narrow = Narrow(first_day=date(2025, 7, day), last_day=date(2025, 7, day))
        written = export_table(
            sqlite_book, "water_test", tmp_path / "x.csv", narrow=narrow, over=True
        )
        assert written.rows == expected


def test_what_cannot_be_narrowed_is_told(sqlite_book: Book, tmp_path: Path) -> None:
    for name, narrow, part in (
        ("staff", Narrow(pond=UUID(int=1)), "belong to no pond"),
        ("product", Narrow(client=UUID(int=1)), "belong to no client"),
        ("book_meta", Narrow(first_day=date(2026, 1, 1)), "have no day"),
    ):
        with pytest.raises(BadInput, match=part):
            export_table(sqlite_book, name, tmp_path / "x.csv", narrow=narrow)
        assert list(tmp_path.glob("x*")) == []
    with pytest.raises(BadInput, match="after the last"):
        Narrow(first_day=date(2026, 1, 2), last_day=date(2026, 1, 1))


@pytest.mark.parametrize("name", table_names())
def test_every_way_to_a_pond_or_client_can_be_asked(sqlite_book: Book, name: str) -> None:
    zone = sqlite_book.zone
    for target in ("pond", "client"):
        for way in paths(name, target):
            assert way[0].table.name == name
            assert way[-1].name in (f"{target}_id", "id")
    narrow = Narrow(
        pond=UUID(int=1) if paths(name, "pond") else None,
        client=UUID(int=1) if paths(name, "client") else None,
        first_day=date(1900, 1, 1) if day_path(name) else None,
        last_day=date(2199, 12, 31) if day_path(name) else None,
    )
    with sqlite_book.reading() as connection:
        query = Base.metadata.tables[name].select().where(*conditions(name, narrow, zone))
        connection.execute(query).all()
    assert bool(day_said(name)) == (day_path(name) is not None)


def test_a_row_never_goes_to_a_client_through_what_it_may_also_be_for() -> None:
    assert [[str(one) for one in way] for way in paths("follow_up_day", "pond")] == [
        ["follow_up_day.follow_up_id", "follow_up.pond_id"]
    ]
    assert len(paths("drive_time", "client")) == 2  # both ends
    assert paths("practice", "pond") == ()


def test_a_name_is_understood_and_a_slip_answered() -> None:
    assert known_table("Water test").name == "water_test"
    assert known_table("logger-reading").name == "logger_reading"
    with pytest.raises(NotFound, match="water_test"):
        known_table("water_tests")
    with pytest.raises(NotFound, match="booking"):
        known_table("zzzz")


def test_never_over_a_file_unasked(sqlite_book: Book, tmp_path: Path) -> None:
    path = tmp_path / "staff.csv"
    path.write_text("mine")
    with pytest.raises(BadInput, match="already"):
        export_table(sqlite_book, "staff", path)
    assert path.read_text() == "mine"
    export_table(sqlite_book, "staff", path, over=True)
    assert cells(path)[0]["name"] == "Ada Vet"
    for wrong, part in (
        (tmp_path, "is a folder"),
        (tmp_path / "no" / "x.csv", "cannot be written"),
    ):
        with pytest.raises((BadInput, NotFound), match=part):
            export_table(sqlite_book, "staff", wrong)
    assert [one.name for one in tmp_path.iterdir()] == ["practice.pondround", "staff.csv"] or {
        one.name for one in tmp_path.iterdir() if not one.name.startswith("practice")
    } == {"staff.csv"}


# JSON


def test_json_is_one_object_a_line(book: Book, act: Act, tmp_path: Path) -> None:
    with book.writing(act) as writing:
        client = writing.add("client", name="=Ash;=1", notes="a\nb")
        site = writing.add("site", client_id=client, name="Garden", latitude=-0.5)
        writing.add("pond", site_id=site, name="P", indoor=True,
                    test_seasons=[{"from": "04-01", "to": "10-31", "every_days": 7}])  # fmt: skip
    path = tmp_path / "book.jsonl"
    told: list[Progress] = []
    written = export_json(book, path, NOW, told=told.append)
    head, *lines = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    assert head["tables"]["client"] == 1
    assert (head["practice"], head["written_at"]) == ("Test practice", "2026-03-14T07:30:00+00:00")
    assert len(lines) == written.rows == sum(head["tables"].values()) == told[-1].done
    rows = {line["table"]: line["row"] for line in lines}
    assert (rows["client"]["name"], rows["client"]["notes"]) == ("=Ash;=1", "a\nb")
    assert (rows["pond"]["indoor"], rows["pond"]["depth_m"]) == (True, None)
    assert rows["pond"]["test_seasons"][0]["every_days"] == 7
    assert rows["site"]["latitude"] == -0.5
    assert rows["pond"]["site_id"] == rows["site"]["id"] == str(site)
    assert rows["client"]["created_at"] == "2026-03-14T07:30:00+00:00"
    assert rows["change"]["before"] is None

    export_json(book, path, NOW, name="pond", over=True)
    (line,) = path.read_text(encoding="utf-8").splitlines()
    assert json.loads(line) == rows["pond"]


def test_the_whole_book_is_not_narrowed(sqlite_book: Book, tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="name a table"):
        export_json(sqlite_book, tmp_path / "x", NOW, narrow=Narrow(pond=UUID(int=1)))


# Water


def test_water_as_a_wide_sheet(
    sqlite_book: Book, act: Act, two: dict[str, UUID], tmp_path: Path
) -> None:
    pond = two["Birch pond"]
    save_test(sqlite_book, act, pond, NewTest(
        datetime(2025, 7, 1, 6, 5, tzinfo=UTC), read("temp 66 F, NO2 <0.05, pH 8.2, TAN 0.25, KH 6.5"),
        note="=1+1", place="@outlet",
    ))  # fmt: skip
    key = save_test(sqlite_book, act, pond, NewTest(NOW - timedelta(hours=1), read("pH 9.9")))
    strike_test(sqlite_book, act, key, 1, "wrong pond")
    path = tmp_path / "water.csv"
    assert export_water(sqlite_book, pond, path).rows == 4
    first, *_, last = cells(path)
    assert list(first) == [
        "date", "time", "place", "temperature °C", "pH", "total ammonia mg/L N",
        "nitrite mg/L NO2", "alkalinity dKH", "doubtful because", "note", "by", "time zone",
    ]  # fmt: skip
    assert list(first.values()) == [
        "2025-07-01", "07:05", "'@outlet", "18.9", "8.2", "0.25", "<0.05", "6.5", "", "'=1+1",
        "Ada Vet", "Europe/London",
    ]  # fmt: skip
    assert (last["date"], last["pH"], last["nitrite mg/L NO2"]) == ("2026-03-03", "7.4", "")
    assert "9.9" not in path.read_text(encoding="utf-8")  # struck through

    days = Days(date(2026, 3, 2), date(2026, 3, 3))
    assert export_water(sqlite_book, pond, path, days=days, over=True).rows == 2


def test_the_sheet_can_be_brought_in_and_adds_nothing(
    sqlite_book: Book, two: dict[str, UUID], tmp_path: Path
) -> None:
    from store.exchange.water.sheets import read_water

    export_water(sqlite_book, two["Birch pond"], tmp_path / "water.csv")
    plan = read_water(tmp_path / "water.csv", sqlite_book, NOW, pond=str(two["Birch pond"]))
    assert (plan.already, len(plan.items), plan.refused) == (3, 0, ())


@pytest.mark.parametrize("parameter", PARAMETERS.values(), ids=lambda one: one.code)
def test_headings_carry_the_unit_of_their_cells(parameter: Any) -> None:
    from store.exchange.columns.headings import heading_of

    found = heading_of(heading(parameter))
    assert found is not None
    assert found.parameter == parameter.code


def _reading(
    bound: Any, value: float, low: float | None, high: float | None, typed: str
) -> ReadingValue:
    return ReadingValue("tan_mg_l", value, low, high, bound, typed, "mg/L", "n")


@pytest.mark.parametrize(
    ("reading", "cell"),
    [
        (_reading("<", 0.0, None, None, "nd"), "not detected"),
        (_reading(">", 0.0, 0.0, None, "trace"), "trace"),
        (_reading(">", 8.0, 8.0, None, "8+"), ">8"),
        (_reading("<", 0.05, None, 0.05, "<0.05"), "<0.05"),
        (_reading("~", 0.5, 0.25, 0.5, "0.25-0.5"), "0.25–0.5"),
        (_reading("~", 0.5, None, None, "~0.5"), "~0.5"),
        (_reading("=", 0.0008, None, None, "1 ug"), "0.001"),
        (_reading("=", 0.4113, None, None, "0.5"), "0.41"),
    ],
)
def test_what_is_no_plain_number_stays_none(
    sqlite_book: Book,
    act: Act,
    two: dict[str, UUID],
    tmp_path: Path,
    reading: ReadingValue,
    cell: str,
) -> None:
    new = NewTest(NOW - timedelta(hours=2), (reading,))
    save_test(sqlite_book, act, two["=Ash pond"], new)
    export_water(sqlite_book, two["=Ash pond"], tmp_path / "w.csv")
    assert cells(tmp_path / "w.csv")[-1]["total ammonia mg/L N"] == cell


def test_more_tests_than_a_page_come_each_once(
    sqlite_book: Book,
    act: Act,
    two: dict[str, UUID],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    import store.exchange.out.water_sheet as room

    monkeypatch.setattr(room, "_PAGE", 2)
    for _ in range(5):  # of one instant, more than a page
        save_test(
            sqlite_book,
            act,
            two["=Ash pond"],
            NewTest(datetime(2026, 3, 2, 9, tzinfo=UTC), read("pH 7")),
        )
    assert export_water(sqlite_book, two["=Ash pond"], tmp_path / "w.csv").rows == 8
