"""The standing of a site, and the reasons for it, as plain values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Literal
from uuid import UUID

from store.facts.driving import driving
from store.facts.hazards import hazards

Standing = Literal["clean", "doubtful", "infected", "suspect"]
STANDINGS: tuple[Standing, ...] = ("clean", "doubtful", "infected", "suspect")
"""In the order in which a vet's day goes: suspect of a notifiable disease last, or alone."""
RANK: Mapping[Standing, int] = {one: rank for rank, one in enumerate(STANDINGS)}
_ENVIRONMENT = "environment"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a pond stands as it does: one sentence without its full stop, and its day.

    `pond` is None of a site at which no pond is entered.
    """

    standing: Standing
    pond: UUID | None
    pond_name: str
    says: str
    on_day: date | None


@dataclass(frozen=True, slots=True)
class SiteStanding:
    """How a site stands; its worst pond decides.

    `reasons` are those of all its ponds, worst first, and never empty.
    """

    site_id: UUID
    client: str
    site: str
    reasons: tuple[Reason, ...]

    @property
    def standing(self) -> Standing:
        """The worst of its ponds."""
        return self.reasons[0].standing

    @property
    def on_day(self) -> date | None:
        """The day of the reason that decides; None where it has none."""
        return self.reasons[0].on_day

    @property
    def disinfect_min(self) -> int:
        """What disinfecting takes after a visit here, beside the visit itself [min]."""
        return disinfect_min(self.standing)

    @property
    def said(self) -> str:
        """Such as `infected: Lower pond, gill flukes found on 9 Mar 2026, unanswered`."""
        first = self.reasons[0]
        more = sum(one.standing == first.standing for one in self.reasons) - 1
        where = f"{first.pond_name}, " if first.pond_name else ""
        return f"{first.standing}: {where}{first.says}" + (f"; {more} more" if more else "")


def disinfect_min(standing: Standing) -> int:
    """What disinfecting takes after a site of a standing; common practice [min].

    Parameters
    ----------
    standing
        Of the site.

    Examples
    --------
    >>> [disinfect_min(one) for one in STANDINGS]
    [0, 0, 20, 45]
    """
    if standing == "suspect":
        return driving().disinfect_suspect_min
    return driving().disinfect_infected_min if standing == "infected" else 0


def infectious(hazard: str) -> bool:
    """Whether a hazard goes from pond to pond; one that is not known is taken to.

    Parameters
    ----------
    hazard
        Its code.
    """
    known = hazards().get(hazard)
    return known is None or known.kind != _ENVIRONMENT


def notifiable(hazard: str) -> bool:
    """Whether a hazard is notifiable.

    Parameters
    ----------
    hazard
        Its code.
    """
    known = hazards().get(hazard)
    return known is not None and known.notifiable


def hazard_said(hazard: str) -> str:
    """A hazard in plain words.

    Parameters
    ----------
    hazard
        Its code.
    """
    known = hazards().get(hazard)
    return hazard if known is None else known.plain_name
