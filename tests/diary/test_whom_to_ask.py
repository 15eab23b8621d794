"""Whom to ask for a thermometer reading: what a reading decides, and what is left out."""

from __future__ import annotations

import math
import random
from datetime import date, time, timedelta
from uuid import UUID

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.book.visits import plan_visit
from store.courses.kept.morning import LOOK
from store.diary.desk.about import About, about_of
from store.diary.desk.ask import AskLine, AskList
from store.diary.desk.due import Outcome, Promised
from store.diary.kept.due import whom_to_ask as module
from store.diary.kept.due.whom_to_ask import whom_to_ask
from store.diary.kept.promised.attempts import log_attempt, strike_attempt
from store.errors import BadInput
from store.facts.asking import FILE, NUMBERS, asking_numbers, read_asking_numbers
from store.facts.entry import file_tables
from store.facts.sources import source_standings
from store.warmth.asking import Stake, greatest_chance, most_worth, worth_asking
from store.warmth.estimate import EIGHTY, Ahead
from store.watch.rulebook import change_rule
from store.water.given import figures
from store.water.line import understand
from store.water.understood import KitForms
from store.water.water_tests import NewTest, save_test
from tests.diary.ponds_at_an_edge import AT_EDGE, add_ponds_at_an_edge

TODAY = date(2026, 3, 14).toordinal()
LEAST, THERMOMETER_C = 0.1, 0.5
KEY = UUID(int=1)


def ahead(*means_c: float, spread_c: float = 1.0) -> Ahead:
    """Today and the days after it; two days before it lie far off and are not looked at."""
    return Ahead(TODAY - 2, TODAY, [99.0, 99.0, *means_c], [0.01, 0.01] + [spread_c] * len(means_c))


def worth(estimate: Ahead, *stakes: Stake, waiting: float = 0.0) -> float:
    found = worth_asking(
        KEY, estimate, stakes, least_chance=LEAST, thermometer_c=THERMOMETER_C, waiting=waiting
    )
    return 0.0 if found is None else found.worth


def stake(low_c: float, high_c: float = math.inf, weight: float = 1.0, days: int = 7) -> Stake:
    return Stake(f"{low_c:g}", low_c, high_c, days, weight)


# The standard normal below 1 is 0.8413, below 0.5 is 0.6915, below 1.2816 is 0.9 (tables of it).


def test_what_a_reading_decides_by_hand() -> None:
    assert worth(ahead(15.0), stake(15.0)) == pytest.approx(0.5)
    assert worth(ahead(14.0), stake(15.0)) == pytest.approx(0.1587, abs=1e-4)
    assert worth(ahead(16.0), stake(15.0)) == pytest.approx(0.1587, abs=1e-4)
    # 0.8413 - 0.1587 inside 14 to 16: what is left is decided.
    assert worth(ahead(15.0), stake(14.0, 16.0)) == pytest.approx(0.3173, abs=1e-4)
    assert worth(ahead(15.0), stake(15.0, weight=3.0)) == pytest.approx(1.5)
    two = worth(ahead(15.0), stake(15.0), stake(14.5, weight=2.0))
    assert two == pytest.approx(0.5 + 2.0 * 0.3085, abs=1e-4)


def test_the_greatest_chance_of_today_and_the_days_ahead_counts() -> None:
    rising = ahead(13.0, 13.5, 14.5, spread_c=1.0)
    assert greatest_chance(rising, 15.0, math.inf, 2) == pytest.approx(
        (0.3085, TODAY + 2), abs=1e-4
    )
    assert greatest_chance(rising, 15.0, math.inf, 0) == pytest.approx((0.0228, TODAY), abs=1e-4)
    assert greatest_chance(rising, 15.0, math.inf, 99)[1] == TODAY + 2
    assert greatest_chance(ahead(10.0, 10.0), 5.0, 15.0, 1)[1] == TODAY  # the first of several
    assert worth(rising, stake(15.0, days=2)) == pytest.approx(0.3085, abs=1e-4)
    assert worth(rising, stake(15.0, days=0)) == 0.0


def test_what_is_known_is_not_asked_for() -> None:
    edge = EIGHTY  # so many deviations from the end the chance is one in ten
    assert worth(ahead(15.0 - edge + 0.001), stake(15.0)) > 0.0
    assert worth(ahead(15.0 - edge - 0.001), stake(15.0)) == 0.0
    assert worth(ahead(15.0 + edge + 0.001), stake(15.0)) == 0.0
    # An interval no wider than a thermometer is off: 0.39 × 1.2816 = 0.4998.
    assert worth(ahead(15.0, spread_c=0.39), stake(15.0)) == 0.0
    assert worth(ahead(15.0, spread_c=0.40), stake(15.0)) == pytest.approx(0.5)
    assert worth(ahead(15.0, spread_c=0.39), waiting=2.0) == 0.0


def test_what_waits_for_the_temperature_counts_as_at_the_edge() -> None:
    assert worth(ahead(8.0), stake(15.0), waiting=2.0) == pytest.approx(1.0)
    assert worth(ahead(8.0), stake(15.0)) == 0.0


def test_a_pond_far_from_every_window_is_never_asked_and_the_order_rests_on_the_ponds_alone() -> (
    None
):
    rng = random.Random(7)
    stakes = [stake(15.0, 28.0, 2.0), stake(20.0), stake(-math.inf, 4.0)]
    found = []
    for key in range(200):
        mean_c, spread_c = rng.uniform(0.0, 30.0), rng.uniform(0.2, 2.5)
        days = [mean_c + rng.uniform(-0.2, 0.2) for _ in range(8)]
        one = worth_asking(
            UUID(int=key), ahead(*days, spread_c=spread_c), stakes,
            least_chance=LEAST, thermometer_c=THERMOMETER_C,
        )  # fmt: skip
        ends = [15.0, 28.0, 20.0, 4.0]
        if min(abs(day - end) for day in days for end in ends) > 1.3 * spread_c:
            assert one is None, (days, spread_c)
        # What is passed over quickly is what the chances themselves say.
        shares = []
        for each in stakes:
            chance, _ = greatest_chance(ahead(*days, spread_c=spread_c), each.low_c, each.high_c, 7)
            share = min(chance, 1.0 - chance)
            shares.append(each.weight * share if share >= LEAST else 0.0)
        known = EIGHTY * spread_c <= THERMOMETER_C
        assert (0.0 if one is None else one.worth) == pytest.approx(0.0 if known else sum(shares))
        if one is not None:
            assert 0.0 < one.worth <= 0.5 * sum(each.weight for each in stakes)
            assert [it.worth for it in one.decides] == sorted(
                (it.worth for it in one.decides), reverse=True
            )
            found.append(one)
    assert 20 < len(found) < 180
    first = most_worth(found, 5)
    for _ in range(20):
        rng.shuffle(found)
        assert most_worth(found, 5) == first
    # What is worth the same is told apart by the pond's key.
    same = [one._replace(pond=UUID(int=n), worth=0.5) for n, one in enumerate(found)]
    rng.shuffle(same)
    assert [one.pond.int for one in most_worth(same, 3)] == [0, 1, 2]


def test_numbers_stand_with_their_source() -> None:
    numbers = asking_numbers()
    assert numbers.keys() == NUMBERS.keys()
    assert {one.standing for one in numbers.values()} == {"common practice"}
    raw = {name: dict(one) for name, one in file_tables(FILE)["number"].items()}
    raw["raised"] |= {"value": 0.0}
    raw["course"] |= {"unit": "°C"}
    raw["more"] = raw.pop("usual")
    _, findings = read_asking_numbers(raw, source_standings())
    assert {one.entry for one in findings} == {"raised", "course", "more", "usual"}


# --- out of a book --------------------------------------------------------------------------------


@pytest.fixture
def ponds(sqlite_book: Book, act: Act) -> dict[str, UUID]:
    """Two of six ponds were not read lately and may lie at 15 °C, where gill flukes begin."""
    return add_ponds_at_an_edge(sqlite_book, act)


def asked(book: Book, act: Act, most: int = 5) -> AskList:
    return whom_to_ask(book, act.at, most)


def names(listed: AskList) -> list[str]:
    return [one.pond for one in listed.lines]


def test_a_book_asks_where_nobody_has_read_and_the_edge_is_near(
    sqlite_book: Book, act: Act, ponds: dict[str, UUID]
) -> None:
    listed = asked(sqlite_book, act)
    assert listed.learnt
    assert listed.asked == 0
    first = listed.lines[0]
    assert {*names(listed)[:2]} == {*AT_EDGE}
    assert [one.worth for one in listed.lines] == sorted(
        (one.worth for one in listed.lines), reverse=True
    )
    assert asked(sqlite_book, act, 1).lines == (first,)
    assert about_of(first.about) == About("ask", first.pond_id)
    assert first.phone.startswith("01632 9600")
    assert first.low_c < first.mean_c < first.high_c
    assert first.last_on == date(2026, 3, 2)
    assert sum(one.worth for one in first.undecided) == pytest.approx(first.worth)
    khv = next(one for one in first.undecided if one.rule.endswith("khv"))
    assert (khv.band, khv.weight, khv.weighs) == ("15 to 28 °C", 2.0, "must be reported")
    said = f"By estimate about {first.mean_c:.1f} °C, {first.low_c:.1f} to {first.high_c:.1f}; last"
    assert first.because.startswith(f"{said} read 12 days ago, {first.last_c:.1f} °C.")
    assert "Chance of lying in the window of" in first.because
    assert first.weighed.endswith(f"together {figures(first.worth, 2)}")
    with pytest.raises(BadInput):
        asked(sqlite_book, act, 0)


def test_what_is_at_stake_silent_or_read_today_moves_the_list(
    sqlite_book: Book, act: Act, ponds: dict[str, UUID]
) -> None:
    book = sqlite_book
    before = {one.pond: one for one in asked(book, act).lines}
    behind = names(asked(book, act))[1]
    flukes = next(one for one in before[behind].undecided if one.name == "gill flukes")
    assert (flukes.weight, flukes.weighs) == (1.0, "")
    with book.writing(act) as writing:
        record_event(writing, ponds[behind], "new_fish", date(2026, 3, 10))
        plan_visit(writing, ponds[behind], date(2026, 3, 14), staff_id=act.by, at_time=time(10))
    after = next(one for one in asked(book, act).lines if one.pond == behind)
    raised = [one for one in after.undecided if one.weight == 3.0]
    assert raised
    assert all(one.weighs for one in raised)
    assert after.worth > before[behind].worth
    assert (after.going, after.going_at) == ("Ada Vet", time(10))

    # A rule that is silenced says nothing, and so nothing of it is asked.
    change_rule(book, act, flukes.rule, params={}, why="told often enough", enabled=False)
    silenced = {one.pond: one for one in asked(book, act).lines}
    assert all(flukes.rule != one.rule for line in silenced.values() for one in line.undecided)

    # What was read today is not asked for, and its neighbour is known better.
    read_c = round(after.mean_c + 1.5, 1)
    taken = Act(act.by, act.at - timedelta(minutes=5))
    understood = understand(f"temp {read_c}", kit=KitForms(), now=act.at, zone=book.zone)
    save_test(book, act, ponds[behind], NewTest(taken.at, understood.readings, way="line"))
    last = {one.pond: one for one in asked(book, act).lines}
    assert behind not in last
    other = next(one for one in AT_EDGE if one != behind)
    assert last[other].mean_c > silenced[other].mean_c + 0.05


def test_who_was_asked_today_is_not_asked_again(book: Book, act: Act) -> None:
    add_ponds_at_an_edge(book, act)
    first, second, *_ = asked(book, act).lines

    def log(line: AskLine, outcome: Outcome, on: date | None = None) -> UUID:
        with book.writing(act) as writing:
            return log_attempt(
                writing, line.client_id, outcome, pond_id=line.pond_id, about=line.about, ring_on=on
            )

    log(first, "no answer")
    listed = asked(book, act, 20)
    assert names(listed)[-1] == first.pond  # behind all others
    assert listed.lines[-1].attempts == 1
    key = log(first, "left word")
    log(second, "ring back", date(2026, 3, 14))
    listed = asked(book, act, 20)
    assert listed.asked == 2
    assert not {first.pond, second.pond} & {*names(listed)}
    with book.writing(act) as writing:
        strike_attempt(writing, key, "taken back")
    assert first.pond in names(asked(book, act, 20))
    assert whom_to_ask(book, act.at + timedelta(days=1)).asked == 0


def test_a_course_that_waits_for_the_temperature_is_at_stake(
    sqlite_book: Book, act: Act, ponds: dict[str, UUID], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Told where it cannot be said whether the doses still meet what hatches."""
    before = {one.pond: one.worth for one in asked(sqlite_book, act, 20).lines}
    day, pool = date(2026, 3, 14), ponds["pool"]
    turn = Promised(
        str(About("turn", KEY)), "turn", KEY, None, pool, LOOK,
        "Course: formalin against white spot. Nobody knows.", "course", "", None, day, day, day, "vet",
    )  # fmt: skip
    monkeypatch.setattr(module, "from_courses", lambda *_: iter([turn]))
    with sqlite_book.writing(act) as writing:  # something of a pond is written meanwhile
        record_event(writing, pool, "water_changed", day)
    after = {one.pond: one for one in asked(sqlite_book, act, 20).lines}
    course = asking_numbers()["course"].value
    assert after["pool"].worth == pytest.approx(before["pool"] + 0.5 * course)
    assert after["tarn"].worth == pytest.approx(before["tarn"])
    assert "A course waits for the water's temperature: formalin against" in after["pool"].because
    assert "course 0.5 × 2 = 1; together" in after["pool"].weighed


def test_without_anything_learnt_nobody_is_asked(sqlite_book: Book, act: Act) -> None:
    assert whom_to_ask(sqlite_book, act.at) == AskList(act.at, date(2026, 3, 14), (), 0, False)
