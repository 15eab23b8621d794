"""The record of changes in words: names, units, zones, readings as typed; nothing raw."""

from __future__ import annotations

import re
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.columns import Base
from store.book.sign_in import set_login
from store.book.told.hanging import pointing
from store.book.told.record import Wish
from store.errors import BadInput
from store.record.kinds import SECTIONS, kinds, label_of, words
from store.record.span import typed_span
from store.record.told import Told, told_record

RAW = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-|\d{4}-\d\d-\d\dT")
"""A key, or an instant with its zone: nothing for a person."""
KEPT_SAID = ("id", "rev", "created_at", "created_by", "changed_at", "changed_by")


@pytest.fixture
def pond(book: Book, act: Act) -> UUID:
    with book.writing(act) as writing:
        owner = writing.add("client", name="Idris [b]Fallow[/b]")
        site = writing.add("site", client_id=owner, name="Garden")
        return writing.add("pond", site_id=site, name="Koi house", depth_m=1.2)


def _told(book: Book, text: str = "", **wish: object) -> tuple[Told, ...]:
    page = told_record(book, Wish(**wish), text)  # type: ignore[arg-type]
    for line in page.lines:
        said = [line.what, line.whose, line.why, line.kind]
        said += [f"{one.label} {one.before} {one.after}" for one in line.fields]
        assert not RAW.search(" ".join(said)), said
    return page.lines


def test_a_change_tells_each_field_with_its_unit(book: Book, act: Act, pond: UUID) -> None:
    summer = Act(act.by, datetime(2026, 7, 1, 9, 30, tzinfo=ZoneInfo("Europe/London")))
    with book.writing(summer) as writing:
        kit = writing.add("kit", name="Case 1")
        writing.change("pond", pond, 1, why="by a stick", depth_m=1400.0 / 1000, kit_id=kit)
        writing.strike("pond", pond, "filled in")
    struck, changed, added = _told(book, row=("pond", pond))
    assert (struck.did, struck.fields, struck.why) == ("struck through", (), "filled in")
    assert (changed.by, changed.did, changed.what) == ("Ada Vet", "changed", "pond Koi house")
    assert (changed.whose, changed.why) == ("Idris [b]Fallow[/b]", "by a stick")
    assert {(one.label, one.before, one.after) for one in changed.fields} == {
        ("depth", "1.2 m", "1.4 m"), ("kit", "", "Case 1"),
    }  # fmt: skip
    assert changed.page == ("pond", pond)
    assert ("site", "", "Garden") in {(one.label, one.before, one.after) for one in added.fields}


def test_a_water_test_tells_its_readings_as_they_were_typed(
    book: Book, act: Act, pond: UUID
) -> None:
    taken = datetime(2026, 3, 12, 23, 30, tzinfo=ZoneInfo("America/New_York"))
    with book.writing(act) as writing:
        test = writing.add("water_test", pond_id=pond, taken_at=taken, way="form")
        writing.add_many(
            "reading",
            [{"test_id": test, "parameter": "tan_mg_l", "value": 0.41, "typed": "0.5",
              "unit": "mg/L", "form": "nh3"}],
        )  # fmt: skip
    (line,) = _told(book, tables=("water_test",))
    # By the practice's own clock it was the next morning.
    assert line.what == "water test of Koi house, 13 Mar 2026"
    assert ("taken at", "13 Mar 2026 03:30") in {(one.label, one.after) for one in line.fields}
    assert [(one.label, one.typed) for one in line.readings] == [
        ("total ammonia", "0.5 mg/L as NH3")
    ]
    assert line.page == ("water_test", test)
    assert line.pond == pond


def test_doses_follow_ups_and_attempts_are_called_by_what_they_hang_on(
    book: Book, act: Act, pond: UUID
) -> None:
    today = book.today(act.at)
    with book.writing(act) as writing:
        course = writing.add(
            "course", pond_id=pond, reason="flukes", hazards=["gill_flukes"], volume_l=5000.0,
            volume_low_l=4800.0, volume_high_l=5200.0, use="ornamental",
            water={"temperature_c": 17.0, "ph": 7.4},
        )  # fmt: skip
        step = writing.add(
            "course_step", course_id=course, place=1, agent="praziquantel", route="pond_bath",
            dose=2.0, unit="mg/L", strength_percent=100.0, strength_basis="product",
            volume_l=5000.0, standing="published",
        )  # fmt: skip
        dose = writing.add(
            "course_dose", step_id=step, nth=2, due_on=today, dose=2.0, amount=10.0,
            amount_unit="g",
        )  # fmt: skip
        owner = _owner(book, pond)
        writing.add(
            "contact_attempt", client_id=owner, pond_id=pond, about=f"dose:{dose.hex}",
            at=act.at, outcome="reached",
        )  # fmt: skip
    lines = {one.entry.table: one for one in _told(book, about=("course", course))}
    assert lines["course_dose"].what == "dose 2 of Praziquantel at Koi house"
    said = {one.column: one.after for one in lines["course_dose"].fields}
    assert (said["dose"], said["amount"], said["water_change_percent"]) == ("2 mg/L", "10 g", "0 %")
    assert lines["course_dose"].page == ("course", course)
    said = {one.column: one.after for one in lines["course"].fields}
    assert (said["volume_l"], said["water"]) == ("5,000 L", "pH: 7.4; temperature: 17 °C")
    (attempt,) = _told(book, tables=("contact_attempt",))
    assert "dose 2 of Praziquantel at Koi house" in {one.after for one in attempt.fields}


def _owner(book: Book, pond: UUID) -> UUID:
    from store.book.ponds import card

    return card(book, pond).client.id


def test_words_find_what_a_line_says_and_nothing_else(book: Book, act: Act, pond: UUID) -> None:
    with book.writing(Act(act.by, act.at + timedelta(hours=1))) as writing:
        writing.add("pond_event", pond_id=pond, kind="new_fish", on_day=date(2026, 3, 14), unit="")
        writing.change("pond", pond, 1, why="by a stick", depth_m=1.4)
    assert [one.entry.table for one in _told(book, "KOI house stick")] == ["pond"]
    assert [one.entry.table for one in _told(book, "fish event")] == ["pond_event"]
    assert [one.did for one in _told(book, "changed 1.4")] == ["changed"]
    assert _told(book, "site_id") == ()  # a name of a column is said nowhere
    assert {one.entry.table for one in _told(book, "fallow")} == {
        "client", "site", "pond", "pond_event",
    }  # fmt: skip


def test_whose_sign_in_was_changed_is_said(book: Book, act: Act) -> None:
    set_login(book, act, act.by, "ada")
    (line,) = _told(book, tables=("sign_in",))
    assert line.what == "sign-in of Ada Vet"
    assert [(one.label, one.after) for one in line.fields] == [("login", "ada")]


def test_every_table_that_keeps_a_log_has_its_words() -> None:
    logged = {
        one.name for one in Base.metadata.sorted_tables
        if "rev" in one.c and "struck_at" in one.c
    }  # fmt: skip
    assert set(kinds()) == logged | {"sign_in"}  # which is logged under a key of its own
    for kind in kinds().values():
        for path in re.findall(r"\{([^}]*)\}", kind.title + kind.name):
            for one in path.split("|"):
                _follows(kind.table, one.split("."))
    for section in SECTIONS:
        for name in words()[section]:
            table, _, column = name.partition(".")
            tables = (
                Base.metadata.tables.values() if table == "*" else [Base.metadata.tables[table]]
            )
            assert any(column in one.c for one in tables), name


def _follows(table: str, path: list[str]) -> None:
    target = Base.metadata.tables[table]
    assert path[0] in target.c, (table, path)
    if len(path) > 1:
        _follows(
            next(name for column, name in pointing(target) if column.name == path[0]), path[1:]
        )


def test_no_label_is_the_name_of_a_column_as_it_stands() -> None:
    for name in kinds():
        for column in Base.metadata.tables[name].c:
            label = label_of(name, column.name)
            assert label, (name, column.name)
            assert "_" not in label
            assert not (label.endswith(" id") and column.name not in KEPT_SAID)


@pytest.mark.parametrize("text", ["12 Mar – 1 Mar", "soon", "since", "–", "1 Mar to", "31 Feb"])
def test_what_is_no_span_of_days_is_refused(text: str) -> None:
    with pytest.raises(BadInput):
        typed_span(text, date(2026, 3, 14))


@pytest.mark.parametrize(
    ("text", "since", "until"),
    [
        ("", None, None),
        ("2026-03-01 - 2026-03-12", date(2026, 3, 1), date(2026, 3, 12)),
        ("2026-03-02", date(2026, 3, 2), date(2026, 3, 2)),
        ("until 1 Mar", None, date(2026, 3, 1)),
        ("from Mon to Wed", date(2026, 3, 9), date(2026, 3, 11)),
        ("1 Mar –", date(2026, 3, 1), None),
    ],
)
def test_spans_of_days_are_read(text: str, since: date | None, until: date | None) -> None:
    assert typed_span(text, date(2026, 3, 14)) == (since, until)
