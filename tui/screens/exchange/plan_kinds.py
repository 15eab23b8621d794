"""The page of what a file would bring, for each kind that gives a plan."""

from __future__ import annotations

from tui.screens.exchange.plan_in import PlanInScreen


class PondsIn(PlanInScreen):
    """Clients, sites and ponds in our own shape."""

    KIND = "ponds"


class StaffIn(PlanInScreen):
    """The people of the practice."""

    KIND = "staff"


class KitsIn(PlanInScreen):
    """Test kits."""

    KIND = "kits"


class VisitsIn(PlanInScreen):
    """Visits, planned and done."""

    KIND = "visits"


class EventsIn(PlanInScreen):
    """What happened at ponds."""

    KIND = "events"


class AirIn(PlanInScreen):
    """Days of the air at a station."""

    KIND = "air"


class DrivesIn(PlanInScreen):
    """The practice's own drive times."""

    KIND = "drives"


class DeathsIn(PlanInScreen):
    """Dead fish by the day."""

    KIND = "deaths"


class LabIn(PlanInScreen):
    """Results of a laboratory."""

    KIND = "lab"


class MedicinesIn(PlanInScreen):
    """What went out of a medicine book."""

    KIND = "medicines"


class FishIn(PlanInScreen):
    """Examinations of fish out of a parasite sheet."""

    KIND = "fish"
