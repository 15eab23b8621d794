"""The kinds of rule by their names; a new kind is a file here and a line in `KINDS`."""

from __future__ import annotations

from collections.abc import Mapping

from store.watch.kinds.ammonia import CriterionKind, UnIonisedKind
from store.watch.kinds.change import FallingKind
from store.watch.kinds.corrections import CorrectionsKind
from store.watch.kinds.events import EventKind
from store.watch.kinds.feeding import FeedingKind
from store.watch.kinds.finding import FindingKind
from store.watch.kinds.gases import CarbonDioxideKind, SaturationKind
from store.watch.kinds.levels import LevelKind
from store.watch.kinds.losses import LossesKind
from store.watch.kinds.nitrite import NitriteKind
from store.watch.kinds.promised import PromisedKind
from store.watch.kinds.rate import RateKind
from store.watch.kinds.signs import SignsKind
from store.watch.kinds.suspicion import SuspicionKind
from store.watch.kinds.timing import OverdueKind, StaleKind
from store.watch.kinds.window import WindowKind
from store.watch.rule import Kind

KINDS: Mapping[str, Kind] = {
    "level": LevelKind(),
    "ammonia": UnIonisedKind(),
    "criterion": CriterionKind(),
    "nitrite": NitriteKind(),
    "oxygen": SaturationKind(),
    "co2": CarbonDioxideKind(),
    "rate": RateKind(),
    "slope": FallingKind(),
    "overdue": OverdueKind(),
    "stale": StaleKind(),
    "window": WindowKind(),
    "event": EventKind(),
    "promise": PromisedKind(),
    "signs": SignsKind(),
    "corrections": CorrectionsKind(),
    "feeding": FeedingKind(),
    "finding": FindingKind(),
    "losses": LossesKind(),
    "suspicion": SuspicionKind(),
}
