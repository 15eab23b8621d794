"""The day's sheet on paper: everything of it in every shape, whatever people are called."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import time
from io import BytesIO

import pytest
from pypdf import PdfReader

from store.paper.paper import Paper, Part, as_markdown, as_text, one_line
from store.paper.pdf import as_pdf
from store.rounds.day.sheet import DaySheet, Job, WhyLine
from store.rounds.papers.gear import LINES
from store.rounds.papers.sheet_paper import (
    FromPractice,
    day_paper,
    driving_said,
    places_said,
    sheet_paper,
    stop_parts,
)
from tests.rounds.day_plans import BRAM, nine_stops, two_drivers
from tests.rounds.hand_sheets import POND, STOP_WORDS, sheet_of
from tests.rounds.sheet_book import HOSTILE


@pytest.fixture(scope="module")
def sheet() -> DaySheet:
    return sheet_of(nine_stops())


@pytest.fixture(scope="module")
def paper(sheet: DaySheet) -> Paper:
    return sheet_paper(sheet, (Part("Kit list", ("praziquantel 40 g",), "checks"),))


def printed(paper: Paper, page: str = "A4") -> list[str]:
    made = as_pdf(paper, page=page)  # type: ignore[arg-type]
    return [one.extract_text() for one in PdfReader(BytesIO(made.data)).pages]


def letters(text: str) -> str:
    return "".join(text.split())


def test_the_head_says_all_of_the_day(paper: Paper) -> None:
    head = dict(paper.head)
    assert head["For"] == "Ada Vet"
    assert head["Day"] == "Monday 16 March 2026"
    assert head["Sets out"] == "08:00, the practice"
    assert head["Back"].startswith("17:")
    assert head["Driving"].endswith("not every way is known in km, 9 stops")
    assert head["Break"] == "12:00 to 12:30, 30 min, after stop 5"
    assert head["Order"].startswith("Proven: ")
    assert head["Its price"] == "Clean before infected costs nothing."
    assert head["Written"].startswith("15 Mar 2026, 17:05")


def test_the_letterhead_of_the_practice_stands_on_it(sheet: DaySheet) -> None:
    practice = FromPractice("01632 960555", "4 Weir Lane\nAshbourne", "desk@example.org")
    whose = [sheet_of(two_drivers()), sheet_of(two_drivers(), BRAM)]
    for paper in (sheet_paper(sheet, (), practice), day_paper(whose, (), practice)):
        head = dict(paper.head)
        assert head["Telephone"] == "01632 960555"
        assert head["Address"] == "4 Weir Lane, Ashbourne"
        assert head["E-mail"] == "desk@example.org"
    assert "Telephone" not in dict(sheet_paper(sheet).head)


def test_a_stop_says_all_that_is_known(sheet: DaySheet) -> None:
    told = as_text(sheet_paper(replace(sheet, stops=sheet.stops[:1])), width=200)
    for said in (
        "1.  08:14 to 08:44  Alder Row, lower pond", "there 08:14, done 08:44, leaves 08:44",
        "Booked:    examination, 30 min; agreed for 10:00", "1 Weir Lane, AB1 2CD Ashbourne", "Telephone: 01632 960100",
        "Way in:    Gate code 4711. Dog is loose.", "Hours:     08:00 to 19:00",
        "Standing:  clean: as its record says", "Best hour: Read the oxygen at dawn.",
        "prices: visit 90; consent form: signed (RK, 3 Mar 2026)", "mind the step",
        "dose 2 of 3 (due 16 Mar 2026)", "The owner, before it: Do not feed. Air on.",
        "9,000 L, in force: by salt, 3 Mar 2026. Volumes disagree by 33 %.",
        "FOOD FISH. Not for eating before 3 Apr 2026.", "koi 9",
        "12 Mar 2026, 07:30 (RK): 12.0 °C, TAN 0.05 mg/L N", "Taken at the fall.",
        "nitrite 1.60 mg/L. Feed less.", "window 0; window 1; window 2; window 3",
        "praziquantel: runs; last: dose 1; next: dose 2: 18 g; control on 1 Apr 2026",
        "To be planned anew.", "gill flukes found, unanswered", "gill “BH-1”: result awaited",
        "[ ] Give praziquantel, dose 2 of 3: 18 g. Air on.", "[ ] Water test: pH.",
    ):  # fmt: skip
        assert said in told, said
    assert told.count("Do not feed.") == 1  # said once, though two promises ask for it


def test_every_stop_has_its_gear_line_and_lines_to_write_on(sheet: DaySheet) -> None:
    for one in sheet.stops:
        parts = stop_parts(one)
        gear = [part for part in parts if part.lines == LINES]
        assert len(gear) == 1
        notes = parts[-1]
        assert notes.shape == "blanks"
        assert notes.lines.count("") == 3
    for word in ("brushed", "rinsed", "dipped", "strength", "contact time", "min", "dried", "by"):
        assert word in " ".join(LINES)


def test_after_an_infected_site_disinfecting_is_in_full(sheet: DaySheet) -> None:
    full = {one.number: [p for p in stop_parts(one) if p.title.startswith("Disinfect")]
            for one in sheet.stops}  # fmt: skip
    assert [number for number, parts in full.items() if parts] == [7, 8, 9]
    assert full[7][0].title == "Disinfect before the drive: 20 min are planned (common practice)"
    assert "mud eats the disinfectant" in full[7][0].lines[0]
    assert full[9][0].title.startswith("Disinfect before the drive: 45 min")
    assert full[9][0].lines[-1] == "No further pond today."
    order = " ".join(full[7][0].lines)
    assert order.index("Brush") < order.index("Rinse") < order.index("Dip") < order.index("dry")


def test_a_suspect_says_stop_before_anything_else(sheet: DaySheet) -> None:
    parts = stop_parts(sheet.stops[8])
    assert parts[1].title == "STOP: a notifiable disease is suspected here"
    assert parts[1].lines == STOP_WORDS
    assert parts[-1].lines[0].startswith("Authority, its number")
    assert not any("STOP" in part.title for one in sheet.stops[:8] for part in stop_parts(one))


def test_whom_to_ring_first_is_said_twice(paper: Paper) -> None:
    told = as_text(paper, width=120)
    assert re.search(r"5\. .* Osier Barn, round pond.*; doubtful, ring first", told)
    assert "RING:      Ring first: nobody has agreed this visit yet." in told


def test_what_is_broken_left_out_and_not_on_the_map(paper: Paper, sheet: DaySheet) -> None:
    told = as_text(paper, width=120)
    assert "Two pairs break it." in told
    assert "Willow does not fit." in told
    said = "1 stop has no coordinates and is not on the map: Osier Barn, round pond."
    assert said in told
    assert places_said([sheet]) == said
    assert places_said([sheet, sheet]).startswith("2 stops have no coordinates and are not")
    assert places_said([replace(sheet, stops=sheet.stops[:2])]) == ""


def test_kilometres_where_all_are_known(sheet: DaySheet) -> None:
    assert "171 km by road" in driving_said(replace(sheet, km=170.6))


def test_all_of_the_text_is_in_print(paper: Paper) -> None:
    whole = letters(" ".join(re.sub(r"[^\n]*\(continued\)", "", one) for one in printed(paper)))
    for part in paper.parts:
        assert letters(part.title) in whole
        for line in part.lines:
            said = line.partition(": ")[2] if part.shape == "facts" else line
            assert letters(said)[:40] in whole, line


@pytest.mark.parametrize("page", ["A4", "Letter"])
def test_a_stop_does_not_break_where_it_fits(paper: Paper, page: str) -> None:
    """Those of clean and doubtful sites take most of a page; those with all of disinfecting more."""
    pages = printed(paper, page)
    kept = [one for one in paper.parts if one.keeps]
    for number, one in enumerate(kept, start=1):
        if number < 7:
            titles = [text for text in pages if letters(f"{one.title}Times") in letters(text)]
            assert len(titles) == 1, one.title
            after = titles[0].partition(one.title)[2]
            assert "Notes" in after
            assert "(continued)" not in after
    going_on = [text for text in pages if "(continued)" in text]
    assert letters(kept[8].title) in letters(going_on[-1])
    assert all("Notes" in text for text in going_on)


def test_the_kit_list_begins_a_page_of_its_own(paper: Paper) -> None:
    last = printed(paper)[-1]
    assert last.startswith("Kit list")
    assert "praziquantel 40 g" in last


def test_several_people_in_one(sheet: DaySheet) -> None:
    plan = two_drivers()
    both = [sheet_of(plan), sheet_of(plan, BRAM)]
    paper = day_paper(both, (Part("Kit list", ("x",)),))
    assert dict(paper.head)["For"] == "Ada Vet and Bram Oystercatch"
    pages = printed(paper)
    assert sum(text.startswith("Bram Oystercatch\n") for text in pages) == 1
    assert day_paper([sheet]) == sheet_paper(sheet)


def test_a_day_without_a_stop() -> None:
    sheet = replace(sheet_of(nine_stops()), stops=(), broken=(), left_out=(), remarks=())
    told = as_text(sheet_paper(sheet))
    assert "No stop is planned." in told
    assert "Sets out" not in told


def test_a_stop_of_which_nothing_is_known() -> None:
    sheet = sheet_of(nine_stops(), bare=True)
    one = replace(sheet.stops[0], address=(), phones=(), way_in="", prices="", consent="not asked",
                  terms_said="", note="", slot_said="")  # fmt: skip
    told = as_text(sheet_paper(replace(sheet, stops=(one,))), width=120)
    for said in ("Address:   none is written down", "Telephone: none is written down",
                 "Way in:    nothing is written down", "- No promise is named; it is booked as examination.",
                 "prices: none are written down; consent form: not asked",
                 "[ ] As the visit is booked."):  # fmt: skip
        assert said in told


def test_hostile_names_come_out_literally() -> None:
    sheet = sheet_of(nine_stops(), name=HOSTILE)
    sheet = replace(sheet, stops=tuple(
        replace(one, way_in=HOSTILE, note=HOSTILE, whys=(WhyLine(HOSTILE, HOSTILE, HOSTILE),),
                ponds=(replace(POND, name=HOSTILE, fish=HOSTILE),),
                jobs=(Job("other", None, HOSTILE, HOSTILE, (HOSTILE,)),))
        for one in sheet.stops[:2]
    ))  # fmt: skip
    paper = sheet_paper(sheet)
    told = as_text(paper, width=2000)
    assert "\x1b" not in told
    assert one_line(HOSTILE) in told
    assert '=HYPERLINK("z")' in told
    marked = as_markdown(paper)
    assert "<b>" not in marked
    assert "\n# [x]" not in marked
    made = as_pdf(paper)
    assert "☠" in made.not_shown
    assert '=HYPERLINK("z")' in " ".join(printed(paper)).replace("\n", " ")


def test_an_hour_beyond_midnight_is_the_next_day(sheet: DaySheet) -> None:
    assert sheet.at(1500).isoformat() == "2026-03-17T01:00:00+00:00"
    assert sheet.at(0).time() == time(0)
