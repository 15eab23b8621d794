"""The owner's sheet and the mix sheet as text and Markdown."""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from store.courses.papers.mix_sheet import DRAFT, mix_paper
from store.courses.papers.owner_days import RING_FIRST, amount_said
from store.courses.papers.owner_sheet import EATING, LATE, NOT_BEGUN, owner_sheet
from store.courses.planning.course import Plan, PlanStep, Product, StepWish
from store.courses.planning.plan import plan_course
from store.errors import BadInput, NotFound
from store.facts.agent import LOCAL_LAW
from store.facts.agents import agents
from store.paper.paper import Letterhead, Paper, Part, as_markdown, as_text, date_in_words
from tests.courses.course_papers import (
    FIRST,
    FORMALIN,
    HEAD,
    PLAN,
    SALT_DIP,
    TRICHLORFON,
    WATER,
    WRITTEN,
    doses,
    mixed,
    one_step,
)

GOLDEN = Path(__file__).with_name("golden")
lines = st.text(min_size=1, max_size=30)


def written(plan: Plan = PLAN, day: date = WRITTEN) -> str:
    return as_text(owner_sheet(plan, HEAD, day))


def part(paper: Paper, title: str) -> tuple[str, ...]:
    return next((one.lines for one in paper.parts if one.title.startswith(title)), ())


def day_lines(plan: Plan, day: date) -> tuple[str, ...]:
    return part(owner_sheet(plan, HEAD, WRITTEN), date_in_words(day))


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("owner.txt", written),
        ("owner.md", lambda: as_markdown(owner_sheet(PLAN, HEAD, WRITTEN))),
        ("owner_dip.txt", lambda: written(one_step(SALT_DIP, control_on=None))),
        ("mix.txt", lambda: as_text(mix_paper(mixed(), HEAD, WRITTEN))),
        ("mix.md", lambda: as_markdown(mix_paper(mixed("oil"), HEAD, WRITTEN))),
    ],
)
def test_golden(name: str, shown: Callable[[], str]) -> None:
    golden = GOLDEN / name
    if os.environ.get("PONDROUND_WRITE_GOLDEN"):
        GOLDEN.mkdir(exist_ok=True)
        golden.write_text(shown(), encoding="utf-8")
    assert shown() == golden.read_text(encoding="utf-8")


# --- what stands on it ----------------------------------------------------------------------------


def test_each_dose_stands_under_its_day_after_its_water_change() -> None:
    assert day_lines(PLAN, FIRST) == (
        "You: Switch off the UV lamp before the dose.",
        "We: Change 30 % of the water first, about 9000 L.",
        "We: Dose 1 of 1 of formalin: 600 mL.",
        "We: Watch the fish.",
    )
    for number in (1, 2, 3):
        assert day_lines(PLAN, FIRST + timedelta(7 * number)) == (
            "You: Change 30 % of the water first, about 9000 L.",
            f"You: Dose {number} of 3 of trichlorfon: 30.9 g.",
        )


def test_what_every_dose_asks_for_is_said_once() -> None:
    """A task that is not there on every day of a dose stays under its days."""
    assert written().count("Do not feed.") == 1
    sheet = owner_sheet(PLAN, HEAD, WRITTEN)
    assert part(sheet, "Each time a dose is given") == ("You: Do not feed.",)
    fewer = replace(PLAN, tasks=PLAN.tasks[:4])
    assert "You: Do not feed." in day_lines(fewer, FIRST + timedelta(7))
    assert not part(owner_sheet(fewer, HEAD, WRITTEN), "Each time")


@pytest.mark.parametrize(
    ("name", "said"),
    [("formalin, 37 %", "formalin, 37 %, used as it comes."),
     ("Fish F", "Fish F, used as it comes (37 %)."),
     ("", "used as it comes.")],
)  # fmt: skip
def test_a_strength_is_told_once(name: str, said: str) -> None:
    step = replace(FORMALIN, product=Product(name, 37.0, "product", 1.09))
    (line,) = part(owner_sheet(one_step(step), HEAD, WRITTEN), "What is given")
    assert line.endswith(said)
    assert line.count("37 %") <= 2  # once in the name of the agent


def test_a_reason_is_told_as_a_sentence() -> None:
    sheet = owner_sheet(replace(PLAN, hazards=(), reason="ulcers on three koi"), HEAD, WRITTEN)
    assert part(sheet, "What it is for") == ("Ulcers on three koi.",)


def test_the_control_examination_is_told_once() -> None:
    control_on = PLAN.control_on
    assert control_on is not None
    assert len(day_lines(PLAN, control_on)) == 1
    told = replace(PLAN.tasks[0], code="control", on_day=control_on, says="Count again.")
    assert day_lines(replace(PLAN, tasks=(told,)), control_on) == ("You: Count again.",)


def test_a_plan_that_was_reckoned_keeps_every_day_and_amount() -> None:
    """Formalin, a week later an organophosphate weekly three times: common practice, no source."""
    plan = plan_course(
        [
            StepWish("formalin", "pond_bath", 20.0, "uL/L", product=FORMALIN.product,
                     water_change_percent=30.0, change_before_first=True),
            StepWish("trichlorfon", "pond_bath", 1.0, doses=3, interval_days=7, share="owner",
                     product=Product("Powder T", 97.0), water_change_percent=30.0,
                     change_before_first=True),
        ],
        hazards=["costia", "gill_flukes"], reason="", water=WATER, first_day=FIRST,
    )  # fmt: skip
    assert len(plan.steps[1].doses) == 3
    for step in plan.steps:
        for dose in step.doses:
            told = " ".join(day_lines(plan, dose.due_on))
            assert amount_said(dose.amount, dose.amount_unit) in told
            assert "Change 30 % of the water first, about 9000 L." in told
    text = " ".join(written(plan).split())
    for one in plan.tasks:
        first_words = re.split(r"\d{1,2} [A-Z][a-z]{2} \d{4}", one.says)[0].strip()
        assert first_words in text
    assert plan.control_on is not None
    assert date_in_words(plan.control_on) in text


@pytest.mark.parametrize(
    ("state", "said"),
    [("given", "has been given"), ("missed", "was missed"), ("dropped", "is not given")],
)
def test_a_dose_that_is_due_no_more_has_no_amount(state: Any, said: str) -> None:
    first, *rest = TRICHLORFON.doses
    plan = one_step(replace(TRICHLORFON, doses=(replace(first, state=state), *rest)))
    assert day_lines(plan, first.due_on) == (f"Dose 1 of 3 of trichlorfon {said}.",)


def test_an_overdue_dose_is_not_handed_out() -> None:
    plan = one_step(TRICHLORFON)
    late = owner_sheet(plan, HEAD, TRICHLORFON.doses[0].due_on + timedelta(1))
    (said,) = part(late, date_in_words(TRICHLORFON.doses[0].due_on))
    assert "before ringing us" in said
    assert "30.9" not in said


def test_how_to_give_it_is_told_to_those_who_give_it() -> None:
    practice = replace(TRICHLORFON, doses=doses(3, 30.9, share="practice"))
    text = written(one_step(practice))
    assert "How to give" not in text
    assert "Before you give" not in text
    assert "A nerve poison for people too" in text
    text = written(one_step(TRICHLORFON))
    assert "How to give trichlorfon" in text
    assert "watering can" in text
    assert "above 26.7 °C give nothing" in " ".join(text.split())


@pytest.mark.parametrize("code", ["formalin", "trichlorfon", "potassium_permanganate", "salt"])
def test_cautions_for_people_and_the_law_stand_on_every_sheet(code: str) -> None:
    text = " ".join(written(one_step(replace(TRICHLORFON, agent=code))).split())
    for says in (*agents()[code].handling, LOCAL_LAW):
        assert says in text
    assert "00000 111222" in text


def test_of_days_that_have_passed_only_the_doses_are_told() -> None:
    """Nobody can switch off a lamp yesterday; nothing before today has a box to tick."""
    sheet = owner_sheet(PLAN, HEAD, FIRST + timedelta(8))
    days = {one.title: one for one in sheet.parts if one.level == 2}
    past = days[date_in_words(FIRST)]
    assert past.shape == "points"
    assert len(past.lines) == 1
    assert "nobody gives it before ringing us" in past.lines[0]
    assert part(sheet, "Day by day")[-1] == LATE
    to_come = [one for one in days.values() if any("dose 3" in line.lower() for line in one.lines)]
    assert to_come
    assert all(RING_FIRST in one.lines for one in to_come)
    assert LATE not in as_text(owner_sheet(PLAN, HEAD, FIRST))


@pytest.mark.parametrize("use", ["ornamental", "food", "not asked"])
def test_the_label_says_whether_the_fish_may_be_eaten_and_whom_to_ring(use: Any) -> None:
    sheet = mix_paper(mixed(), replace(HEAD, vet="Ada Vet"), WRITTEN, use=use)
    label = part(sheet, "Label")
    assert EATING[use] in as_text(sheet).replace("\n", " ")
    assert any("not for eating" in line for line in label)
    assert "As prescribed by Ada Vet" in label
    assert label[-1] == "Practice of the sheet tests, telephone 00000 111222"
    draft = mix_paper(mixed(), replace(HEAD, vet="Ada Vet"), WRITTEN, use=use, prescribed=False)
    assert DRAFT in part(draft, "Label")
    assert DRAFT in part(draft, "To mind")
    assert "rescrib" not in " ".join((*part(draft, "Label"), *part(draft, "What this rests on")))


def test_what_is_only_planned_says_so() -> None:
    assert part(owner_sheet(PLAN, HEAD, WRITTEN, begun=False), "Day by day")[-1] == NOT_BEGUN
    assert NOT_BEGUN not in as_text(owner_sheet(PLAN, HEAD, WRITTEN)).replace("\n", " ")


@pytest.mark.parametrize("use", ["ornamental", "food", "not asked"])
def test_eating_is_spoken_of_whatever_the_pond(use: Any) -> None:
    text = " ".join(written(replace(PLAN, water=replace(WATER, use=use))).split())
    assert EATING[use] in text


def test_a_filter_is_never_left_shut_off() -> None:
    sheet = owner_sheet(one_step(replace(TRICHLORFON, agent="potassium_permanganate")), HEAD, FIRST)
    (said,) = part(sheet, "Switched off")
    assert said.startswith("Off or taken out: UV lamp, ozone")
    assert "filter" not in said


def test_fish_come_out_of_a_dip_at_the_first_sign() -> None:
    sheet = owner_sheet(one_step(SALT_DIP), HEAD, WRITTEN)
    assert "take the fish out" in part(sheet, "When something is wrong")[0]
    assert "The bath lasts 10 min." in part(sheet, "What is given")[0]
    assert "30 g/L in 60 L" in part(sheet, "What is given")[0]
    assert "watering can" not in as_text(sheet)


def rests(step: PlanStep) -> list[str]:
    sheet = owner_sheet(one_step(step, hazards=("gill_flukes",)), HEAD, WRITTEN)
    return [line for line in part(sheet, "What this rests on") if "richlorfon" in line]


def test_a_dose_is_said_to_rest_only_on_who_gave_that_dose() -> None:
    """Piper 1982, p. 283, gives 0.25 mg/L; 1 mg/L weekly is common practice; nobody gives 3."""
    quarter = rests(replace(TRICHLORFON, dose=0.25))
    assert any(line.startswith("Dose of trichlorfon") and "Piper" in line for line in quarter)
    one = rests(TRICHLORFON)
    assert not any("Piper" in line for line in one)
    assert any("common practice" in line for line in one)
    (three,) = rests(replace(TRICHLORFON, dose=3.0))
    assert "0.25 mg/L is published" in three
    assert "set by the prescribing vet" in three


def test_too_little_for_a_scale_is_said() -> None:
    text = " ".join(written(one_step(replace(TRICHLORFON, doses=doses(1, 0.004)))).split())
    assert "0.004 g, less than a scale or syringe shows" in text


def test_the_mix_sheet_tells_every_weight_and_day() -> None:
    sheet = mixed()
    text = " ".join(as_text(mix_paper(sheet, HEAD, WRITTEN)).split())
    for one in sheet.weighed:
        assert f"{one.each.said} of {one.name}" in text
    for says in (*sheet.steps, *sheet.cautions, *sheet.remarks):
        assert says in text
    assert date_in_words(sheet.use_by) in text


# --- names as typed -------------------------------------------------------------------------------


@given(client=lines, pond=lines)
def test_names_are_words_in_text_and_markdown(client: str, pond: str) -> None:
    head = replace(HEAD, client=client, pond=pond)
    if not (client.strip() and pond.strip()):
        with pytest.raises(BadInput):
            owner_sheet(PLAN, head, WRITTEN)
        return
    paper = owner_sheet(PLAN, head, WRITTEN)
    text = as_text(paper)
    assert all(len(line) <= 78 for line in text.splitlines())
    assert not any(unicodedata.category(one) in {"Cc", "Cs"} for one in text.replace("\n", ""))
    tokens = MarkdownIt("commonmark").parse(as_markdown(paper))
    read = ["".join(child.content for child in one.children) for one in tokens if one.children]
    told = [f"{name}: {value}" for name, value in paper.head]
    assert read[1 : 1 + len(told)] == told
    assert read[-1] == paper.foot


@given(said=lines)
def test_any_line_is_a_line_in_markdown(said: str) -> None:
    said = " ".join(said.split())
    paper = Paper("Sheet", (("Pond", "one"),), (Part("Part", (f"a{said}", said)),), "foot", FIRST)
    tokens = MarkdownIt("commonmark").parse(as_markdown(paper))
    kinds = [one.type for one in tokens if one.type.endswith("_open")]
    item = ["list_item_open", "paragraph_open"]
    empty = [] if not said else ["paragraph_open"]
    assert kinds == [
        "heading_open", "bullet_list_open", *item, "heading_open",
        "bullet_list_open", *item, "list_item_open", *empty, "paragraph_open",
    ]  # fmt: skip


def test_the_vet_is_named_where_one_is_given() -> None:
    assert "Vet:        Dr Ö. Sheet" in as_text(
        owner_sheet(PLAN, replace(HEAD, vet="Dr Ö. Sheet"), WRITTEN)
    )
    assert "Vet:" not in written()


def test_a_narrow_sheet() -> None:
    text = as_text(owner_sheet(PLAN, HEAD, WRITTEN), width=40)
    assert max(map(len, text.splitlines())) <= 40
    with pytest.raises(BadInput) as told:
        as_text(owner_sheet(PLAN, HEAD, WRITTEN), width=10)
    assert told.value.field == "width"


# --- refused --------------------------------------------------------------------------------------


@pytest.mark.parametrize("field", ["client", "pond", "practice", "telephone"])
def test_a_sheet_without_somebody_to_ring_is_refused(field: str) -> None:
    head: Letterhead = replace(HEAD, **{field: "  \n"})
    for write in (
        lambda: owner_sheet(PLAN, head, WRITTEN),
        lambda: mix_paper(mixed(), head, WRITTEN),
    ):
        with pytest.raises(BadInput) as told:
            write()
        assert told.value.field == field


@pytest.mark.parametrize(
    ("step", "field"),
    [
        (replace(TRICHLORFON, doses=()), "doses"),
        (replace(TRICHLORFON, doses=doses(1, 0.0)), "amount"),
        (replace(TRICHLORFON, doses=doses(1, float("nan"))), "amount"),
        (replace(TRICHLORFON, doses=doses(1, 5.0, water_change_percent=130.0)), "water change"),
        (replace(TRICHLORFON, doses=doses(1, 5.0, water_change_percent=float("nan"))),
         "water change"),
        (replace(TRICHLORFON, volume_l=0.0), "volume"),
    ],
)  # fmt: skip
def test_a_plan_that_cannot_be_told_is_refused(step: PlanStep, field: str) -> None:
    with pytest.raises(BadInput) as told:
        owner_sheet(one_step(step), HEAD, WRITTEN)
    assert told.value.field == field


def test_an_unknown_agent_is_refused() -> None:
    with pytest.raises(NotFound, match="elixir"):
        owner_sheet(one_step(replace(TRICHLORFON, agent="elixir")), HEAD, WRITTEN)
