"""Public holidays against the laws that set them, and countries by the names people type.

England and Wales: Banking and Financial Dealings Act 1971, schedule 1 (Easter Monday, the last
Monday in May and in August, 26 December if it is no Sunday, 27 December in a year in which the 25th
or 26th is a Sunday), and the royal proclamations under section 1(3) since 1974 and 1978: New Year's
Day or its substitute, and the first Monday in May. Easter is reckoned by python-dateutil
(Meeus, Astronomical Algorithms, 1991, chapter 8), not by the library that is checked.
"""

from __future__ import annotations

import warnings
from datetime import date, timedelta

import pytest
from dateutil.easter import easter
from hypothesis import given, settings
from hypothesis import strategies as st

from store.diary.times.public_holidays import (
    country_code,
    holidays_between,
    region_code,
    regions,
    years_known,
)
from store.diary.times.repeats import days_of
from store.errors import BadInput


def of_year(country: str, region: str, year: int) -> set[date]:
    return set(holidays_between(country, region, date(year, 1, 1), date(year, 12, 31)))


def nth(rule: str, year: int) -> date:
    first, last = date(year, 1, 1), date(year, 12, 31)
    return days_of(f"FREQ=YEARLY;{rule}", date(year - 1, 1, 1), first, last)[0]


def weekday_from(day: date, taken: set[date]) -> date:
    """The day itself, or the next one that is neither a weekend nor taken."""
    while day.weekday() > 4 or day in taken:
        day += timedelta(days=1)
    return day


def bank_holidays(year: int) -> set[date]:
    """The days on which banks rest in England and Wales, substitutes in place of weekends."""
    christmas = {weekday_from(date(year, 12, 25), set())}
    boxing = weekday_from(date(year, 12, 26), christmas)
    if date(year, 12, 25).weekday() == 6:  # the 26th stays, the substitute of Sunday is the 27th
        christmas, boxing = {date(year, 12, 27)}, date(year, 12, 26)
    return {
        weekday_from(date(year, 1, 1), set()),
        easter(year) - timedelta(days=2),
        easter(year) + timedelta(days=1),
        nth("BYMONTH=5;BYDAY=1MO", year),
        nth("BYMONTH=5;BYDAY=-1MO", year),
        nth("BYMONTH=8;BYDAY=-1MO", year),
        *christmas,
        boxing,
    }


# Years moved or added to by a proclamation of their own: 1995 and 2020 (VE Day), 1999 (the
# millennium), 1981, 2002, 2011, 2012, 2022 and 2023 (royal occasions).
PROCLAIMED = {1981, 1995, 1999, 2002, 2011, 2012, 2020, 2022, 2023}


@pytest.mark.parametrize("region", ["ENG", "WLS"])
@pytest.mark.parametrize("year", [year for year in range(1979, 2036) if year not in PROCLAIMED])
def test_bank_holidays_of_england_and_wales(region: str, year: int) -> None:
    found = {day for day in of_year("GB", region, year) if day.weekday() < 5}
    assert found == bank_holidays(year)


@pytest.mark.parametrize(
    ("day", "region"),
    [
        ("1981-07-29", "ENG"), ("1995-05-08", "ENG"), ("2020-05-08", "ENG"),  # in place of the first Monday in May
        ("1999-12-31", "ENG"), ("2002-06-03", "ENG"), ("2002-06-04", "ENG"), ("2011-04-29", "ENG"),
        ("2012-06-04", "ENG"), ("2012-06-05", "ENG"), ("2022-06-02", "ENG"), ("2022-06-03", "ENG"),
        ("2022-09-19", "ENG"), ("2023-05-08", "ENG"),
        # The Act's part for Scotland: 2 January, and the first Monday in August.
        ("2026-01-02", "SCT"), ("2026-08-03", "SCT"), ("2026-11-30", "SCT"),
        # Northern Ireland: 17 March, and since 1926 the twelfth of July or its substitute.
        ("2026-03-17", "NIR"), ("2026-07-13", "NIR"),
    ],
)  # fmt: skip
def test_proclaimed_days_and_those_of_other_parts(day: str, region: str) -> None:
    assert date.fromisoformat(day) in of_year("GB", region, int(day[:4]))


def test_days_of_one_part_are_not_those_of_another() -> None:
    assert date(2026, 3, 17) not in of_year("GB", "ENG", 2026)
    assert date(2026, 4, 6) not in of_year("GB", "SCT", 2026)  # Easter Monday
    # The first Monday in May moved in 2020: the fourth was a working day.
    assert date(2020, 5, 4) not in of_year("GB", "ENG", 2020)


@pytest.mark.parametrize("year", range(2000, 2036))
def test_federal_holidays_of_the_united_states(year: int) -> None:
    """Title 5 of the United States Code, section 6103(a): days set by their weekday."""
    found = of_year("US", "", year)
    for rule in ("BYMONTH=1;BYDAY=3MO", "BYMONTH=2;BYDAY=3MO", "BYMONTH=5;BYDAY=-1MO",
                 "BYMONTH=9;BYDAY=1MO", "BYMONTH=10;BYDAY=2MO", "BYMONTH=11;BYDAY=4TH"):  # fmt: skip
        assert nth(rule, year) in found
    assert {date(year, 7, 4), date(year, 12, 25), date(year, 1, 1), date(year, 11, 11)} <= found
    assert (date(year, 6, 19) in found) is (year >= 2021)  # Public Law 117-17


@pytest.mark.parametrize("year", range(1996, 2036))
def test_holidays_of_germany_and_bavaria(year: int) -> None:
    """Feiertagsgesetze; those of all of Germany hang on Easter or on their date."""
    moving = {easter(year) + timedelta(days=ahead) for ahead in (-2, 1, 39, 50)}
    fixed = {date(year, *day) for day in ((1, 1), (5, 1), (10, 3), (12, 25), (12, 26))}
    reformation = {date(2017, 10, 31)} if year == 2017 else set()  # once in all of Germany
    assert of_year("DE", "", year) == moving | fixed | reformation
    bavarian = {date(year, 1, 6), easter(year) + timedelta(days=60), date(year, 11, 1)}
    assert bavarian <= of_year("DE", "BY", year)


@pytest.mark.parametrize("year", range(2014, 2036))
def test_holidays_of_new_zealand_that_are_made_monday(year: int) -> None:
    """Holidays Act 2003, section 44, and section 45A of 2013: Waitangi and ANZAC Day move on."""
    found = of_year("NZ", "", year)
    for day in (date(year, 2, 6), date(year, 4, 25)):
        assert (
            weekday_from(day, {easter(year) + timedelta(days=1)} if day.weekday() > 4 else set())
            in found
        )
    assert nth("BYMONTH=6;BYDAY=1MO", year) in found
    assert nth("BYMONTH=10;BYDAY=4MO", year) in found


# --- countries -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("United Kingdom", "GB"), ("united  kingdom ", "GB"), ("UK", "GB"), ("U.K.", "GB"),
        ("GB", "GB"), ("gbr", "GB"), ("the United Kingdom", "GB"), ("Scotland", "GB"),
        ("England", "GB"), ("United States", "US"), ("USA", "US"), ("Georgia", "GE"),
        ("New Zealand", "NZ"), ("Netherlands", "NL"), ("The Netherlands", "NL"), ("Nepal", "NP"),
        ("Côte d’Ivoire", None), ("Ivory Coast", "CI"), ("Bayern", "DE"), ("Czechia", "CZ"),
        ("Canada", "CA"), ("Cuba", "CU"), ("Egypt", "EG"), ("Kiribati", "KI"), ("Japan", "JP"),
        ("Limburg", None), ("Atlantis", None), ("", None), ("  ", None), ("the", None),
        ("XX", None), ("united_kingdom", "GB"), ("🐟", None),
    ],
)  # fmt: skip
def test_a_country_by_its_name(text: str, code: str | None) -> None:
    assert country_code(text) == code


def test_every_country_of_the_library_is_found_by_each_of_its_names() -> None:
    from holidays.registry import COUNTRIES

    for module, (name, code, *codes) in COUNTRIES.items():
        for typed in (module.replace("_", " "), name, code, code.lower(), *codes):
            assert country_code(typed) == code


def test_every_country_tells_its_regions_and_a_year_without_a_warning() -> None:
    from holidays.registry import COUNTRIES

    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for _name, code, *_codes in COUNTRIES.values():
            first, last = years_known(code)
            assert first <= 2026 <= last, code
            parts = regions(code)
            assert len({part for part, _name in parts}) == len(parts)
            for part in ("", *(part for part, _name in parts[:1])):
                found = holidays_between(code, part, date(2026, 1, 1), date(2026, 12, 31))
                assert list(found) == sorted(found)
                assert all(name.strip() for name in found.values())


def test_regions_have_names_where_the_library_has_them() -> None:
    assert dict(regions("GB")) == {
        "ENG": "England", "NIR": "Northern Ireland", "SCT": "Scotland", "WLS": "Wales",
    }  # fmt: skip
    assert [name for _code, name in regions("GB")] == sorted(dict(regions("GB")).values())
    assert regions("EG") == ()


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("Scotland", "SCT"),
        ("sct", "SCT"),
        ("northern  ireland", "NIR"),
        ("Bavaria", None),
        ("", None),
    ],
)
def test_a_region_by_its_name(text: str, code: str | None) -> None:
    assert region_code("GB", text) == code


# --- the stretch of time -------------------------------------------------------------------------


def test_both_days_of_the_stretch_count() -> None:
    christmas, new_year = date(2026, 12, 25), date(2027, 1, 1)
    found = holidays_between("GB", "ENG", christmas, new_year)
    assert list(found) == [christmas, date(2026, 12, 26), date(2026, 12, 28), new_year]
    assert found[christmas] == "Christmas Day"
    assert holidays_between("GB", "ENG", christmas, christmas) == {christmas: "Christmas Day"}
    assert holidays_between("GB", "ENG", date(2026, 11, 2), date(2026, 12, 24)) == {}
    assert holidays_between("GB", "ENG", new_year, christmas) == {}


def test_no_country_has_no_holidays() -> None:
    assert holidays_between("", "", date(2026, 1, 1), date(2026, 12, 31)) == {}


def test_names_are_english_where_the_library_has_them() -> None:
    day = date(2026, 5, 1)
    assert holidays_between("FR", "", day, day) == {day: "Labor Day"}
    assert holidays_between("NZ", "", date(2026, 4, 25), date(2026, 4, 25))


@pytest.mark.parametrize(
    ("country", "region", "field"),
    [("XX", "", "country"), ("gb", "", "country"), ("GB", "BY", "region"), ("EG", "C", "region")],
)
def test_what_is_not_known_is_refused_at_its_field(country: str, region: str, field: str) -> None:
    with pytest.raises(BadInput) as told:
        holidays_between(country, region, date(2026, 1, 1), date(2026, 12, 31))
    assert told.value.field == field


def test_too_long_a_stretch_is_refused() -> None:
    with pytest.raises(BadInput, match="at most 60 years"):
        holidays_between("GB", "", date(1900, 1, 1), date(2100, 1, 1))


@settings(deadline=None)
@given(
    first=st.dates(date(2000, 1, 1), date(2040, 12, 31)),
    length=st.integers(0, 800),
    cut=st.integers(0, 800),
)
def test_two_stretches_side_by_side_have_what_the_whole_has(
    first: date, length: int, cut: int
) -> None:
    last = first + timedelta(days=length)
    middle = min(first + timedelta(days=cut), last)
    early = holidays_between("GB", "SCT", first, middle)
    late = holidays_between("GB", "SCT", middle + timedelta(days=1), last)
    assert {**early, **late} == holidays_between("GB", "SCT", first, last)
