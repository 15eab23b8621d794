"""Medicated feed as a course: planned, kept, logged, turned, promised, on both databases."""

from __future__ import annotations

from datetime import date, timedelta
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.book.act import Act
from store.book.book import Book
from store.courses.cautions.before import cautions
from store.courses.feeding.stock import stock
from store.courses.kept.course_page import course_page
from store.courses.kept.dose_log import log_dose
from store.courses.kept.given_agents import agents_given
from store.courses.kept.keeping import end_course, keep_plan, start_course, turn_course
from store.courses.kept.morning import promises
from store.courses.kept.records import course
from store.courses.kept.under_way import under_way
from store.courses.kept.water_now import beside
from store.courses.papers.mix_sheet import feed_mix
from store.courses.papers.owner_sheet import owner_sheet
from store.courses.planning.course import Plan, PondWater, Product, StepWish
from store.courses.planning.fed import batch_days, fed_on, feed_ends_on
from store.courses.planning.feed_step import FeedWish, Medicine, plan_feed
from store.courses.planning.plan import BadStep, plan_course
from store.courses.turning.turned import turned
from store.errors import BadInput
from store.paper.paper import Letterhead, as_text
from tests.book.entries import NOW, add_pond

DAY = date(2026, 3, 14)
WATER = PondWater(
    20_000.0, 18_000.0, 22_000.0, temperature_c=19.0, ph=6.8, oxygen_mg_l=8.0,
    species="31 koi", use="ornamental",
)  # fmt: skip
PREMIX = Product("premix of the shelf", 50.0)


def planned(wish: FeedWish, water: PondWater = WATER, first_day: date = DAY) -> Plan:
    return plan_feed(wish, hazards=(), reason="ulcers", water=water, first_day=first_day)


def florfenicol(**more: object) -> FeedWish:
    wish: dict[str, object] = {"rate_percent": 1.0, "days": 10, "stock": stock("45 kg")} | more
    return FeedWish(Medicine("florfenicol", 10.0, product=PREMIX), **wish)  # type: ignore[arg-type]


# The plan


def test_the_feed_of_the_acceptance_case_is_far_from_the_published_dose() -> None:
    """Common practice, without a source: 60 mg of a potentiated sulphonamide and 700 mg of vitamin
    C per kg of feed, 1 kg of it lasting two weeks, bound with oil."""
    # 1 kg in 14 d is 71.4 g a day: about 1 % of the weight of 7 kg of fish.
    wish = FeedWish(
        Medicine("trimethoprim_sulfadiazine", inclusion_mg_kg=60.0),
        stock("7 kg"), 14, feed_kg=1.0,
        also=(Medicine("vitamin_c", inclusion_mg_kg=700.0),),
    )  # fmt: skip
    sulphonamide, vitamin = planned(wish).steps
    assert sulphonamide.ration is not None
    assert sulphonamide.ration.rate_percent == pytest.approx(100.0 / 14.0 / 7.0)
    # 60 mg in 1 kg, eaten in 14 days by 7 kg: 60 / 14 / 7 mg per kg and day.
    assert sulphonamide.dose == pytest.approx(60.0 / 98.0)
    assert vitamin.dose == pytest.approx(700.0 / 98.0)
    # 30 mg per kg and day are published: 49 times as much.
    said = " ".join(sulphonamide.remarks)
    assert "0.6122 mg per kg fish and day, published 30: 49 times less" in said
    assert "60 mg per kg feed, published 60: within it" in said
    assert "700 mg per kg feed, published 700: within it" in " ".join(vitamin.remarks)
    # With oil it keeps for the two weeks: one batch.
    assert [len(step.doses) for step in (sulphonamide, vitamin)] == [1, 1]
    assert feed_ends_on(vitamin) == DAY + timedelta(13)


def test_a_feed_that_keeps_five_days_is_mixed_three_times_for_two_weeks() -> None:
    (step,) = planned(florfenicol(days=14, binder="gelatin")).steps
    assert [one.due_on for one in step.doses] == [DAY + timedelta(days) for days in (0, 5, 10)]
    assert [batch_days(step, one) for one in step.doses] == [5, 5, 4]
    # 45 kg × 10 mg × 5 d of a premix of 50 % are 4.5 g; for 4 days 3.6 g.
    assert [one.amount for one in step.doses] == [4.5, 4.5, 3.6]
    assert fed_on(step) == tuple(DAY + timedelta(days) for days in range(14))
    assert "3 batches for 5 d each, the last for 4 d" in step.interval_why


def test_batches_are_no_heavier_than_is_wished() -> None:
    # 45 kg × 1 % are 0.45 kg a day: 2 kg are for four days, and ten days for three batches of 4.
    (step,) = planned(florfenicol(batch_kg=2.0)).steps
    assert [batch_days(step, one) for one in step.doses] == [4, 4, 2]
    with pytest.raises(BadInput, match=r"The feed of one day is 0\.45 kg, more than the batch"):
        planned(florfenicol(batch_kg=0.3))


def test_a_liquid_is_measured_in_millilitres() -> None:
    product = Product("solution", 10.0, "w/v")
    wish = FeedWish(Medicine("florfenicol", 10.0, product=product), stock("45 kg"), 10,
                    rate_percent=1.0)  # fmt: skip
    (dose,) = planned(wish).steps[0].doses
    # 4,500 mg of a solution of 100 mg/mL.
    assert (dose.amount, dose.amount_unit) == (45.0, "mL")


def test_what_is_done_beside_it() -> None:
    plan = planned(florfenicol(days=14, binder="gelatin", share="owner"))
    tasks = {(one.code, one.on_day) for one in plan.tasks}
    assert ("feed_only", DAY) in tasks
    assert ("feed_again", DAY + timedelta(14)) in tasks
    assert {day for code, day in tasks if code == "watch_eaten"} == {
        DAY, DAY + timedelta(5), DAY + timedelta(10),
    }  # fmt: skip
    # No lamp is switched off and no feed stopped, as it is for a bath.
    assert not any(code.startswith(("off_", "on_", "air", "volume")) for code, _ in tasks)
    # A week after the last day of feeding.
    assert plan.control_on == DAY + timedelta(13 + 7)


@pytest.mark.parametrize(
    ("more", "field", "says"),
    [
        ({"days": 0}, "number of days", "number of days"),
        ({"days": 61}, "number of days", "number of days"),
        ({"rate_percent": 0.0}, "feeding rate", "feeding rate"),
        ({"rate_percent": 31.0}, "feeding rate", "feeding rate"),
        ({"rate_percent": None}, "feeding rate", "How much do they really eat"),
        ({"binder": "glue"}, "binder", "There is no binder 'glue'"),
        ({"batch_days": 15}, "batch", "cannot be for 10 days|keeps"),
        ({"batch_kg": -1.0}, "batch", "batch"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_told_at_its_field(
    more: dict[str, object], field: str, says: str
) -> None:
    if more.get("batch_days"):
        more = {**more, "binder": "gelatin"}
    with pytest.raises(BadInput, match=says) as told:
        planned(florfenicol(**more))
    assert told.value.field == field


@pytest.mark.parametrize(
    ("medicine", "field", "says"),
    [
        (Medicine("florfenicol", -1.0), "dose", "dose"),
        (Medicine("florfenicol"), "dose", "Give the dose"),
        (Medicine("florfenicol", 1.0, 2.0), "dose", "Give the dose"),
        (Medicine("no_such", 1.0), "agent", "no agent"),
        (Medicine("florfenicol", 10.0, product=Product("", 101.0)), "strength", "strength"),
        (Medicine("florfenicol", inclusion_mg_kg=2e6), "dose", "dose"),
    ],
)
def test_a_substance_that_cannot_be_is_told_with_its_place(
    medicine: Medicine, field: str, says: str
) -> None:
    also = FeedWish(Medicine("vitamin_c", inclusion_mg_kg=700.0), stock("45 kg"), 10,
                    rate_percent=1.0, also=(medicine,))  # fmt: skip
    with pytest.raises(BadStep, match=says) as told:
        planned(also)
    assert (told.value.field, told.value.place) == (field, 2)


def test_the_same_substance_does_not_go_in_twice() -> None:
    one = Medicine("vitamin_c", inclusion_mg_kg=700.0)
    with pytest.raises(BadStep, match="twice"):
        planned(FeedWish(one, stock("45 kg"), 10, rate_percent=1.0, also=(one,)))


@given(
    kg=st.floats(1.0, 5_000.0),
    dose=st.floats(1.0, 100.0),
    rate=st.floats(0.3, 5.0),
    days=st.integers(1, 30),
    strength=st.floats(5.0, 100.0),
    binder=st.sampled_from(["oil", "gelatin", "agar"]),
)
def test_the_batches_hold_what_the_fish_are_to_get(
    kg: float, dose: float, rate: float, days: int, strength: float, binder: str
) -> None:
    """Mass balance: product of all batches × strength = dose × biomass × days, rounded down once a
    batch by a hundredth at most, or by a step of the finest scale."""
    wish = FeedWish(
        Medicine("florfenicol", dose, product=Product("", strength)), stock(f"{kg:.6f} kg"), days,
        rate_percent=rate, binder=binder,
    )  # fmt: skip
    (step,) = planned(wish).steps
    assert step.ration is not None
    wanted_g = dose * step.ration.biomass_kg * days / 1000.0
    got_g = sum(one.amount for one in step.doses) * strength / 100.0
    short_g = sum(max(0.01, one.amount * 0.0102) for one in step.doses) * strength / 100.0
    assert wanted_g - short_g - 1e-9 <= got_g <= wanted_g * (1.0 + 1e-9)
    assert sum(batch_days(step, one) for one in step.doses) == days == len(fed_on(step))
    # What is in the feed is what they eat of it: inclusion × feed = active substance.
    assert step.ration.mg_per_kg_feed * step.ration.feed_kg == pytest.approx(wanted_g * 1000.0)


@given(kg=st.floats(10.0, 1_000.0), times=st.integers(2, 9))
def test_twice_the_fish_take_twice_the_product(kg: float, times: int) -> None:
    def grams(text: str) -> float:
        wish = florfenicol(stock=stock(text))
        return sum(one.amount for one in planned(wish).steps[0].doses)

    # Both are rounded down by a hundredth at most.
    assert grams(f"{kg * times:.6f} kg") == pytest.approx(grams(f"{kg:.6f} kg") * times, rel=0.011)


# In the book


@pytest.fixture
def pond(book: Book, act: Act) -> UUID:
    return add_pond(book, act)


def kept(book: Book, act: Act, pond: UUID, plan: Plan) -> UUID:
    with book.writing(act) as writing:
        key = keep_plan(writing, pond, plan)
        start_course(writing, key, 1, (), {})
    return key


def two_in_a_feed(first_day: date, binder: str = "gelatin") -> Plan:
    return planned(
        FeedWish(
            Medicine("florfenicol", 10.0, product=PREMIX), stock("45 kg"), 14, rate_percent=1.0,
            also=(Medicine("vitamin_c", inclusion_mg_kg=700.0),), binder=binder,
        ),
        first_day=first_day,
    )  # fmt: skip


def log(book: Book, act: Act, key: UUID, place: int, number: int, amount: float) -> None:
    found = course(book, key)
    with book.writing(act) as writing:
        log_dose(writing, found.dose_ids[place, number], given_at=act.at, amount=amount,
                 amount_unit="g", water_change_percent=0.0, given_by="Ada", batch="P-7")  # fmt: skip


def test_a_feed_is_kept_and_read_back_as_it_was_planned(book: Book, act: Act, pond: UUID) -> None:
    plan = two_in_a_feed(book.today(act.at))
    found = course(book, kept(book, act, pond, plan)).plan
    assert found.steps == plan.steps
    assert found.control_on == plan.control_on
    assert set(found.tasks) == set(plan.tasks)
    assert found.steps[1].ration is not None
    assert found.steps[1].ration.mg_per_kg_feed == 700.0
    assert found.steps[0].ration is not None
    assert found.steps[0].ration.binder == "gelatin"


def test_a_batch_is_due_given_and_gone_from_the_list(book: Book, act: Act, pond: UUID) -> None:
    today = book.today(act.at)
    key = kept(book, act, pond, planned(florfenicol(days=14, binder="gelatin"), first_day=today))
    (line,) = under_way(book, act.at)
    assert line.first is not None
    assert line.first.what == "batch 1 of 3 due today"
    assert line.due.said == "Batch 1 of 3 due today"
    log(book, act, key, 1, 1, 4.5)
    assert [one.says for one in promises(course(book, key), today) if one.kind == "dose"] == [
        "batch 2 of 3", "batch 3 of 3",
    ]  # fmt: skip
    page = course_page(book, key, act.at)
    assert page.curves == ()
    assert page.line.given == 1


def test_two_in_one_feed_are_named_together(book: Book, act: Act, pond: UUID) -> None:
    kept(book, act, pond, two_in_a_feed(book.today(act.at)))
    (line,) = under_way(book, act.at)
    assert line.name == "florfenicol with vitamin C"
    assert {one.promise.says for one in line.waiting if one.late_days == 0} == {
        "florfenicol 1 of 3", "vitamin C 1 of 3",
    }  # fmt: skip


def test_a_late_batch_shifts_the_rest_and_nothing_is_diluted(
    book: Book, act: Act, pond: UUID
) -> None:
    today = book.today(act.at)
    plan = planned(florfenicol(days=14, binder="gelatin"), first_day=today - timedelta(2))
    key = kept(book, act, pond, plan)
    log(book, act, key, 1, 1, 4.5)
    with book.writing(act) as writing:
        found = course(book, key)
        turn = turn_course(writing, key, found.rev)
    assert turn.cautions == ()
    assert any("Batch 2 moves" in one for one in turn.said), turn.said
    (step,) = course(book, key).plan.steps
    assert [one.due_on for one in step.doses] == [
        today - timedelta(2), today + timedelta(5), today + timedelta(10),
    ]  # fmt: skip
    assert step.doses[0].state == "given"
    # The last day of feeding moves with it, and the day on which other feed is given again.
    (again,) = [one for one in course(book, key).plan.tasks if one.code == "feed_again"]
    assert again.on_day == today + timedelta(14)


def test_a_batch_that_was_missed_is_made_up_for_at_the_end(
    book: Book, act: Act, pond: UUID
) -> None:
    today = book.today(act.at)
    plan = planned(florfenicol(days=14, binder="gelatin"), first_day=today - timedelta(14))
    turn = turned(plan, (), today)
    (step,) = turn.plan.steps
    due = [one for one in step.doses if one.state == "due"]
    # Nothing is lost: all fourteen days are still to be fed, the short batch among them.
    assert sum(one.amount for one in due) == pytest.approx(12.6)
    assert sum(batch_days(step, one) for one in due) == 14
    assert min(one.due_on for one in due) >= today


def test_a_feed_course_ends(book: Book, act: Act, pond: UUID) -> None:
    key = kept(book, act, pond, planned(florfenicol(), first_day=book.today(act.at)))
    found = course(book, key)
    with book.writing(act) as writing:
        end_course(writing, key, found.rev, "stopped", "they stopped eating")
    assert course(book, key).state == "stopped"
    assert promises(course(book, key), book.today(NOW)) == ()


# Its mix sheet


def test_the_mix_sheet_weighs_the_batches_of_the_plan() -> None:
    plan = two_in_a_feed(DAY)
    sheet = feed_mix(plan, DAY, "Alder Row")
    assert (sheet.batches, sheet.batch_days, sheet.last_days) == (3, 5, 4)
    for weighed, step in zip(sheet.weighed, plan.steps, strict=True):
        assert weighed.each.measured == step.doses[0].amount
        assert weighed.last.measured == step.doses[-1].amount
    assert "(the first of 3 batches)" in sheet.steps[1]
    # 45 kg × 1 % × 4 d of dry feed; the label names the substance, not the product.
    assert sheet.steps[-1].startswith("The last batch is for 4 d only: 1.8 kg of dry feed")
    assert any(line.startswith("florfenicol: ") for line in sheet.label)


def test_a_liquid_stands_on_the_mix_sheet_in_millilitres() -> None:
    wish = FeedWish(
        Medicine("florfenicol", 10.0, product=Product("solution", 10.0, "w/v", 1.1)),
        stock("45 kg"), 10, rate_percent=1.0,
    )  # fmt: skip
    sheet = feed_mix(planned(wish), DAY)
    assert sheet.weighed[0].each.said == "45 mL"
    assert sheet.weighed[0].total_g == pytest.approx(49.5)
    # 4.5 kg of feed, 49.5 g of solution, and 30 mL of oil of 0.92 g/mL for each kilogram.
    assert sheet.finished_kg == pytest.approx(4.5 + 0.0495 + 4.5 * 0.0276)


def test_a_course_of_baths_has_no_mix_sheet() -> None:
    bath = plan_course([StepWish("formalin", "pond_bath", 10.0)], hazards=["costia"], reason="",
                       water=WATER, first_day=DAY)  # fmt: skip
    with pytest.raises(BadInput, match="Nothing of this course is given with the feed"):
        feed_mix(bath, DAY)


# The owner's sheet


def sheet_text(plan: Plan) -> str:
    letterhead = Letterhead("The practice", "0100", "Alder Row", "lower pond", "Ada")
    return " ".join(as_text(owner_sheet(plan, letterhead, DAY)).split())


def test_the_owner_is_told_of_feed_and_of_no_bath() -> None:
    said = sheet_text(planned(florfenicol(days=14, binder="gelatin", share="owner")))
    assert "10 mg for each kilogram of fish a day, 1000 mg in each kilogram of feed" in said
    assert "You: Batch 3 of 3 of florfenicol: 3.6 g in 1.8 kg (1800 g) of dry feed" in said
    assert "Feed it for 4 days, 450 g of dry feed a day." in said
    assert "Feed it little by little" in said
    for bath in ("litres", "L of water", "watering can", "bucket", "Do not feed", "mg/L"):
        assert bath not in said
    assert "Dose of florfenicol, instructions: US Food and Drug Administration" in said


def test_a_sheet_never_says_that_a_dose_rests_on_one_that_gives_another() -> None:
    wish = FeedWish(Medicine("trimethoprim_sulfadiazine", 2.0), stock("45 kg"), 14,
                    rate_percent=1.0, share="owner")  # fmt: skip
    said = sheet_text(planned(wish))
    assert "of which another dose is published here" in said
    assert "Dose of potentiated" not in said


def test_the_last_day_is_the_last_on_which_it_is_fed(book: Book, act: Act, pond: UUID) -> None:
    """The withdrawal counts from there, and so does what the pond had lately."""
    today = book.today(act.at)
    plan = planned(florfenicol(days=14, binder="gelatin"), first_day=today - timedelta(10))
    key = kept(book, act, pond, plan)
    log(book, act, key, 1, 3, 3.6)
    (one,) = agents_given(book, today, pond)[pond]
    # The third batch is for four days.
    assert (one.fed, one.last_day) == (True, today + timedelta(3))
    found = course(book, key)
    with book.writing(act) as writing:
        end_course(writing, key, found.rev, "stopped", "fish well")
    (had,) = beside(book, pond, today + timedelta(20)).last
    assert had.on_day == today + timedelta(3)
    # A later bath is judged beside it, and nothing of it is taken to be in the water.
    bath = plan_course([StepWish("trichlorfon", "pond_bath", 0.25)], hazards=["gill_flukes"],
                       reason="", water=WATER, first_day=today + timedelta(20))  # fmt: skip
    assert {one.code for one in cautions(bath, last=(had,))} == {one.code for one in cautions(bath)}
