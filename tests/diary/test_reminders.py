"""What owners are reminded of: in plain words, without a dose, and without what a vet says."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, time, timedelta
from pathlib import Path
from uuid import UUID

import pytest
from desk_entries import NOW, TODAY, Owned, own, step, treat

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.records import courses_of
from store.diary.desk.due import Booked, DueLine, Promised
from store.diary.kept.files.reminder_files import file_name, save_reminders
from store.diary.kept.files.reminders import reminder, reminders
from store.diary.kept.promised.follow_ups import promise
from store.diary.kept.visits.bookings import book_visit
from store.diary.kept.visits.wishes import wish_of
from store.diary.papers.reminder import Item, OwnTask, item_of, reminder_text
from store.errors import BadInput, NotFound
from store.facts.follow_ups import FollowUpKind, follow_up_kinds

DAY = timedelta(days=1)
KINDS = follow_up_kinds()
VISIT = UUID(int=9)


def line(kind: str, due_on: date, *, says: str = "", needs: str = "", **booked: object) -> DueLine:
    of = KINDS[kind]
    promised = Promised(
        about=f"hand:{UUID(int=3).hex}:{due_on}", kind=kind, client_id=UUID(int=1), site_id=None,
        pond_id=UUID(int=2), says=says or of.label, because="", origin="by hand", promised_by="AV",
        promised_on=None, due_on=due_on, first_on=due_on - of.early_days * DAY,
        last_on=due_on + of.late_days * DAY, needs=needs or of.needs,  # type: ignore[arg-type]
    )  # fmt: skip
    visit = None
    if booked:
        visit = Booked(VISIT, booked["on"], booked.get("at"), str(booked.get("who", "")), True)  # type: ignore[arg-type]
    return DueLine(
        promised=promised, client="Alder House", site="", pond="Long pond", town="", phone="",
        phone2="", late_days=0, weight=1.0, weighed="", attempts=0, last_attempt=None, ring_on=None,
        ring_at=None, booked=visit,
    )  # fmt: skip


def kind_of(one: DueLine) -> FollowUpKind:
    return KINDS[one.promised.kind]


def text_of(*lines: DueLine, tasks: tuple[OwnTask, ...] = (), **more: str) -> str:
    items = [item for one in lines if (item := item_of(one, kind_of(one), tasks)) is not None]
    return reminder_text("Alder House", "Test practice", items, TODAY, **more)  # type: ignore[arg-type]


def due(text: str) -> list[str]:
    return text.split("What is due\n")[1].split("\n\n", maxsplit=1)[0].splitlines()


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (
            line("control", TODAY + 3 * DAY, on=TODAY + 3 * DAY, at=time(9, 30), who="Ada Vet"),
            "- Tuesday 17 March 2026 at 09:30: Ada Vet comes for control examination (Long pond).",
        ),
        (
            line("control", TODAY + 3 * DAY, on=TODAY + 3 * DAY),
            "- Tuesday 17 March 2026: we come for control examination (Long pond). The hour is not "
            "agreed yet.",
        ),
        (
            line("control", TODAY + 3 * DAY),
            "- From Monday 16 March 2026 to Friday 20 March 2026: control examination (Long pond). "
            "We come for it; no day is agreed yet, please ring us.",
        ),
        (
            line("control", TODAY - 9 * DAY),
            "- Control examination (Long pond) was due on Thursday 5 March 2026. Please ring us, so "
            "that we agree on a day.",
        ),
        (
            line("dose", TODAY + 2 * DAY, says="dose 2 of 3", needs="call"),
            "- Monday 16 March 2026: dose 2 of 3 (Long pond). You give it, as your sheet of this "
            "course says.",
        ),
        (
            line("dose", TODAY - DAY, says="formalin 2 of 3", needs="call"),
            "- Dose of formalin 2 of 3 (Long pond) was due on Friday 13 March 2026 and is not "
            "logged. Give nothing before you have rung us.",
        ),
        (
            line("dose", TODAY + DAY, says="dose 2 of 3 short", needs="call"),
            "- Dose 2 of 3 (Long pond): less was given than was planned. Give nothing, and ring us.",
        ),
        (
            line("dose", TODAY, says="dose 2 of 3"),
            "- From Saturday 14 March 2026 to Sunday 15 March 2026: dose 2 of 3 (Long pond). We come "
            "for it; no day is agreed yet, please ring us.",
        ),
        (
            line("water_test", TODAY + 2 * DAY),
            "- Monday 16 March 2026: water test (Long pond). Send us what you find, or ring us if we "
            "are to come for it.",
        ),
        (
            line("water_test", TODAY - 2 * DAY),
            "- Water test (Long pond) was due on Thursday 12 March 2026. Please make up for it, or "
            "ring us.",
        ),
        (
            line("ring", TODAY + 2 * DAY, says="how they feed"),
            "- Monday 16 March 2026: we ring you: how they feed (Long pond).",
        ),
        (
            line("call_same_day", TODAY, says="owner shouts, fish dying", on=TODAY, at=time(15)),
            "- Saturday 14 March 2026 at 15:00: we come for the visit that you asked for (Long pond).",
        ),
        (
            line("concern", TODAY, says="STOP: suspicion", on=TODAY, at=time(15)),
            "- Saturday 14 March 2026 at 15:00: we come for a visit (Long pond).",
        ),
    ],
)  # fmt: skip
def test_one_line(one: DueLine, said: str) -> None:
    assert due(text_of(one)) == [said]


@pytest.mark.parametrize(
    "kind", ["finding", "concern", "answer", "turn", "laboratory", "ring_back", "call_next_day"]
)
def test_what_is_between_vet_and_desk_is_not_told(kind: str) -> None:
    one = line(kind, TODAY, says="koi herpesvirus disease?")
    assert item_of(one, KINDS[kind]) is None
    assert text_of(one) == ""
    other = text_of(one, line("water_test", TODAY))
    assert "herpes" not in other


def test_every_kind_of_follow_up_is_either_told_or_left_to_the_vet() -> None:
    for code in KINDS:
        told = text_of(line(code, TODAY + DAY, says="as promised"))
        assert (told == "") == (code in {
            "finding", "concern", "answer", "turn", "laboratory", "ring_back", "call_same_day",
            "call_next_day", "call_routine",
        }), code  # fmt: skip


def test_several_things_at_one_visit_are_one_line() -> None:
    at = {"on": TODAY + 2 * DAY, "at": time(8), "who": "Ada Vet"}
    text = text_of(
        line("dose", TODAY + 2 * DAY, says="dose 2 of 3", **at),
        line("look_again", TODAY + 2 * DAY, says="closed ulcer", **at),
        line("dose", TODAY + 2 * DAY, says="dose 2 of 3", **at),
    )
    assert due(text) == [
        "- Monday 16 March 2026 at 08:00: Ada Vet comes for dose 2 of 3 (Long pond); closed ulcer "
        "(Long pond)."
    ]
    assert text.count("Do not feed on the morning of the visit.") == 1
    assert "Before Monday 16 March 2026, when we come\n" in text


def test_an_agreed_and_an_open_visit_share_what_is_done_before_them() -> None:
    text = text_of(
        line("look_again", TODAY + 2 * DAY, on=TODAY + 2 * DAY), line("look_again", TODAY + 9 * DAY)
    )
    said = "Before Monday 16 March 2026, when we come, and a visit whose day is not agreed yet\n"
    assert said in text


def test_by_day_and_hour() -> None:
    text = text_of(
        line("water_test", TODAY + 5 * DAY),
        line("control", TODAY + 2 * DAY, on=TODAY + 2 * DAY),
        line("water_test", TODAY + DAY),
    )
    assert [each.split(":")[0] for each in due(text)] == [
        "- Sunday 15 March 2026", "- Monday 16 March 2026", "- Thursday 19 March 2026"
    ]  # fmt: skip


def test_tasks_stand_with_their_day_and_late_ones_say_so() -> None:
    tasks = (
        OwnTask(TODAY + DAY, "Switch the UV lamp off, until 20 Mar 2026."),
        OwnTask(TODAY - DAY, "Have air\nrunning.", late=True),
    )
    text = text_of(line("dose", TODAY + 2 * DAY, says="dose 2 of 3", needs="call"), tasks=tasks)
    assert text.split("Before the dose 2 of 3 (Long pond)\n")[1].split("\n\n")[0].splitlines() == [
        "- Not ticked yet, planned for Friday 13 March 2026: Have air running.",
        "- Sunday 15 March 2026: Switch the UV lamp off, until Friday 20 March 2026.",
    ]
    assert "Do not feed" not in text


def test_whom_to_ring_and_why() -> None:
    text = text_of(line("water_test", TODAY), telephone="01632 960 000", ring=("Ring once.",))  # type: ignore[arg-type]
    assert "Ring us (01632 960 000) when\n- Fish gasp" in text
    assert "- Ring once.\n" in text
    assert "- A fish dies, or fish stop eating." in text
    assert "Nobody can be there" not in text
    assert "Ring us when\n" in text_of(line("water_test", TODAY))
    assert "Nobody can be there" in text_of(line("control", TODAY))


def test_nothing_to_say_is_no_text() -> None:
    assert text_of() == ""


def test_hostile_words_stay_on_their_line() -> None:
    text = text_of(line("visit", TODAY, says="x\nRing us when\r\n\x1b[2Jnever \u202etnih"))
    assert text.count("Ring us when\n") == 1
    assert not {"\x1b", "\u202e", "\r"} & set(text)


# --- out of the book --------------------------------------------------------------------------------


@pytest.fixture
def place(sqlite_book: Book, act: Act) -> Owned:
    return own(sqlite_book, act, "Alder House")


def booked(book: Book, act: Act, pond: UUID, on_day: date, at: time) -> UUID:
    wish = wish_of(book, pond_id=pond, kind="examination")
    with book.writing(act) as writing:
        return book_visit(writing, wish, on_day, at, act.by, in_spite="as agreed")


def test_a_client_with_promises_by_hand(sqlite_book: Book, act: Act, place: Owned) -> None:
    with sqlite_book.writing(act) as writing:
        promise(
            writing, client_id=place.client, kind="look_again", says="closed ulcer",
            first_on=TODAY + 4 * DAY, pond_id=place.pond,
        )  # fmt: skip
    told = reminder(sqlite_book, place.client, NOW)
    assert "closed ulcer (Lower pond)" in told.text
    assert told.text.startswith(
        "For Alder House\nFrom Test practice, written on Saturday 14 March 2026\n"
    )
    assert told.phone == "01632 960101"


def test_a_visit_that_keeps_no_promise_is_told_by_name(
    sqlite_book: Book, act: Act, place: Owned
) -> None:
    booked(sqlite_book, act, place.pond, TODAY + 3 * DAY, time(9, 30))
    told = reminder(sqlite_book, place.client, NOW)
    assert due(told.text) == [
        "- Tuesday 17 March 2026 at 09:30: Ada Vet comes for examination (Lower pond)."
    ]
    assert "Do not feed on the morning of the visit." in told.text
    assert reminder(sqlite_book, place.client, NOW, ahead_days=2).text == ""


def test_initials_become_a_name(sqlite_book: Book, act: Act, place: Owned) -> None:
    with sqlite_book.writing(act) as writing:
        writing.change("staff", act.by, 1, initials="AV")
    booked(sqlite_book, act, place.pond, TODAY + 3 * DAY, time(9, 30))
    assert "Ada Vet comes" in reminder(sqlite_book, place.client, NOW).text


def test_a_course_names_its_dose_and_never_how_much(
    sqlite_book: Book, act: Act, place: Owned
) -> None:
    days = [TODAY + n * DAY for n in (1, 8)]
    treat(
        sqlite_book,
        act,
        place.pond,
        step(1, "formalin", days, "owner"),
        control_on=TODAY + 12 * DAY,
    )
    (course,) = courses_of(sqlite_book, place.pond)
    told = reminder(sqlite_book, place.client, NOW)
    assert "You give it, as your sheet of this course says." in told.text
    # The plan has 9 g, 1 mg/L: neither may stand anywhere in the text.
    assert not re.search(r"\b9(\.0)? ?g\b|mg/L|\bmL\b", told.text)
    assert course.plan.steps[0].doses[0].amount == 9.0
    assert "Never make up for it yourself" in told.text


def test_each_task_stands_once_before_what_it_comes_before(
    sqlite_book: Book, act: Act, place: Owned
) -> None:
    days = [TODAY + n * DAY for n in (2, 9)]
    course = treat(
        sqlite_book,
        act,
        place.pond,
        step(1, "formalin", days, "owner"),
        control_on=TODAY + 13 * DAY,
    )
    with sqlite_book.writing(act) as writing:
        for code, on, says, share, done in (
            ("off_uv", days[0], "UV off.", "owner", None),
            ("feed", days[0], "No feed.", "owner", None),
            ("watch", days[0], "Watch them.", "owner", None),
            ("air_on", TODAY - DAY, "Air on.", "owner", None),
            ("volume", TODAY - DAY, "Measure again.", "owner", None),
            ("on_uv", days[1] + 2 * DAY, "UV on again.", "owner", None),
            ("off_carbon", days[0], "Carbon out.", "practice", None),
            ("off_ozone", days[0], "Ozone off.", "owner", NOW),
        ):
            writing.add(
                "course_task", course_id=course, code=code, on_day=on, says=says, share=share,
                source="common practice", done_at=done,
            )  # fmt: skip
    text = reminder(sqlite_book, place.client, NOW).text
    first = text.split("Before the dose 1 of 2 (Lower pond)\n")[1].split("\n\n")[0]
    assert first.splitlines() == [
        "- Not ticked yet, planned for Friday 13 March 2026: Air on.",
        "- Monday 16 March 2026: UV off.",
        "- Monday 16 March 2026: No feed.",
    ]
    assert text.count("UV off.") == text.count("UV on again.") == 1
    for not_told in ("Watch them", "Measure again", "Carbon out", "Ozone off"):
        assert not_told not in text


def test_over_all_clients(book: Book, act: Act) -> None:
    one, two, none = (own(book, act, name) for name in ("Zinnia Ltd", "Alder House", "Calm Farm"))
    with book.writing(act) as writing:
        for place in (one, two):
            promise(writing, client_id=place.client, kind="ring", says="ask", first_on=TODAY)
    found = reminders(book, NOW)
    assert [told.client for told in found] == ["Alder House", "Zinnia Ltd"]
    assert none.client not in {told.client_id for told in found}
    assert found[0].text == reminder(book, two.client, NOW).text


def test_who_is_not_in_the_book(sqlite_book: Book) -> None:
    with pytest.raises(NotFound):
        reminder(sqlite_book, UUID(int=77), NOW)


def told(*names: str) -> list:  # type: ignore[type-arg]
    from store.diary.kept.files.reminders import Reminder

    item = Item("we ring", "ask", "", TODAY, TODAY, TODAY)
    return [
        Reminder(UUID(int=n), name, "", "", "", (item,), f"For {n}\n", ())
        for n, name in enumerate(names, 1)
    ]


def test_one_file_a_client_and_none_is_written_over(tmp_path: Path) -> None:
    folder = tmp_path / "new" / "reminders"
    names = ("Alder House", "Alder House", "../../etc/passwd", "CON", "鯉", "a" * 500, "C:\\x*?")
    saved = save_reminders(folder, told(*names), TODAY)
    assert len(saved.written) == len(names) == len(set(saved.written))
    for path in saved.written:
        assert path.parent == folder
        assert re.fullmatch(r"[a-z0-9-]{1,60}\.txt", path.name)
        assert len(path.name) < 80
    assert {path.read_text(encoding="utf-8") for path in saved.written} == {
        f"For {n}\n" for n in range(1, len(names) + 1)
    }
    again = save_reminders(folder, told(*names), TODAY)
    assert (again.written, again.same) == ((), len(names))
    first = saved.written[0]
    first.write_text("a note of mine", encoding="utf-8")
    third = save_reminders(folder, told(*names), TODAY)
    assert [path.name for path in third.written] == [f"{first.stem}-2.txt"]
    assert first.read_text(encoding="utf-8") == "a note of mine"


def test_a_reminder_without_a_text_is_no_file(tmp_path: Path) -> None:
    empty = [replace(one, text="") for one in told("Alder House")]
    assert save_reminders(tmp_path / "x", empty, TODAY).written == ()


def test_a_folder_that_cannot_be_written(tmp_path: Path) -> None:
    path = tmp_path / "file"
    path.write_text("x", encoding="utf-8")
    with pytest.raises(BadInput, match="cannot be written") as caught:
        save_reminders(path, told("Alder House"), TODAY)
    assert caught.value.field == "folder"


def test_names_of_files() -> None:
    assert file_name("  ", UUID(int=1), TODAY) == "client-000001-2026-03-14.txt"
