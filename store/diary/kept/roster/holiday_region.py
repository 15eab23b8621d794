"""Whose public holidays are marked: the region that was chosen, else the practice's country."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from sqlalchemy import select

from store.book.tables import table
from store.book.writing import Writing
from store.diary.kept.roster.source import Source, reading
from store.errors import BadInput


def holiday_region(book: Source) -> tuple[str, str]:
    """Country and region whose public holidays the practice marks.

    Parameters
    ----------
    book
        The practice's book, or a connection to it.

    Returns
    -------
    tuple of str
        Country as ISO 3166-1 alpha-2 and a code of its region, both empty where no country is
        entered or it is not known; the region is empty for what holds in all of the country.
    """
    from store.diary.times.public_holidays import country_code

    regions, practices = table("holiday_region").c, table("practice").c
    newest = (
        select(regions.country, regions.region)
        .where(regions.struck_at.is_(None))
        .order_by(regions.created_at.desc(), regions.id.desc())
        .limit(1)
    )
    with reading(book) as connection:
        chosen = connection.execute(newest).one_or_none()
        if chosen is not None:
            return chosen.country, chosen.region
        query = select(practices.country).where(practices.struck_at.is_(None)).limit(1)
        country = connection.execute(query).scalar()
    return (country_code(country) or "", "") if country else ("", "")


def set_holiday_region(writing: Writing, country: str, region: str = "") -> None:
    """State whose public holidays the practice marks; an empty country marks none.

    Parameters
    ----------
    writing
        The action it belongs to.
    country
        Name or ISO 3166-1 alpha-2 code.
    region
        A code of `store.diary.times.public_holidays.regions`; empty for all of the country.

    Raises
    ------
    BadInput
        A country whose holidays are not known, or no region of it.
    """
    from store.diary.times.public_holidays import country_code, regions

    code = country_code(country) if country.strip() else ""
    if code is None:
        raise BadInput(
            f"The public holidays of “{country:.40}” are not known. Nothing was changed.",
            field="country",
        )
    if region and region not in {known for known, _name in (regions(code) if code else ())}:
        raise BadInput(f"“{region:.20}” is no region of {code or 'no country'}.", field="region")
    writing.add("holiday_region", country=code, region=region)


def holidays(book: Source, first: date, last: date) -> Mapping[date, str]:
    """Public holidays by their day, with their name.

    Parameters
    ----------
    book
        The practice's book, or a connection to it.
    first, last
        Both days included.

    Returns
    -------
    Mapping
        Empty where no country is known.
    """
    country, region = holiday_region(book)
    if not country:
        return {}
    from store.diary.times.public_holidays import holidays_between

    return holidays_between(country, region, first, last)
