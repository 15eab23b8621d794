"""Laboratory results in the shapes in which they come: placed, asked about, amended, not doubled.

The shapes are those of common practice; case numbers and places are invented.
"""

from __future__ import annotations

import random
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook
from sheets import NOW, add_ponds, sheet
from test_import_command import run

from store.book.act import Act
from store.book.book import Book
from store.exams.specimens import (
    AMENDED,
    add_sample,
    earlier_reports,
    report_result,
    samples_of,
    strike_sample,
)
from store.exams.suspicion import suspicions
from store.exchange.columns.said import Said, key_of
from store.exchange.lab.report_number import number_folded, report_number
from store.exchange.lab.result_words import result_said
from store.exchange.lab.results import look_at_lab, save_lab
from store.exchange.lab.settled import Planned
from store.exchange.looking.ways import look_at
from store.exchange.named.planning import Preview
from store.exchange.plain.planned import Done, write_refused
from tui.screens.exchange.plan_in_lines import state_said

REPORT = """Nethervane Fish Laboratory;;;;;;;;;
Case number: 26-1188;;Client: Brook House;;;;;;;
Date received;3/3/2026;;;Date reported: 13/3/2026;;;;;
;;;;;;;;;
Sample no;Your ref;Species;Organ;Test;Result;Ct;Units;Method;Comment
1;UP-17;koi;gill;KHV;neg;;;real-time PCR;
;;;;CEV;Ct 31.4;;;real-time PCR;near the limit
;;;kidney;Bacteriology;Aeromonas salmonicida isolated;;;culture;heavy growth
2;UP-18;koi;gill;KHV;n.d.;;;real-time PCR;
;;;;SVCV;pos;24.9;;PCR;
Antibiogram;;;;;;;;;
Sample no;Antibiotic;S/I/R;MIC (mg/L);;;;;;
1;enrofloxacin;S;0.25;;;;;;
;oxytetracycline;R;>16;;;;;;
;florfenicol;?;;;;;;;
"""
ANSWERS = {
    ("blank", ""): "same",
    ("result", "n.d."): "not tested",
    ("result", "Aeromonas salmonicida isolated"): "detected",
    ("ponds", "Brook House"): "P-1",
}
PLAIN = "Report no,Pond,Sample,Test,Result,Received,Reported\n"


def look(
    book: Book, path: Path, answers: dict[tuple[str, str], str] | None = None, pond: str = ""
) -> Preview[Planned]:
    said = Said({key_of(*key): value for key, value in (answers or {}).items()})
    return look_at_lab(path, book, NOW, said=said, pond=pond)


def brought(
    book: Book, act: Act, path: Path, answers: dict[tuple[str, str], str] | None = None
) -> Done:
    return save_lab(book, act, look(book, path, answers))


def test_a_report_in_groups_with_a_table_of_resistance(
    book: Book, act: Act, tmp_path: Path
) -> None:
    upper, _ = add_ponds(book, act, "Upper pond", "Lower pond")
    with book.writing(act) as writing:
        key = add_sample(
            writing, upper, label="UP 17", taken_on=date(2026, 3, 2), material="gill of koi 3",
            sent_on=date(2026, 3, 2),
        )  # fmt: skip
    path = sheet(tmp_path, REPORT)
    first = look(book, path)
    assert first.plan is None
    asked = {(one.field, one.about) for one in first.questions}
    assert asked == {
        ("blank", ""), ("result", "aeromonas salmonicida isolated"), ("result", "n.d"),
        ("ponds", "Brook House"),
    }  # fmt: skip
    (ponds,) = (one for one in first.questions if one.field == "ponds")
    assert {one.value for one in ponds.answers} == {"P-1", "P-2", "ignore"}

    preview = look(book, path, ANSWERS)
    assert preview.plan is not None
    assert [(one.line, one.reason) for one in preview.plan.refused] == [
        (15, "“?” is none of S, I, R.")
    ]
    beside = write_refused(preview.plan)
    assert beside is not None
    assert beside.read_text().splitlines() == [
        "line;why refused;Sample no;Antibiotic;S/I/R;MIC (mg/L);;;;;;",
        "15;“?” is none of S, I, R.;;florfenicol;?;;;;;;;",
    ]
    assert any(one.startswith("STOP: line 10 reports spring viraemia") for one in preview.told)
    assert any("Ct value, is kept as unclear" in one and "line 7" in one for one in preview.told)
    assert save_lab(book, act, preview) == Done(4, 0, 1)
    found = {(one.label, one.hazard): one for one in samples_of(book, upper)}
    assert {key: one.result for key, one in found.items()} == {
        ("UP 17", "khv"): "not detected", ("UP 17", "sleepy_disease"): "unclear",
        ("UP 17", "ulcer_disease"): "detected", ("UP-18", "svc"): "detected",
    }  # fmt: skip
    khv = found["UP 17", "khv"]
    assert (khv.id, khv.material, khv.report) == (key, "gill of koi 3", "26-1188")
    assert khv.said == "KHV (real-time PCR): neg; sample 1; received 3 Mar 2026"
    assert (khv.taken_on, khv.reported_on) == (date(2026, 3, 2), date(2026, 3, 13))
    assert "Ct 31.4" in found["UP 17", "sleepy_disease"].said
    assert found["UP 17", "ulcer_disease"].said.endswith(
        "heavy growth; Resistance (S sensitive, I intermediate, R resistant): enrofloxacin S "
        "(MIC 0.25 mg/L), oxytetracycline R (MIC >16 mg/L)"
    )
    # Another test of an awaited sample takes over when it was taken, and what it is.
    assert found["UP 17", "sleepy_disease"].taken_on == date(2026, 3, 2)
    assert found["UP-18", "svc"].taken_on == date(2026, 3, 3)  # received: known by then
    assert suspicions(book, upper, NOW)[0].head.startswith("STOP: spring viraemia of carp")

    again = look(book, path, ANSWERS)
    assert again.plan is not None
    assert (again.plan.items, again.plan.already) == ((), 4)
    assert save_lab(book, act, again).added == 0


def test_an_amended_report_takes_the_place_of_the_first(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    rows = [
        "26-7,P-1,A-1,KHV PCR,pos,2026-03-02,2026-03-05",
        "26-7 v2,P-1,A-1,KHV PCR,neg,2026-03-02,2026-03-09",
    ]
    first = sheet(tmp_path, PLAIN + rows[0], "first.csv")
    assert brought(sqlite_book, act, first).added == 1
    assert suspicions(sqlite_book, pond, NOW)[0].found.named
    # The same report with other words and no newer version is refused, not taken.
    other = sheet(tmp_path, PLAIN + rows[0].replace("pos", "neg"), "other.csv")
    plan = look(sqlite_book, other).plan
    assert plan is not None
    assert "write v2 behind its number" in plan.refused[0].reason

    whole = sheet(tmp_path, PLAIN + "\n".join(reversed(rows)), "whole.csv")
    assert brought(sqlite_book, act, whole) == Done(1, 1, 0)
    (stands,) = samples_of(sqlite_book, pond)
    assert (stands.result, stands.report) == ("not detected", "26-7 v2")
    (before,) = earlier_reports(sqlite_book, stands.id)
    assert (before.result, before.report, before.struck_why) == ("detected", "26-7", AMENDED)
    assert suspicions(sqlite_book, pond, NOW) == ()
    # The first report once more is known, whether it is brought in by itself or with the second.
    assert brought(sqlite_book, act, first) == Done(0, 1, 0)
    assert brought(sqlite_book, act, whole) == Done(0, 2, 0)


def test_both_versions_in_one_file(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    text = (
        "Case No,Owner,Sample,Test,Result,Received,Reported,Status\n"
        "26-1,Brook House,1,KHV,neg,2026-03-01,2026-03-05,final\n"
        ",,2,KHV,POS,,,\n"
        "26-1,Brook House,2,KHV,Inconclusive,2026-03-01,2026-03-07,amended\n"
    )
    path = sheet(tmp_path, text)
    assert brought(sqlite_book, act, path, {("blank", ""): "same"}) == Done(3, 0, 0)
    found = samples_of(sqlite_book, pond)
    assert {(one.label, one.result) for one in found} == {
        ("26-1/1", "not detected"), ("26-1/2", "unclear"),
    }  # fmt: skip
    assert len(samples_of(sqlite_book, pond, struck=True)) == 3
    assert brought(sqlite_book, act, path) == Done(0, 3, 0)


def test_a_column_for_each_test(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = (
        "Sample ID,Pond,Sampled,Reported,KHV PCR,SVCV PCR,CEV (Ct),Bacteriology,Enrofloxacin\n"
        "A-101,P-1,2026-03-01,2026-03-10,Not detected,neg,33.1,no growth,\n"
        "A-102,P-2,2026-03-01,2026-03-10,Detected,not tested,,positive,R\n"
    )
    path = sheet(tmp_path, text)
    (question,) = look(sqlite_book, path).questions
    assert (question.field, question.about) == ("test", "Bacteriology")
    assert [one.value for one in question.answers][:3] == ["none", "khv", "svc"]
    plan = look(sqlite_book, path, {("test", "Bacteriology"): "none"}).plan
    assert plan is not None
    assert sorted((one.line, one.result.test, one.result.result) for one in plan.items) == [
        (2, "Bacteriology", "not detected"), (2, "CEV (Ct)", "unclear"),
        (2, "KHV PCR", "not detected"), (2, "SVCV PCR", "not detected"),
        (3, "Bacteriology", "detected"), (3, "KHV PCR", "detected"),
    ]  # fmt: skip
    (germ,) = (one for one in plan.items if one.line == 3 and one.result.test == "Bacteriology")
    assert "Enrofloxacin R" in germ.said
    assert "Not tested, so nothing is kept: line 3." in plan.told


def test_rows_are_refused_with_their_reason(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    days = {("order", ""): "dmy", ("blank", ""): "none"}
    text = (
        PLAIN + "26-1,P-1,A-1,KHV,neg,2/3/2026,4/3/2026\n"
        "26-1,P-1,A-2,KHV/CEV duplex,pos,2/3/2026,4/3/2026\n"
        "26-1,P-9,A-3,KHV,neg,2/3/2026,4/3/2026\n"
        "26-1,P-1,A-4,KHV,,2/3/2026,4/3/2026\n"
        "26-1,P-1,A-5,KHV,neg,2/3/2026,\n"
        "26-1,P-1,A-6,KHV,neg,2/3/2026,1/3/2026\n"
        "26-1,P-1,A-7,KHV,neg,2/3/2026,1/3/2027\n"
        "26-1,P-1,A-8,KHV,neg,,4/3/2026\n"
        "26-1,P-1,A-1,KHV,pos,2/3/2026,4/3/2026\n"
        "26-1,P-1,A-9,KHV,pending,2/3/2026,\n"
        "26-1,P-1,A-1,KHV,neg,2/3/2026,4/3/2026\n"
    )
    path = sheet(tmp_path, text)
    asked = [(one.field, one.about) for one in look(sqlite_book, path).questions]
    assert asked[0] == ("order", "")
    assert ("test", "KHV/CEV duplex") in asked
    assert ("ponds", "P-9") in asked
    answers = days | {("test", "KHV/CEV duplex"): "khv", ("ponds", "P-9"): "ignore"}
    plan = look(sqlite_book, path, answers).plan
    assert plan is not None
    assert [(one.line, one.result.hazard, one.result.result) for one in plan.items] == [
        (2, "khv", "not detected"), (3, "khv", "detected"), (11, "khv", "awaited"),
    ]  # fmt: skip
    assert plan.already == 1  # line 12 is line 2 once more
    reasons = {one.line: one.reason for one in plan.refused}
    for line, part in {
        4: "was left out", 5: "no result", 6: "when it was reported", 7: "cannot be of 1 Mar 2026",
        8: "1 Mar 2027 lies ahead", 9: "taken, sent or received", 10: "Line 2 gives another",
    }.items():  # fmt: skip
        assert part in reasons.pop(line)
    assert reasons == {}
    beside = write_refused(plan)
    assert beside is not None
    assert len(beside.read_text().splitlines()) == 8


def test_what_cannot_be_kept_is_refused_before_saving(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = (
        f"{PLAIN},P-1,,KHV,neg,2026-03-02,2026-03-05\n"
        f"26-1,P-1,{'x' * 501},KHV,neg,2026-03-02,2026-03-05\n"
        "٣,P-1,1,KHV,neg,2026-03-02,2026-03-05\n"
    )
    path = sheet(tmp_path, text)
    answers = {("blank", ""): "none"}
    plan = look(sqlite_book, path, answers).plan
    assert plan is not None
    assert [one.result.label for one in plan.items] == ["٣/1"]
    assert [(one.line, one.reason[:33]) for one in plan.refused] == [
        (2, "The row names neither sample nor "), (3, "Label is longer than 500 characte"),
    ]  # fmt: skip
    assert brought(sqlite_book, act, path, answers) == Done(1, 0, 2)
    assert brought(sqlite_book, act, path, answers) == Done(0, 1, 2)


def test_an_awaited_sample_says_which_pond(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    upper, lower = add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    with sqlite_book.writing(act) as writing:
        for pond, label, hazard in (
            (lower, "LP-104", "khv"),
            (upper, "1", ""),
            (upper, "X-20", ""),
        ):
            add_sample(writing, pond, label=label, taken_on=date(2026, 3, 2), hazard=hazard)
    header = "Case,Sample,Test,Result,Received,Reported\n"
    text = (
        f"{header}26-3,LP-104,KHV,neg,2026-03-03,2026-03-05\n"
        "26-3,1,KHV,neg,2026-03-03,2026-03-05\n26-3,X-20,KHV,neg,2026-03-03,2026-03-05\n"
    )
    path = sheet(tmp_path, text)
    # A number such as 1 names a sample within its report alone: nobody guesses whose it is.
    (question,) = look(sqlite_book, path).questions
    assert (question.field, question.about) == ("ponds", "report 26-3")
    plan = look(sqlite_book, path, {("ponds", "report 26-3"): "P-1"}).plan
    assert plan is not None
    assert [(one.pond, one.answers and one.answers.label) for one in plan.items] == [
        (lower, "LP-104"), (upper, None), (upper, "X-20"),
    ]  # fmt: skip
    plan = look(sqlite_book, path, {("ponds", "report 26-3"): "P-1"}, pond="P-1").plan
    assert plan is not None
    assert [(one.line, one.reason) for one in plan.refused] == [
        (2, "The row is of Brook House, Lower pond, another pond than the one given for the file.")
    ]
    late = sheet(tmp_path, f"{header}26-3,LP-104,KHV,neg,2026-02-01,2026-03-01\n", "late.csv")
    plan = look(sqlite_book, late).plan
    assert plan is not None
    assert "the sample was known here until 2 Mar 2026" in plan.refused[0].reason
    # Awaited for another disease it stays awaited, and that is told.
    svc = sheet(tmp_path, f"{header}26-3,LP-104,SVC,neg,2026-03-03,2026-03-05\n", "svc.csv")
    plan = look(sqlite_book, svc).plan
    assert plan is not None
    assert plan.items[0].answers is None
    assert any("“LP-104” stays awaited: it was entered for koi herpes" in one for one in plan.told)


def test_what_a_person_typed_or_struck_is_known(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    with sqlite_book.writing(act) as writing:
        key = add_sample(writing, pond, label="A-1", taken_on=date(2026, 3, 2), hazard="khv")
        report_result(
            writing, key, 1, "not detected", date(2026, 3, 5), said="nothing found",
            report="26-7.pdf",
        )  # fmt: skip
    path = sheet(tmp_path, f"{PLAIN}26-7,P-1,A-1,KHV PCR,neg,2026-03-02,2026-03-05\n")
    assert brought(sqlite_book, act, path) == Done(0, 1, 0)
    other = sheet(tmp_path, f"{PLAIN}26-8,P-1,A-2,SVC,pos,2026-03-02,2026-03-05\n", "other.csv")
    assert brought(sqlite_book, act, other).added == 1
    with sqlite_book.writing(act) as writing:
        one = samples_of(sqlite_book, pond)[0]
        strike_sample(writing, one.id, one.rev, "the fish was of another pond")
    assert brought(sqlite_book, act, other) == Done(0, 1, 0)


def test_no_suspicion_ends_or_slips_by_in_silence(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    with sqlite_book.writing(act) as writing:
        key = add_sample(writing, pond, label="A-1", taken_on=date(2026, 3, 2))
        report_result(writing, key, 1, "detected", date(2026, 3, 5), said="found", report="26-7")
    assert suspicions(sqlite_book, pond, NOW) == ()
    row = "26-7{},P-1,A-1,KHV PCR,{},2026-03-02,{}\n"
    # A person typed it without its disease; the report names it.
    path = sheet(tmp_path, PLAIN + row.format("", "pos", "2026-03-05"))
    preview = look(sqlite_book, path)
    assert preview.told[0].startswith("STOP: line 2 reports koi herpesvirus disease detected")
    assert save_lab(sqlite_book, act, preview) == Done(1, 0, 0)
    assert brought(sqlite_book, act, path) == Done(0, 1, 0)
    assert [one.found.level for one in suspicions(sqlite_book, pond, NOW)] == ["act"]
    amended = sheet(tmp_path, PLAIN + row.format(" v2", "neg", "2026-03-09"), "amended.csv")
    preview = look(sqlite_book, amended)
    assert preview.told[0].startswith(
        "STOP: line 2 amends a report of koi herpesvirus disease detected at Brook House, Upper "
        "pond, and says not detected: its suspicion rests on that report no longer."
    )
    assert preview.plan is not None
    assert "STOP, notifiable: takes back" in preview.plan.items[0].words
    shown = look_at("lab", amended, sqlite_book, NOW)
    assert shown.lines[0].what == "STOP: not detected: KHV PCR"
    assert state_said(shown, "result", "results").startswith("1 STOP: t   1 result to save")
    both = PLAIN + (row.format("", "pos", "2026-03-05") + row.format(" v2", "neg", "2026-03-09"))
    other = look(sqlite_book, sheet(tmp_path, both.replace("A-1", "B-1"), "both.csv"))
    assert any("STOP: line 3 amends line 2, and says not detected" in one for one in other.told)


def test_a_refused_row_with_a_notifiable_disease_is_told_first(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    rows = (
        "26-7,P-1,A-1,KHV PCR,pos,2026-02-30,2026-03-05\n26-7,P-1,A-2,SVC,pos,2026-03-02,\n"
        "26-7,P-1,A-3,KHV PCR,neg,2026-03-02,\n26-7,Z-9,A-4,KHV,pos,2026-03-02,2026-03-05\n"
    )
    answers = {("ponds", "Z-9"): "ignore", ("blank", ""): "none"}
    preview = look(sqlite_book, sheet(tmp_path, PLAIN + rows), answers)
    assert preview.plan is not None
    stops = [one for one in preview.told if one.startswith("STOP")]
    assert list(preview.told[: len(stops)]) == stops
    assert sorted(one[:12] for one in stops) == [
        "STOP: line 2", "STOP: line 3", "STOP: line 5",
    ]  # fmt: skip


def test_nothing_is_said_of_all_results_at_once(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, f"{PLAIN}26-7,P-1,A-1,KHV PCR,pos,2026-03-02,2026-03-05\n")
    for bare in (("--result", "not detected"), ("--test", "none")):
        assert run(sqlite_book, act, "lab", path, *bare) != 0
        assert "says of one word what it means" in capsys.readouterr().err
    preview = look(sqlite_book, path, {("result", ""): "not detected", ("test", ""): "none"})
    assert preview.plan is not None
    assert preview.plan.items[0].opens_suspicion
    unsaid = look(sqlite_book, path, {("test", "KHV PCR"): "none"})
    assert "a person said that it is about none of the list" in unsaid.told[0]


def test_a_laboratory_that_is_not_sure_is_not_made_sure(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    text = "Report,Pond,Sample,Test,Result,Interpretation,Taken,Reported\n" + "".join(
        f"26-7,P-1,S-{n},KHV,{words},2026-03-02,2026-03-05\n"
        for n, words in enumerate(("neg,inconclusive", "pos,inconclusive", "equivocal,negative"), 1)
    )
    preview = look(sqlite_book, sheet(tmp_path, text))
    assert preview.plan is not None
    assert [(one.line, one.result.result) for one in preview.plan.items] == [
        (2, "unclear"), (4, "not detected"),
    ]  # fmt: skip
    assert "say two things" in preview.plan.refused[0].reason
    assert preview.told[0].startswith("STOP: line 3 reports koi herpesvirus disease detected")


def test_the_words_of_a_result_go_before_what_was_said_of_its_test(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    words = "SVCV isolated on cells"
    path = sheet(tmp_path, f"{PLAIN}26-7,P-1,A-1,Panel,{words},2026-03-02,2026-03-05\n")
    answers = {("result", words): "detected", ("test", "Panel"): "none"}
    plan = look(sqlite_book, path, answers).plan
    assert plan is not None
    assert (plan.items[0].result.hazard, plan.items[0].opens_suspicion) == ("svc", True)
    said = result_said("Amplification of koi herpesvirus DNA in the gill")
    assert said is not None
    assert said.said == "asked"


def test_resistance_on_a_sheet_of_its_own(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    book = Workbook()
    first = book.active
    assert first is not None
    first.title = "Results"
    for row in (
        ("Report no", "Pond", "Sample", "Test", "Result", "Received", "Reported"),
        ("26-9", "P-1", "B-1", "Bacteriology", "positive", date(2026, 3, 2), date(2026, 3, 9)),
        ("26-9", "P-1", "B-2", "Bacteriology", "positive", date(2026, 3, 2), date(2026, 3, 9)),
    ):
        first.append(row)
    second = book.create_sheet("Sensitivity")
    for row in (("Antibiotic", "B-1", "B-2"), ("enrofloxacin", "S", "R"), ("colistin", "I", None)):
        second.append(row)
    path = tmp_path / "report.xlsx"
    book.save(path)
    plan = look(sqlite_book, path, {("test", "Bacteriology"): "ulcer_disease"}).plan
    assert plan is not None
    assert {one.result.hazard for one in plan.items} == {"ulcer_disease"}
    said = [one.said.rpartition(": ")[2] for one in plan.items]
    assert said == ["enrofloxacin S, colistin I", "enrofloxacin R"]


def test_the_command(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    text = f"{PLAIN}26-7,P-1,A-1,KHV PCR,weak pos,2026-03-02,2026-03-05\n"
    path = sheet(tmp_path, text)
    assert run(sqlite_book, act, "lab", path) == 1
    err = capsys.readouterr().err
    assert "The file gives “weak pos” as a result (line 2)." in err
    assert "--result “weak pos=unclear”" in err
    answer = ("--result", "weak pos=unclear")
    assert run(sqlite_book, act, "lab", path, *answer, "--dry-run") == 0
    out = capsys.readouterr().out
    assert "Would save 1 result; nothing was saved." in out
    assert "“A-1”, KHV PCR: unclear (“weak pos”)" in out
    assert samples_of(sqlite_book, pond) == ()
    assert run(sqlite_book, act, "lab", path, *answer) == 0
    assert "Saved 1 result." in capsys.readouterr().out
    assert run(sqlite_book, act, "lab", path) == 0  # the word is remembered
    assert "1 in the book already" in capsys.readouterr().out
    assert run(sqlite_book, act, "lab", sheet(tmp_path, "a,b\n1,2\n", "none.csv")) == 1
    assert "has no column of results" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("cell", "said"),
    [
        ("Not detected.", "not detected"), ("NEG", "not detected"), ("pos", "detected"),
        ("pos (Ct 24.9)", "detected"), ("Ct: 38 - inconclusive", "unclear"),
        ("negative (Ct>40)", "not detected"), ("Ct 31.4", "unclear"), ("31,4", "unclear"),
        ("3.2 x 10^5 CFU/g", "unclear"), ("n.d.", "asked"), ("-", "asked"), ("No Ct", "asked"),
        ("weak positive", "asked"), ("KHV DNA was detected in the pool", "asked"),
        ("mild swelling of the gill epithelium, no more", "unclear"), ("R", "asked"),
        ("to follow", "awaited"), ("not tested", "not tested"), ("nicht nachgewiesen",
                                                                 "not detected"),
    ],
)  # fmt: skip
def test_words_of_results(cell: str, said: str) -> None:
    found = result_said(cell)
    assert found is not None
    assert (found.said, found.words) == (said, cell)


def test_numbers_of_reports() -> None:
    for text, version in (
        ("26-1188", 1), ("26-1188 v2", 2), ("26-1188 (V2)", 2), ("26-1188 rev. 3", 3),
        ("26-1188 amended", 2), ("REV2", 1), ("AV2", 1),
    ):  # fmt: skip
        assert report_number(text).version == version, text
    assert report_number("26-1188 v2").folded == number_folded("26/1188")
    assert report_number("", "amended").version == 1
    assert number_folded("26-1/11") != number_folded("26-11/1")


@settings(max_examples=25, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    rows=st.lists(
        st.tuples(
            st.sampled_from(["A-1", "A-2", "", "1", "=A", "é\x1b"]),
            st.sampled_from(["KHV", "bact", "", "KHV/SVC", "x" * 90]),
            st.sampled_from(["neg", "pos", "Ct 30", "?", "", "n.d.", "0", "S", "pending", "a,b"]),
            st.sampled_from(["2026-03-02", "2/3/2026", "31/2/2026", "", "soon", "2027-01-01"]),
        ),
        max_size=6,
    )
)
def test_no_row_is_lost_and_nothing_is_guessed(
    sqlite_book: Book, tmp_path: Path, rows: list[tuple[str, str, str, str]]
) -> None:
    lines = [f'26-1;P-1;{sample};{test};"{result}";{day};{day}\n'
             for sample, test, result, day in rows]  # fmt: skip
    path = sheet(tmp_path, PLAIN.replace(",", ";") + "".join(lines))
    preview = look(sqlite_book, path, {("order", ""): "dmy", ("blank", ""): "none"})
    if preview.plan is None:
        assert preview.needed
        return
    plan = preview.plan
    placed = {one.line for one in plan.items} | {one.line for one in plan.refused}
    assert len(placed) + plan.already >= plan.rows_read
    for one in plan.items:
        if one.result.result == "detected":
            assert one.result.raw == "pos"
        if one.result.result == "not detected":
            assert one.result.raw == "neg"


@pytest.mark.parametrize("seed", range(6))
def test_the_same_report_written_otherwise(
    sqlite_book: Book, act: Act, tmp_path: Path, seed: int
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    dice = random.Random(seed)
    rows = [
        ["Case number", "Pond", "Sample no", "Organ", "Test", "Result", "Received", "Reported"],
        ["26-1", "P-1", "A-10", "Kieme", "KHV", "négatif", "02.03.2026", "13.03.2026"],
        ["26-1", "P-1", "A-11", "Kieme", "SVC", "Nachgewiesen", "02.03.2026", "13.03.2026"],
        ["26-1", "P-1", "A-12", "µ", "CEV", "Ct 33,1", "02.03.2026", "13.03.2026"],
    ]
    order = list(range(len(rows[0])))
    dice.shuffle(order)
    cell = dice.choice([str, '"{}"'.format])
    separator = dice.choice(";\t|")
    text = "".join(
        separator.join(cell(row[at]) for at in order) + dice.choice(["\n", "\r\n"]) for row in rows
    )
    title = dice.choice(["", "Laboratory report\n\n"])
    encoding = dice.choice(["utf-8", "utf-8-sig", "utf-16", "cp1252"])
    words = [dice.choice([title.upper(), title.lower()]) for title in rows[0]]
    for plain, other in zip(rows[0], words, strict=True):
        text = text.replace(plain, other, 1)
    path = sheet(tmp_path, title + text, encoding=encoding)
    plan = look(sqlite_book, path).plan
    assert plan is not None
    assert [(one.result.label, one.result.hazard, one.result.result) for one in plan.items] == [
        ("A-10", "khv", "not detected"), ("A-11", "svc", "detected"),
        ("A-12", "sleepy_disease", "unclear"),
    ]  # fmt: skip
    assert {one.result.reported_on for one in plan.items} == {date(2026, 3, 13)}
