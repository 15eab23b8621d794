"""Deaths and the suspicion of a notifiable disease, over ponds made without a book.

The case of koi dying beside well goldfish at 22 °C rests on Yuasa et al. 2008 (days from contact
to deaths) and on the published windows of koi herpesvirus disease; the points and the numbers of
deaths are common practice.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as some

from store.facts.dead_fish import PARTS, read_sayings, sayings
from store.facts.entry import file_tables
from store.facts.hazards import hazards
from store.facts.signs import signs
from store.facts.sources import source_standings
from store.watch.concern import Concern
from store.watch.judge import judge, rule_set
from store.watch.kinds import KINDS
from store.watch.kinds.suspicion import suspected_by
from store.watch.lost import Died, Losses, Named, Shown
from store.watch.rule import Finding
from store.watch.rulebook import published
from store.watch.said import said_from_packed
from store.watch.seen import Circumstance, PondSeen
from store.watch.stock import Count, Move, ledger
from store.watch.suspected import days_to_death, suspect, windows_said
from tests.watch.ponds import TODAY, ZONE, days_ago, pond

STOCK = "26 koi, 40 goldfish"
GILLS = ("gills_mottled", "sunken_eyes")


def ago(days: int) -> date:
    return TODAY - timedelta(days=days)


def koi(*dead: tuple[int, int], signs: tuple[str, ...] = ()) -> tuple[Died, ...]:
    return tuple(Died(ago(days), "koi", number, signs) for days, number in dead)


def with_losses(
    losses: Losses | None, *happened: tuple[str, int], temp_c: float | None = 22.0
) -> PondSeen:
    tests = [days_ago(day, temperature_c=temp_c) for day in range(9)] if temp_c is not None else []
    seen = pond(
        *tests,
        circumstances=tuple(Circumstance(kind, ago(days), None, "") for kind, days in happened),
    )
    seen.losses = losses
    return seen


def found(code: str, seen: PondSeen) -> Finding | None:
    rule = published()[code]
    return KINDS[rule.kind].find(rule, seen, TODAY)


def told(code: str, seen: PondSeen) -> Concern:
    rule = published()[code]
    finding = found(code, seen)
    assert finding is not None
    return KINDS[rule.kind].tell(rule, seen, finding, said_from_packed(ZONE), TODAY)


def everything(concern: Concern) -> str:
    return "\n".join(
        (concern.what, concern.title, *concern.arithmetic, *concern.readings, *concern.remarks,
         concern.advice, concern.source, concern.standing)
    )  # fmt: skip


def dying_koi(temp_c: float | None = 22.0, signs: tuple[str, ...] = GILLS) -> PondSeen:
    return with_losses(
        Losses(koi((0, 2), (1, 4), (2, 3), (3, 2), signs=signs), stock=STOCK,
               counts=(Count(ago(19), "koi", 26, "counted"),)),
        ("new_fish", 19), temp_c=temp_c,
    )  # fmt: skip


# --- the suspicion ---


def test_koi_dying_beside_well_goldfish_are_a_suspicion() -> None:
    concern = told("suspected_khv", dying_koi())
    assert (concern.level, concern.what) == ("act", "STOP: koi herpesvirus disease?")
    assert len(concern.what) <= 34
    said = everything(concern)
    for part in (
        "no movement of fish, water or nets",
        "competent authority",
        "local law",
        "before any treatment",
        "last of the day or alone",
        "not shared",
    ):
        assert part in said, part
    for window in (
        "15 to 28",
        "16 to 28",
        "17 to 28",
        "18 to 28",
        "22 to 27",
        "16 to 25",
        "20 to 29.4",
    ):
        assert f"{window} °C" in said, window
    assert "confirmed" not in said.casefold()
    assert not any(digits in said for digits in ("+44", "0345", "0300", "112"))
    assert "21 to 52 d at 16 °C, 5 to 20 d at 23 °C" in said
    assert "fish came on 29 May 2026" in said
    assert concern.since == ago(3)
    assert not any(one.endswith(".") for one in concern.arithmetic)


def test_a_suspicion_stands_before_everything_else() -> None:
    seen = dying_koi()
    verdict = judge(rule_set(published().values()), seen, TODAY)
    assert verdict.level == "act"
    assert verdict.speaking[0][0].code == "suspected_khv"
    assert {"deaths", "suspected_khv"} <= {rule.code for rule, _ in verdict.speaking}


def test_what_a_suspicion_is_made_of() -> None:
    few = with_losses(Losses(koi((1, 1)), stock="26 koi"))
    assert found("suspected_khv", few) is None
    contact = with_losses(Losses(koi((1, 1)), stock="26 koi"), ("new_fish", 10))
    assert found("suspected_khv", contact).level == "watch"
    gills = with_losses(Losses(koi((1, 1), signs=("gills_mottled",)), stock="26 koi"))
    assert found("suspected_khv", gills).level == "act"
    both = with_losses(Losses(koi((1, 1), (0, 1)), stock=STOCK), ("new_fish", 10))
    assert found("suspected_khv", both).level == "act"
    two_signs = with_losses(
        Losses(koi((1, 1), signs=("sunken_eyes", "notched_nose")), stock="26 koi")
    )
    assert found("suspected_khv", two_signs).level == "watch"


def test_goldfish_do_not_raise_koi_herpesvirus_and_other_deaths_speak_against_it() -> None:
    goldfish = with_losses(
        Losses((Died(ago(1), "goldfish", 5, GILLS),), stock=STOCK), ("new_fish", 10)
    )
    assert found("suspected_khv", goldfish) is None
    mixed = dying_koi()
    died = (*mixed.losses.died, Died(ago(1), "goldfish", 2))
    mixed.losses = Losses(died, stock=STOCK)
    concern = told("suspected_khv", mixed)
    assert any("Against it: Others died too (goldfish)" in one for one in concern.remarks)
    assert found("suspected_khv", mixed).value == found("suspected_khv", dying_koi()).value - 1


def test_cold_water_clears_no_pond_and_unknown_water_neither() -> None:
    cold = told("suspected_khv", dying_koi(temp_c=11.0))
    assert cold.level == "watch"
    assert "clears no pond" in everything(cold)
    assert told("suspected_khv", dying_koi(temp_c=None)).level == "act"


def test_a_named_hazard_is_enough_and_is_forgotten_after_its_days() -> None:
    named = Losses(named=(Named(ago(2), "khv", "a laboratory reported it detected"),))
    concern = told("suspected_khv", with_losses(named, temp_c=9.0))
    assert concern.level == "act"
    assert "a laboratory reported it detected" in everything(concern)
    old = Losses(named=(Named(ago(61), "khv", "suspected at an examination"),))
    assert found("suspected_khv", with_losses(old)) is None


def test_live_fish_with_the_leading_sign_are_watched_and_with_new_fish_acted_on() -> None:
    shown = Losses(shown=(Shown(ago(1), "koi", ("gills_mottled",)),), stock="koi")
    assert found("suspected_khv", with_losses(shown)).level == "watch"
    assert found("suspected_khv", with_losses(shown, ("new_fish", 12))).level == "act"
    goldfish = Losses(shown=(Shown(ago(1), "goldfish", ("gills_mottled",)),), stock=STOCK)
    assert found("suspected_khv", with_losses(goldfish)) is None


def test_spring_viraemia_is_worded_alike_and_unlisted_viruses_are_never_a_stop() -> None:
    signs_seen = ("bulging_eyes", "swollen_belly", "bleeding")
    seen = with_losses(Losses(koi((1, 3), signs=signs_seen), stock="koi, sturgeon"), temp_c=12.0)
    concern = told("suspected_svc", seen)
    assert (concern.level, concern.what) == ("act", "STOP: spring viraemia of carp?")
    assert "confirmed" not in everything(concern).casefold()
    kinds = {rule.hazard for rule in published().values() if rule.kind == "suspicion"}
    assert kinds == {code for code, one in hazards().items() if one.notifiable}
    for code in ("sleepy_disease", "goldfish_herpesvirus"):
        assert hazards()[code].suspicion is None
        assert "authority" not in hazards()[code].response


@pytest.mark.parametrize(
    ("water", "span"),
    [((16.0, 16.0), (21, 52)), ((22.0, 22.0), (5, 52)), ((24.0, 26.0), (5, 20)),
     ((30.0, 30.0), (7, 14)), ((12.0, 12.0), (21, 60)), ((None, None), (5, 52))],
)  # fmt: skip
def test_days_from_contact_to_deaths_by_temperature(
    water: tuple[float | None, float | None], span: tuple[float, float]
) -> None:
    """Yuasa et al. 2008: 21-52 d at 16 °C, 5-20 d at 23 °C, 7-14 d at 28 °C; none averaged."""
    found_span = days_to_death("khv", *water, 60.0)
    assert (found_span.low_days, found_span.high_days) == span
    assert days_to_death("svc", *water, 60.0) is None


def test_the_widest_window_takes_what_is_published_and_nothing_handed_on() -> None:
    assert hazards()["khv"].widest == (15.0, 28.0)
    assert hazards()["svc"].widest == (5.0, 20.0)
    assert windows_said(hazards()["svc"]).count("°C") == 5


def test_signs_and_words_of_a_suspicion_are_known() -> None:
    for hazard in hazards().values():
        if hazard.suspicion is not None:
            assert {*hazard.suspicion.leading_signs, *hazard.suspicion.signs} <= signs().keys()
    khv, svc = hazards()["khv"].suspicion, hazards()["svc"].suspicion
    for name in ("Koi", "ghost carp", "31 koi, 42 kg", "common carp", "2 mirror carps"):
        assert khv.concerns(name), name
    for name in ("goldfish", "grass carp", "crucian carp", "", "orfe"):
        assert not khv.concerns(name), name
    assert svc.concerns("goldfish")


# --- the deaths ---


def test_deaths_by_number_and_share() -> None:
    cool = 3.0  # outside every window
    assert found("deaths", with_losses(Losses(koi((1, 0))), temp_c=cool)) is None
    assert found("deaths", with_losses(Losses(koi((1, 1))), temp_c=cool)).level == "calm"
    assert found("deaths", with_losses(Losses(koi((1, 1), (3, 1))), temp_c=cool)).level == "watch"
    assert found("deaths", with_losses(Losses(koi((1, 1), (9, 1))), temp_c=cool)).level == "calm"
    assert found("deaths", with_losses(Losses(koi((1, 5))), temp_c=cool)).level == "act"
    many = (Count(ago(30), "koi", 2000, "estimated"),)
    few = Losses(koi((1, 6)), counts=many, moves=(Move(ago(1), "died", 6, "koi"),))
    assert found("deaths", with_losses(few, temp_c=cool)).level == "calm"  # 0.3 % a week
    more = Losses(koi((1, 31)), counts=many)
    concern = told("deaths", with_losses(more, temp_c=cool))
    assert concern.level == "act"
    assert "31 / 2000 fish × 100 = 1.6 %, by the head count of 18 May 2026" in everything(concern)
    assert "Oliveira" not in concern.source


def test_deaths_in_the_window_of_a_notifiable_disease_rise_by_one() -> None:
    one = Losses(koi((1, 1)), stock=STOCK)
    assert found("deaths", with_losses(one, temp_c=3.0)).level == "calm"
    raised = told("deaths", with_losses(one, temp_c=22.0))
    assert raised.level == "watch"
    assert "koi herpesvirus disease, 15 to 28 °C" in everything(raised)
    two = Losses(koi((1, 2)), stock=STOCK)
    assert found("deaths", with_losses(two, temp_c=22.0)).level == "act"
    sturgeon = Losses((Died(ago(1), "sturgeon", 1),), stock="sturgeon")
    assert found("deaths", with_losses(sturgeon, temp_c=22.0)).level == "calm"


def test_the_hose_comes_first_and_a_power_cut_is_linked() -> None:
    dead = Losses(koi((1, 4)), stock=STOCK)
    concern = told("deaths", with_losses(dead, ("power_cut", 2), ("topped_up", 1), temp_c=3.0))
    asked = [one for one in concern.remarks if one.startswith("Ask: ")]
    assert "hose" in asked[0]
    assert "hose" in concern.advice
    linked = [one for one in concern.remarks if "within a day of deaths" in one]
    assert len(linked) == 2
    assert "power cut" in linked[0]
    before = told("deaths", with_losses(dead, ("power_cut", 3), temp_c=3.0))
    assert not any("within a day of deaths" in one for one in before.remarks)


def test_a_death_without_a_number_is_one() -> None:
    unsaid = Losses((Died(ago(0), "", None),), stock="")
    concern = told("deaths", with_losses(unsaid, temp_c=3.0))
    assert concern.value == 1.0
    assert any("without a number" in one for one in concern.remarks)


def test_sayings_have_their_parts_and_mistakes_are_told() -> None:
    assert all(sayings(part) for part in PARTS)
    assert [one.code for one in sayings("ask")][:2] == ["hose", "power"]
    raw = {name: dict(table) for name, table in file_tables("dead_fish.toml").items()}
    raw["hose"]["part"] = "tell"
    _, findings = read_sayings(raw, source_standings())
    assert len(findings) == 1
    assert "it must be one of" in str(findings[0])


# --- the ledger ---


def test_the_stock_is_the_count_less_what_went_and_what_came() -> None:
    counts = [Count(ago(40), "koi", 30, "told"), Count(ago(19), "Koi", 26, "counted"),
              Count(ago(19), "goldfish", 40, "estimated")]  # fmt: skip
    moves = [Move(ago(25), "died", 4, "koi"), Move(ago(10), "added", 6, "koi"),
             Move(ago(3), "died", 2, "koi"), Move(ago(2), "removed", 1, "goldfish"),
             Move(ago(1), "died", 3, "")]  # fmt: skip
    stock = ledger(counts, moves, TODAY)
    assert stock.of("koi").fish == 30
    assert stock.of("KOI").counted_on == ago(19)
    assert stock.of("goldfish").fish == 39
    assert stock.total == 66
    assert any("in the total alone" in one for one in stock.remarks)
    assert ledger(counts, moves, ago(20)).of("koi").fish == 26
    back = ledger(counts[1:2], moves, ago(26)).of("koi")
    assert (back.back, back.fish) == (True, 30)
    assert ledger([], moves, TODAY).total is None


def test_what_was_counted_as_a_whole_takes_every_kind() -> None:
    stock = ledger([Count(ago(9), "", 66)], [Move(ago(3), "died", 2, "koi"),
                                             Move(ago(2), "died", None, "")], TODAY)  # fmt: skip
    assert stock.lines[0].fish == 64
    assert stock.total is None
    assert "was not said" in stock.lines[0].doubt


MOVES = some.lists(
    some.builds(
        Move,
        some.integers(0, 30).map(ago),
        some.sampled_from(["died", "removed", "added"]),
        some.one_of(some.none(), some.integers(0, 20)),
        some.sampled_from(["koi", "goldfish", ""]),
    ),
    max_size=12,
)
COUNTS = some.lists(
    some.builds(Count, some.integers(0, 30).map(ago), some.sampled_from(["koi", "goldfish", ""]),
                some.integers(0, 60)),
    max_size=5,
)  # fmt: skip


@given(COUNTS, MOVES, some.integers(0, 30))
def test_a_stock_below_nothing_is_never_told_without_a_doubt(
    counts: list[Count], moves: list[Move], days: int
) -> None:
    stock = ledger(counts, moves, ago(days))
    for line in stock.lines:
        assert line.fish >= 0 or line.doubt
    assert stock.total is None or stock.total >= 0
    assert bool(stock.lines) == bool(counts)


@given(
    some.lists(
        some.builds(
            Died, some.integers(0, 30).map(ago), some.sampled_from(["koi", "goldfish", ""]),
            some.integers(0, 9), some.sampled_from([(), GILLS]),
        ),
        max_size=8,
    ),
    some.sampled_from([None, 9.0, 22.0]),
    some.booleans(),
)  # fmt: skip
def test_what_is_found_can_be_told_and_more_deaths_never_lower_it(
    died: list[Died], temp_c: float | None, came: bool
) -> None:
    happened = (("new_fish", 15),) if came else ()
    losses = Losses(tuple(died), stock=STOCK) if died else None
    seen = with_losses(losses, *happened, temp_c=temp_c)
    for code in ("deaths", "suspected_khv", "suspected_svc"):
        finding = found(code, seen)
        if finding is None:
            continue
        assert "confirmed" not in everything(told(code, seen)).casefold()
        assert losses is not None
        more = with_losses(
            Losses((*died, Died(ago(0), "koi", 3, GILLS)), stock=STOCK), *happened, temp_c=temp_c
        )
        if code == "suspected_khv":
            assert found(code, more).value >= finding.value


def test_only_a_notifiable_hazard_can_be_suspected() -> None:
    rule = published()["suspected_khv"]
    assert suspected_by(rule, with_losses(None), TODAY) is None
    from store.watch.kinds.suspicion import settings_of_suspicion

    flukes = hazards()["gill_flukes"]
    assert suspect(flukes, dying_koi(), TODAY, settings_of_suspicion(rule)) is None
