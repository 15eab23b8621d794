"""The report of a visit: what is in it, and what an owner must never see."""

from __future__ import annotations

import os
import re
from datetime import date, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from pypdf import PdfReader

from store.book.act import Act
from store.book.book import Book
from store.courses.cautions.before import cautions
from store.courses.kept.dose_log import log_dose
from store.courses.kept.keeping import keep_plan, start_course
from store.courses.kept.records import course
from store.courses.papers.owner_sheet import LATE
from store.courses.planning.course import PondWater, Product, StepWish
from store.courses.planning.plan import plan_course
from store.errors import BadInput, NotFound
from store.paper.paper import Paper, as_markdown, as_text
from store.reports.kept.head import Head, head_of
from store.reports.kept.report_file import SHAPES, report_file
from store.reports.kept.reports import course_report, visit_report
from store.reports.kept.visit import report_days, visit_facts
from store.reports.visit_paper import NO_TEST, NOTHING, STAY, visit_paper
from store.reports.visit_values import PIECES, USUAL
from store.watch.rulebook import change_rule
from store.water.water_tests import save_test
from tests.conftest import NOW
from tests.reports.report_book import HEAD, SECRETS, TODAY, add_day, at, one_pond, typed

GOLDEN = Path(__file__).parent / "golden"
YESTERDAY = TODAY - timedelta(days=1)


def paper_of(book: Book, pond: object, day: date = YESTERDAY, **more: object) -> Paper:
    include = more.pop("include", USUAL)
    facts = visit_facts(book, pond, day, NOW, HEAD, **more)  # type: ignore[arg-type]
    return visit_paper(facts, include)  # type: ignore[arg-type]


def told(paper: Paper) -> str:
    return " ".join(as_text(paper).split())


def assert_golden(name: str, text: str) -> None:
    path = GOLDEN / name
    if os.environ.get("PONDROUND_WRITE_GOLDEN"):
        path.write_text(text, encoding="utf-8")
    assert text == path.read_text(encoding="utf-8")


def test_the_report_as_it_was_looked_at(book: Book, act: Act) -> None:
    """One golden for both databases: they must not differ."""
    keys = add_day(book, act)
    assert_golden("visit.txt", as_text(paper_of(book, keys.pond)))


def test_what_stands_in_it(book: Book, act: Act) -> None:
    keys = add_day(book, act)
    text = told(paper_of(book, keys.pond))
    for said in (
        "For: Alder Row", "Pond: lower pond", "From: Reedmace Fish Vets",
        "Telephone: 01632 960555", "Address: 4 Weir Lane, Ashbourne",
        "Visit: Friday 13 March 2026, by Ada Vet", "Written: Saturday 14 March 2026",
        "Nitrite below 0.05 mg/L at most 0.20 mg/L within",
        "It is less than this test can show.",
        "Harmful (un-ionised) ammonia is too high: 0.349 mg/L NH3-N.",
        "2 fish looked at: gill flukes on 1; seen: eyes sunken.",
        "gill flukes 23 in 5 fields (4.6 a field)",
        "2 koi dead", "Water changed: 5000 L.", "Sample taken for Harbour laboratory: gill.",
        "Visit: Friday 20 March 2026 at 11:15.", "Water test: due on Friday 27 March 2026.",
        "at the laboratory; there is no result yet.",
        "Ring us (01632 960555) when", "Fish gasp",
        "Local law, the label and the prescribing vet decide.", "Registered at the chamber.",
        "Texas Parks & Wildlife",
    ):  # fmt: skip
        assert said in text, said


def test_un_ionised_ammonia_is_that_of_the_publication(book: Book, act: Act) -> None:
    """Emerson et al. 1975: at pH 8.9 and 19.5 °C 23.3 % of the ammonia is un-ionised."""
    keys = add_day(book, act, fish=False)
    assert "0.349 mg/L NH3-N" in told(paper_of(book, keys.pond))
    pka = 0.09018 + 2729.92 / (273.15 + 19.5)
    assert 1.5 / (1.0 + 10.0 ** (pka - 8.9)) == pytest.approx(0.349, abs=0.0005)


def test_what_an_owner_must_never_see(book: Book, act: Act) -> None:
    keys = add_day(book, act)
    change_rule(
        book, act, "ph_range", params={"watch_above_ph": 8.4}, why="SECRET-RULE", pond=keys.pond
    )
    for shape in SHAPES:
        made = visit_report(book, keys.pond, NOW, HEAD, shape)
        text = made.data.decode() if shape != "pdf" else _pdf_text(made.data)
        for secret in SECRETS:
            assert secret not in text, (shape, secret)
        assert "Alder Row" in text
    assert "set by the practice" in told(paper_of(book, keys.pond))


def test_notes_and_the_way_in_only_when_ticked(book: Book, act: Act) -> None:
    keys = add_day(book, act)
    noted = told(paper_of(book, keys.pond, include=USUAL | {"notes"}))
    for said in (
        "SECRET-TEST", "SECRET-EXAM", "SECRET-FOUND", "SECRET-EVENT", "SECRET-DEAD",
        "SECRET-VISIT",
    ):  # fmt: skip
        assert said in noted
    for never in ("4711", "SECRET-CLIENT", "SECRET-POND", "Neighbour Teal", "SECRET-PHOTO"):
        assert never not in noted
    way_in = told(paper_of(book, keys.pond, include=USUAL | {"access"}))
    assert "4711" in way_in
    assert "SECRET-TEST" not in way_in


def test_pieces_can_be_left_out(book: Book, act: Act) -> None:
    keys = add_day(book, act)
    for piece, said in (
        ("charts", "The last 3 months"), ("findings", "gill flukes"), ("done", "5000 L"),
        ("sources", "What the ranges rest on"),
    ):  # fmt: skip
        assert piece in PIECES
        assert said in told(paper_of(book, keys.pond))
        assert said not in told(paper_of(book, keys.pond, include=USUAL - {piece}))


def test_a_gap_stays_a_gap(book: Book, act: Act) -> None:
    """Five tests before and after 46 days without one: two stretches, never one line."""
    keys = add_day(book, act)
    paper = paper_of(book, keys.pond)
    (chart,) = [one.chart for one in paper.parts if one.title == "Temperature" and one.chart]
    from store.paper.chart import runs

    assert [len(run) for run in runs(chart)] == [3, 3]
    assert " … " in as_text(paper)


def test_an_empty_pond_says_so(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        keys = one_pond(writing)
    assert report_days(book, keys.pond, NOW) == ()
    made = visit_report(book, keys.pond, NOW, HEAD, "text")
    text = " ".join(made.data.decode().split())
    assert NO_TEST in text
    assert NOTHING in text
    assert "Visit: no day is agreed." in text
    assert made.name == "visit-2026-03-14-alder-row-lower-pond.txt"


def test_below_detection_is_never_made_into_nothing(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        keys = one_pond(writing)
    for days, line in ((2, "TAN ND pH 8 12C"), (1, "NO2 <0.5"), (0, "NO2 trace")):
        save_test(book, act, keys.pond, typed(line, at(TODAY - timedelta(days=days), 6)))
    not_detected = told(paper_of(book, keys.pond, TODAY - timedelta(days=2)))
    assert "Total ammonia not detected" in not_detected
    assert "how little it can show is not known" in not_detected
    below = told(paper_of(book, keys.pond, TODAY - timedelta(days=1)))
    assert "Nitrite below 0.50 mg/L at most 0.20 mg/L perhaps too high" in below
    trace = told(paper_of(book, keys.pond, TODAY))
    assert "Nitrite trace at most 0.20 mg/L perhaps too high" in trace
    assert "how much the test did not show" in trace
    assert "Nitrite: the test cannot tell whether it is within its range." in trace


def test_what_cannot_be_reckoned_is_said(book: Book, act: Act) -> None:
    with book.writing(act) as writing:
        keys = one_pond(writing)
    save_test(book, act, keys.pond, typed("TAN 0.5", at(TODAY, 6)))
    text = told(paper_of(book, keys.pond, TODAY))
    assert "Cannot be reckoned: no pH and temperature in the same test." in text


def test_where_nothing_may_move_that_comes_first(book: Book, act: Act) -> None:
    keys = add_day(book, act)
    from dataclasses import replace

    facts = replace(visit_facts(book, keys.pond, YESTERDAY, NOW, HEAD), moves=True)
    paper = visit_paper(facts)
    (short,) = [one for one in paper.parts if one.title == "In short"]
    (to_do,) = [one for one in paper.parts if one.title == "What to do now"]
    assert short.lines[0] == to_do.lines[0] == STAY


def two_agents(book: Book, act: Act, pond: UUID, days_ago: int, **more: Any) -> UUID:
    """A course of which the second agent is given by the owner, begun so many days ago."""
    wishes = [
        StepWish("formalin", "pond_bath", 15.0, doses=2, interval_days=3),
        StepWish(
            "trichlorfon", "pond_bath", 0.5, doses=3, interval_days=7, share="owner",
            water_change_percent=30.0, product=Product("shelf", 98.0),
        ),
    ]  # fmt: skip
    water = PondWater(18_400.0, 16_200.0, 20_600.0, temperature_c=17.7, ph=7.0, **more)
    plan = plan_course(
        wishes, hazards=("costia", "gill_flukes"), reason="flukes", water=water,
        first_day=TODAY - timedelta(days=days_ago),
    )  # fmt: skip
    with book.writing(act) as writing:
        key = keep_plan(writing, pond, plan)
        found = cautions(plan)
        start_course(writing, key, 1, found, {one.code: "seen" for one in found})
    return key


def give(book: Book, act: Act, key: UUID, number: int) -> None:
    with book.writing(act) as writing:
        log_dose(
            writing, course(book, key).dose_ids[1, number], given_at=act.at, amount=276.0,
            amount_unit="g", water_change_percent=0.0, given_by="Ada", cautions=(),
        )  # fmt: skip


def test_what_the_owner_gives_stands_with_its_day_and_without_an_amount(
    sqlite_book: Book, act: Act
) -> None:
    with sqlite_book.writing(act) as writing:
        keys = one_pond(writing)
    key = two_agents(sqlite_book, act, keys.pond, 0)
    give(sqlite_book, act, key, 1)
    lines = to_do(paper_of(sqlite_book, keys.pond, TODAY))
    (first, second, third, last) = lines
    for line, day, dose in (
        (first, "Tuesday 24 March 2026", "trichlorfon 1 of 3"),
        (second, "Tuesday 31 March 2026", "trichlorfon 2 of 3"),
        (third, "Tuesday 7 April 2026", "trichlorfon 3 of 3"),
    ):
        assert line.startswith(f"{day}: {dose}. You give it, as your sheet of this course says.")
        assert "Do not feed." in line  # all of a day stands together
        assert not re.search(r"\d m?g\b", line)
    assert "7 days after the last dose" in last
    assert not [line for line in lines if "ormalin" in line]  # that is the practice's


def test_behind_a_late_dose_the_owner_gives_nothing_unasked(sqlite_book: Book, act: Act) -> None:
    with sqlite_book.writing(act) as writing:
        keys = one_pond(writing)
    two_agents(sqlite_book, act, keys.pond, 5)
    lines = to_do(paper_of(sqlite_book, keys.pond, TODAY))
    doses = [line for line in lines if "richlorfon" in line]
    assert len(doses) == 3
    assert all("is planned, and a dose before it is late: ring us first." in one for one in doses)
    assert not [line for line in lines if "You give it" in line]


def test_an_own_dose_that_is_late_is_not_handed_out(sqlite_book: Book, act: Act) -> None:
    with sqlite_book.writing(act) as writing:
        keys = one_pond(writing)
    two_agents(sqlite_book, act, keys.pond, 12)
    lines = to_do(paper_of(sqlite_book, keys.pond, TODAY))
    assert "was due and is not logged. Give nothing before you have rung us." in lines[0]


def test_the_sheet_of_a_course_hands_out_no_dose_that_is_logged(
    sqlite_book: Book, act: Act
) -> None:
    """Of the plan, which is kept as it was meant, every dose is still due."""
    with sqlite_book.writing(act) as writing:
        keys = one_pond(writing)
    key = two_agents(sqlite_book, act, keys.pond, 0)

    def sheet() -> str:
        made = course_report(sqlite_book, course(sqlite_book, key), NOW, HEAD, "text")
        return " ".join(made.data.decode().split())

    assert "Dose 1 of 2 of formalin: 276 g." in sheet()
    give(sqlite_book, act, key, 1)
    assert "Dose 1 of 2 of formalin has been given." in sheet()
    assert "Dose 1 of 2 of formalin: " not in sheet()
    assert "Dose 2 of 2 of formalin: 276 g." in sheet()
    assert LATE not in sheet()


def test_what_was_found_and_is_not_treated_is_left_to_the_vet(book: Book, act: Act) -> None:
    keys = add_day(book, act)
    said = "Found and not treated so far: gill flukes."
    assert said in told(paper_of(book, keys.pond))
    two_agents(book, act, keys.pond, 0)
    assert said not in told(paper_of(book, keys.pond))


@pytest.mark.parametrize(
    ("use", "said"),
    [
        ("food", "sell none until we have said in writing that you may."),
        ("not asked", "until the vet has told you whether and when they may be eaten."),
        ("ornamental", ""),
    ],
)
def test_whether_the_fish_may_be_eaten(sqlite_book: Book, act: Act, use: Any, said: str) -> None:
    with sqlite_book.writing(act) as writing:
        keys = one_pond(writing, use=use)
    give(sqlite_book, act, two_agents(sqlite_book, act, keys.pond, 0, use=use), 1)
    text = told(paper_of(sqlite_book, keys.pond, TODAY))
    assert said in text
    assert bool(said) == ("for eating" in text)


def to_do(paper: Paper) -> tuple[str, ...]:
    (found,) = [one for one in paper.parts if one.title == "What to do now"]
    return found.lines


def test_days_to_choose_from(book: Book, act: Act) -> None:
    keys = add_day(book, act)
    days = report_days(book, keys.pond, NOW)
    assert days[0].day == YESTERDAY
    assert days[0].what == "visit (examination), water test, examination"
    assert all(one.day <= TODAY for one in days)
    assert [one.day for one in days] == sorted((one.day for one in days), reverse=True)


def test_what_is_refused(book: Book, act: Act) -> None:
    keys = add_day(book, act, fish=False)
    with pytest.raises(BadInput, match="lies ahead"):
        paper_of(book, keys.pond, TODAY + timedelta(days=1))
    with pytest.raises(BadInput, match="months"):
        paper_of(book, keys.pond, months=0)
    with pytest.raises(BadInput, match="letterhead"):
        visit_facts(book, keys.pond, YESTERDAY, NOW, Head("Somebody", ""))
    with book.writing(act) as writing:
        writing.strike("pond", keys.pond, "filled in")
    with pytest.raises(NotFound, match="struck through"):
        paper_of(book, keys.pond)


@pytest.mark.parametrize("page", ["A4", "Letter"])
def test_as_pdf(sqlite_book: Book, act: Act, page: str) -> None:
    keys = add_day(sqlite_book, act)
    made = visit_report(sqlite_book, keys.pond, NOW, head_of(sqlite_book), "pdf", page=page)  # type: ignore[arg-type]
    assert page in made.said
    text = "".join(_pdf_text(made.data).split())
    for said in (
        "What we found at your pond",
        "0.349 mg/L NH3-N",
        "take care above 0.016",
        "1 Jan 2026",
    ):
        assert "".join(said.split()) in text, said


HOSTILE = (
    "[/nope]", "\x1b]0;owned\x07\x1b[2J", "\u202elive\u202c\u200b", "x" * 500, "🐟 鯉",
    "*bold* <b>html</b> | pipe", "a: b: c", "# head",
)  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names(sqlite_book: Book, act: Act, name: str) -> None:
    with sqlite_book.writing(act) as writing:
        keys = one_pond(writing, name=name[:190], client=f"Ash {name[:180]}")
    save_test(sqlite_book, act, keys.pond, typed("9C pH 7.8 NO2 0.1", at(TODAY, 6), name))
    for shape in SHAPES:
        made = visit_report(sqlite_book, keys.pond, NOW, HEAD, shape, include=frozenset(PIECES))
        assert made.name.isascii()
        if shape == "text":
            text = made.data.decode()
            assert not {letter for letter in text if ord(letter) < 32} - {"\n"}
            assert "\u202e" not in text
            longest = max(len(line) for line in text.splitlines())
            assert longest <= 78
        if shape == "markdown":
            assert "<b>" not in made.data.decode()


def test_many_tests_of_a_day_and_no_reading(sqlite_book: Book, act: Act) -> None:
    with sqlite_book.writing(act) as writing:
        keys = one_pond(writing)
    for hour in (4, 5, 6):
        save_test(sqlite_book, act, keys.pond, typed(f"{hour + 4}C", at(TODAY, hour)))
    paper = paper_of(sqlite_book, keys.pond, TODAY)
    titles = [one.title for one in paper.parts]
    assert titles.count("What that means") == 1  # what a reading means is said once a day
    assert not [one for one in paper.parts if one.chart]  # one morning is no course of anything
    assert [one for one in titles if one.startswith("Water")] == [
        "Water at 04:00",
        "Water at 05:00",
        "Water at 06:00",
    ]
    assert report_file(paper, "markdown", "visit", "", TODAY).data.decode() == as_markdown(paper)


def _pdf_text(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages)
