"""Parasite sheets in the shapes that people write: long, wide, in words; scores and counts apart."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheets import NOW, add_ponds, planned, sheet
from test_import_command import run

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput, PondroundError
from store.exams.examinations import examinations_of
from store.exams.values import ExamFish, Found, Prep
from store.exchange.columns.question import AskFirst
from store.exchange.columns.said import Said, key_of
from store.exchange.fish.exams import look_at_fish, save_fish
from store.exchange.fish.fish_words import amount_of, heading_said, parasites_named, site_of
from store.exchange.plain.planned import write_refused

LONG = """Scrapes;;;;;;;;;
Date;Pond;Fish;Species;Length (mm);Site;Parasite;Count;Fields;Mag
2025-05-02;P-1;1;Koi;420;left gill;Dac;23;5;x100
2025-05-02;P-1;1;Koi;420;skin;Tri;0;5;100
2025-05-02;P-1;2;Koi;385;left gill;none;;;
2025-05-02;P-1;2;;;skin;Tri;7;;
2025-05-02;P-1;3;Ghost koi;;skin;Dac;2-3;;
2025-05-02;P-1;3;Ghost koi;;gill;Dac;4;;
Total;;;;;;;36;;
"""
WIDE = """date,fish,length cm,site,Gyro,Costia,Ich,notes
2025-05-02,1,42,skin,++,0,,thin one
2025-05-02,1,42,gill,-,+,,
2025-05-02,2,38,skin,,,,
"""
WHO = {"examiner": "Ada Marsh", "purpose": "routine"}
WORDS = {**WHO, "word:dac": "gill flukes", "word:tri": "trichodina"}


def brought(
    book: Book, act: Act, path: Path, said: dict[str, str], pond: str | None = None
) -> tuple[int, int, int]:
    """Look at a file with these answers and save it: added, there already, refused."""
    done = save_fish(book, act, look_at_fish(path, book, NOW, said=Said(said), pond=pond))
    return done.added, done.already, done.refused


def asked(
    book: Book, path: Path, said: dict[str, str] | None = None, pond: str | None = None
) -> list[str]:
    questions = look_at_fish(path, book, NOW, said=Said(said or {}), pond=pond).questions
    return [key_of(one.field, one.about) for one in questions]


def findings(
    book: Book, tmp_path: Path, text: str, said: dict[str, str]
) -> list[tuple[int, str, Found]]:
    """Fish, preparation and finding of what a file would bring to one pond."""
    plan = planned(look_at_fish, sheet(tmp_path, text), book, NOW, said=Said(said), pond="P-1")
    assert plan.refused == ()
    return [
        (fish.nth, "by eye" if prep is None else prep.kind, found)
        for item in plan.items
        for fish in item.exam.fish
        for prep, found in fish.found
    ]


def test_a_row_a_finding_on_both_databases(book: Book, act: Act, tmp_path: Path) -> None:
    (pond,) = add_ponds(book, act, "Upper pond")
    path = sheet(tmp_path, LONG)
    questions = look_at_fish(path, book, NOW).questions
    assert [key_of(one.field, one.about) for one in questions] == [
        "word:dac", "word:tri", "inexact", "examiner", "purpose",
    ]  # fmt: skip
    assert questions[1].answers[0].value == "trichodina"  # proposed, never taken
    with pytest.raises(AskFirst, match="Which parasite is “Dac”"):
        planned(look_at_fish, path, book, NOW)
    preview = look_at_fish(path, book, NOW, said=Said({**WORDS, "inexact": "refuse"}))
    plan = preview.plan
    assert plan is not None
    assert [(one.line, one.reason) for one in plan.refused] == [
        (7, "“2-3” is no number that was counted."),
        (8, "It belongs to the same fish as line 7, which cannot be read."),
    ]
    assert any("Line 9 is a total" in one for one in plan.told)
    beside = write_refused(plan)
    assert save_fish(book, act, preview).added == 1
    (kept,) = examinations_of(book, pond)
    exam = kept.exam
    assert (exam.at, exam.examiner, exam.purpose) == (
        datetime(2025, 5, 2, 11, tzinfo=UTC), "Ada Marsh", "routine",
    )  # fmt: skip
    assert exam.note == "time of day not stated, noon supposed"
    assert exam.fish == (
        ExamFish(
            1, "koi", length_cm=42.0, other="Length (mm) as written: 420 mm",
            preparations=(
                Prep("gill clip", "left", 100, 5, "", (Found("gill_flukes", 23),)),
                Prep("skin scrape", "", 100, 5, "", (Found("trichodina", 0),)),
            ),
        ),
        ExamFish(
            2, "koi", length_cm=38.5, other="Length (mm) as written: 385 mm",
            preparations=(
                Prep("gill clip", "left"),
                Prep("skin scrape", found=(Found("trichodina", 7),)),
            ),
        ),
    )  # fmt: skip
    # The same file twice adds nothing twice; what was refused joins the same examination.
    assert brought(book, act, path, {**WORDS, "inexact": "refuse"}) == (0, 1, 2)
    assert save_fish(book, act, preview).added == 0
    assert beside is not None
    mended = sheet(tmp_path, beside.read_text().replace("2-3", "3"), beside.name)
    assert brought(book, act, mended, WORDS) == (1, 0, 0)
    (kept,) = examinations_of(book, pond)
    assert [fish.nth for fish in kept.exam.fish] == [1, 2, 3]
    # The same fish in the hands of somebody else is asked about, and never a second examination.
    doubt = {**WORDS, "inexact": "words", "examiner": "Jo Reed"}
    other = sheet(tmp_path, LONG.replace(";23;", ";32;"), "jo.csv")
    assert asked(book, other, doubt) == ["others"]
    assert [brought(book, act, other, doubt | {"others": said}) for said in ("no", "yes")] == [
        (0, 1, 0), (1, 0, 0),
    ]  # fmt: skip
    # Other findings under the number of a fish that is there are no new fish.
    other = sheet(tmp_path, LONG.replace(";23;", ";32;"), "other.csv")
    assert brought(book, act, other, {**WORDS, "inexact": "words"})[0] == 0


def test_a_column_a_parasite(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, WIDE)
    assert asked(sqlite_book, path, pond="P-1") == ["dash", "examiner", "purpose"]
    preview = look_at_fish(path, sqlite_book, NOW, pond="P-1", said=Said({**WHO, "dash": "none"}))
    assert preview.plan is not None
    assert preview.plan.items[0].words == (
        "fish 1, 42 cm: skin scrape skin flukes ++ (2 of 3) + costia looked for, none, "
        "gill clip skin flukes looked for, none + costia + (1 of 3) "
        "(thin one); fish 2, 38 cm: not looked under the microscope (skin: nothing is written in "
        "the sheet)"
    )
    blank = findings(sqlite_book, tmp_path, WIDE, {**WHO, "dash": "blank"})
    assert (1, "gill clip", Found("skin_flukes", score=0)) not in blank
    assert save_fish(sqlite_book, act, preview).added == 1
    first, second = examinations_of(sqlite_book, pond)[0].exam.fish
    assert [(prep.kind, set(prep.found)) for prep in first.preparations] == [
        ("skin scrape", {Found("skin_flukes", score=2), Found("costia", score=0)}),
        ("gill clip", {Found("skin_flukes", score=0), Found("costia", score=1)}),
    ]
    # White spot was not looked for: no cell, no finding. A dash is none only by a person's say.
    assert {one.hazard for _, one in first.found} == {"skin_flukes", "costia"}
    assert first.other == "thin one"
    assert second.preparations == ()
    assert second.other == "skin: nothing is written in the sheet"
    # What a dash means is remembered for this source, who looked is asked again.
    later = sheet(tmp_path, WIDE.replace("05-02", "06-02"), "later.csv")
    assert asked(sqlite_book, later, pond="P-1") == ["examiner", "purpose"]


def test_scores_beyond_three_need_a_say(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = "date,fish,Gill Gyro,Skin Gyro\n2025-05-02,1,++++,+\n2025-05-02,2,0,+++\n"
    assert asked(sqlite_book, sheet(tmp_path, text), WHO, "P-1") == ["scale"]

    def kept(scale: str) -> list[tuple[int | None, str]]:
        found = findings(sqlite_book, tmp_path, text, {**WHO, "scale": scale})
        return [(one.score, one.note) for _, _, one in found]

    assert kept("1233") == [
        (3, "written ++++, of 0 to 4"), (1, "written +, of 0 to 4"),
        (0, ""), (3, "written +++, of 0 to 4"),
    ]  # fmt: skip
    assert kept("words") == [
        (None, "written ++++, of 0 to 4"), (None, "written +, of 0 to 4"),
        (0, ""), (None, "written +++, of 0 to 4"),
    ]  # fmt: skip
    for bad in ("123", "3211", "1234", "x"):
        assert asked(sqlite_book, sheet(tmp_path, text), {**WHO, "scale": bad}, "P-1") == ["scale"]


def test_numbers_are_counts_counts_per_field_or_scores_by_a_persons_say(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = "date,fish,site,fields,Gyro\n2025-05-02,1,skin,5,2\n2025-05-02,2,skin,,1\n"
    assert asked(sqlite_book, sheet(tmp_path, text), WHO, "P-1") == ["numbers"]

    def kept(what: str) -> list[Found]:
        return [one for *_, one in findings(sqlite_book, tmp_path, text, WHO | {"numbers": what})]

    assert kept("count") == [Found("skin_flukes", 2), Found("skin_flukes", 1)]
    assert kept("score") == [Found("skin_flukes", score=2), Found("skin_flukes", score=1)]
    # Over how many fields the second was counted is not known: it stays in words.
    assert kept("each") == [
        Found("skin_flukes", 10, note="written 2 per field"),
        Found("skin_flukes", note="written 1 per field"),
    ]
    said = "date,fish,site,Gyro per field\n2025-05-02,1,skin,2\n"
    assert asked(sqlite_book, sheet(tmp_path, said), WHO, "P-1") == []


def test_what_was_found_in_words_under_each_site(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = 'date,fish,Gill,Skin\n2025-05-02,1,"Gyro ++, 3 Costia",clean\n2025-05-02,2,no ich,Ich?\n'
    assert findings(sqlite_book, tmp_path, text, {**WHO, "numbers": "count"}) == [
        (1, "gill clip", Found("skin_flukes", score=2)),
        (1, "gill clip", Found("costia", 3)),
        (2, "gill clip", Found("white_spot", 0)),
        (2, "skin scrape", Found("white_spot", confidence="suspected")),
    ]
    # What is said of every unknown name leaves the known ones as they are.
    epi = 'date,fish,Gill\n2025-05-02,1,"Epi ++, Gyro +"\n'
    assert findings(sqlite_book, tmp_path, epi, {**WHO, "word": "words"}) == [
        (1, "gill clip", Found("skin_flukes", score=1)),
    ]
    flukes = sheet(tmp_path, "date,fish,Gill,Skin\n2025-05-02,1,flukes,clean\n")
    (question,) = look_at_fish(flukes, sqlite_book, NOW, said=Said(WHO), pond="P-1").questions
    assert [one.value for one in question.answers[:2]] == ["gill flukes", "skin flukes"]


def test_unknown_columns_sites_words_and_marks_are_asked_once(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = (
        "date,fish,site,Epi,Gyro,colour\n2025-05-02,Copper,operculum,++,few,red\n"
        "2025-05-02,Slate,operculum,+,tntc,white\n"
    )
    path = sheet(tmp_path, text)
    assert asked(sqlite_book, path, WHO, "P-1") == [
        "column:epi", "site:operculum", "inexact", "score:few",
    ]  # fmt: skip
    (first, *_) = look_at_fish(path, sqlite_book, NOW, said=Said(WHO), pond="P-1").questions
    assert first.answers[0].value == "words"  # nothing is near: no parasite is proposed
    said = {
        **WHO, "column:epi": "words", "site:operculum": "skin scrape", "inexact": "words",
        "score:few": "1",
    }  # fmt: skip
    plan = planned(look_at_fish, path, sqlite_book, NOW, said=Said(said), pond="P-1")
    first, second = plan.items[0].exam.fish
    assert (first.mark, first.nth, first.other) == ("Copper", 1, "Epi ++, operculum")
    assert first.preparations == (
        Prep("skin scrape", "operculum", found=(Found("skin_flukes", score=1, note="written few"),)),
    )  # fmt: skip
    assert second.preparations[0].found == (Found("skin_flukes", note="written tntc"),)
    assert any("“colour”" in one for one in plan.told)
    with pytest.raises(BadInput, match="no parasite of the list"):
        planned(
            look_at_fish,
            sheet(tmp_path, LONG),
            sqlite_book,
            NOW,
            said=Said({**WORDS, "word:tri": "xyz"}),
        )


def test_rows_without_fish_carried_cells_and_two_measures(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = "date,site,parasite,score,count\n2/5/25,skin,Gyro,++,14\n,,Costia,+,\n"
    path = sheet(tmp_path, text)
    assert asked(sqlite_book, path, WHO, "P-1") == ["order", "blank:date", "blank:site", "fish"]
    said = {**WHO, "order": "dmy", "blank": "same", "fish": "day"}
    assert findings(sqlite_book, tmp_path, text, said) == [
        (1, "skin scrape", Found("skin_flukes", 14, note="score ++")),
        (1, "skin scrape", Found("costia", score=1)),
    ]
    plan = planned(
        look_at_fish, path, sqlite_book, NOW, said=Said({**said, "fish": "row"}), pond="P-1"
    )
    assert [one.nth for one in plan.items[0].exam.fish] == [1, 2]
    assert plan.items[0].exam.at == datetime(2025, 5, 2, 11, tzinfo=UTC)


def test_sites_over_the_headings_and_within_them(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = ",,Skin,,Left gill,,\nDate,Fish,Tri,Costia,Tri,Dac,Remarks\n2025-05-02,1,+,0,++,+++,ok\n"
    path = sheet(tmp_path, text)
    assert asked(sqlite_book, path, WHO, "P-1") == [
        "column:skintri", "column:leftgilltri", "column:leftgilldac",
    ]  # fmt: skip
    said = WHO | {"column:skintri": "trichodina", "column:leftgilltri": "trichodina"}
    found = findings(sqlite_book, tmp_path, text, said | {"column:leftgilldac": "gill flukes"})
    assert found == [
        (1, "skin scrape", Found("trichodina", score=1)),
        (1, "skin scrape", Found("costia", score=0)),
        (1, "gill clip", Found("trichodina", score=2)),
        (1, "gill clip", Found("gill_flukes", score=3)),
    ]
    said["column:leftgilldac"] = "words"
    (item,) = planned(look_at_fish, path, sqlite_book, NOW, said=Said(said), pond="P-1").items
    assert [prep.looked_as for prep in item.exam.fish[0].preparations] == [
        "skin scrape", "gill clip (left)",
    ]  # fmt: skip
    assert item.exam.fish[0].other == "Left gill Dac +++; ok"


def test_a_sheet_without_days_asks_for_its_day(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, '"Beck End, 22 April 2025, 100x",,\nFish,Gill Gyro,Note\n1,++,\n')
    (question,) = look_at_fish(path, sqlite_book, NOW, said=Said(WHO), pond="P-1").questions
    assert question.field == "date"
    assert "“22 April 2025”" in question.text
    said = Said(WHO).answering(question, question.answers[0].value)
    (item,) = planned(look_at_fish, path, sqlite_book, NOW, said=said, pond="P-1").items
    assert item.exam.at == datetime(2025, 4, 22, 11, tzinfo=UTC)
    assert said.lasting().get("date") == ""
    with pytest.raises(BadInput, match="is no day"):
        planned(
            look_at_fish, path, sqlite_book, NOW, said=Said({**WHO, "date": "spring"}), pond="P-1"
        )


def test_a_form_of_one_visit_says_day_pond_and_examiner_above(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = (
        "Date,02/05/2025,,Pond:,Upper pond\nExaminer: Ada Marsh,,Purpose: losses,Mag,100x\n,\n"
        "Fish,Length cm,Site,Parasite,Amount\n1,42,Skin,Gyro,++\n,,Skin,Costia,present\n"
    )
    path = sheet(tmp_path, text)
    assert asked(sqlite_book, path) == ["order", "blank:fish"]
    said = Said({"order": "dmy", "blank": "same"})
    (item,) = planned(look_at_fish, path, sqlite_book, NOW, said=said).items
    assert (item.exam.at.month, item.exam.examiner, item.exam.purpose) == (5, "Ada Marsh", "losses")
    assert item.exam.fish[0].preparations == (
        Prep("skin scrape", "", 100, found=(Found("skin_flukes", score=2), Found("costia"))),
    )  # fmt: skip
    # A pond that a person names goes before the one above the headings.
    (other,) = planned(look_at_fish, path, sqlite_book, NOW, said=said, pond="P-2").items
    assert other.pond != item.pond


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("2027-01-01,1,42,skin,Gyro,2,5", "lies ahead"),
        ("2025-05-02,1,420,skin,Gyro,2,5", "no length of a fish"),
        ("2025-05-02,1,42,skin,Gyro,2.5,5", "no whole number"),
        ("2025-05-02,1,42,skin,Gyro,2,many", "no number of fields"),
        ("2025-05-02,7,42,skin,Gyro,2,5", "stands twice"),
        ("2025-05-02,7,42,skin,Gyro,2,", "stands twice"),
        ("2025-05-02,7,44,gill,Gyro,2,5", "rows of this fish say"),
        ("2025-05-02,7,42,skin,none,,", "Nothing was found"),
        ("2025-05-02,1,42,skin,Gyro,2,5,,surplus", "more cells"),
    ],
)
def test_what_is_refused(
    row: str, reason: str, sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = "date,fish,length cm,site,parasite,count,fields\n2025-05-02,7,42,skin,Gyro,1,5\n"
    path = sheet(tmp_path, f"{text}{row}\n2025-05-02,9,,gill,none,,\n")
    plan = planned(look_at_fish, path, sqlite_book, NOW, said=Said(WHO), pond="P-1")
    assert any(fish.nth == 9 for fish in plan.items[0].exam.fish)
    assert any(reason in one.reason for one in plan.refused), plan.refused


def test_what_is_no_parasite_sheet(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    for text in ("date,pH\n2025-05-02,7\n", "date,fish,Gyro,Gyrodactylus\n2025-05-02,1,+,+\n",
                 "date,length,fl,Gyro\n2025-05-02,1,1,+\n"):  # fmt: skip
        with pytest.raises(BadInput):
            planned(
                look_at_fish, sheet(tmp_path, text), sqlite_book, NOW, said=Said(WHO), pond="P-1"
            )


@settings(max_examples=25)
@given(st.text(max_size=12))
def test_whatever_a_cell_says_it_is_told_apart_and_never_fails(cell: str) -> None:
    amount = amount_of(cell)
    assert amount.number >= 0
    assert amount.kind == "plus" or set(cell.strip()) - {"+", " "} or not cell.strip()
    heading_said(cell)
    site_of(cell)
    parasites_named(cell)


def test_the_command_asks_saves_and_tells(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, WIDE.replace("Ich", "Chil"))
    assert run(sqlite_book, act, "fish", path, "--pond", "P-1") == 1
    said = capsys.readouterr().err
    for option in ("--dash none  looked, none seen", "--examiner", "--purpose routine"):
        assert option in said
    words = ("--pond", "P-1", "--dash", "none", "--examiner", "Ada", "--purpose", "routine")
    assert run(sqlite_book, act, "fish", path, *words, "--dry-run") == 0
    said = capsys.readouterr().out
    assert "line 2: 2 May 2025, Brook House, Upper pond: fish 1, 42 cm: skin scrape" in said
    assert "Would save 1 examination; nothing was saved." in said
    assert examinations_of(sqlite_book, pond) == ()
    assert run(sqlite_book, act, "fish", path, *words) == 0
    assert "Saved 1 examination." in capsys.readouterr().out
    assert run(sqlite_book, act, "fish", path, *words) == 0
    assert "1 in the book already" in capsys.readouterr().out
    with pytest.raises((PondroundError, SystemExit)):
        run(sqlite_book, act, "fish", path, "--dash", "maybe")
