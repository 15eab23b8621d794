"""Portions and stops made by hand, for the tests of kit lists."""

from __future__ import annotations

from typing import Any
from uuid import UUID

from store.courses.planning.course import Product
from store.rounds.kit.values import AgentTold, Portion, StopRef, Unit

POWDER = Product("powder", 98.0)


def stop(nth: int = 1, name: str = "Alder Row", **values: Any) -> StopRef:
    said: dict[str, Any] = {"who": "Ada Vet", "begins": 480 + 60 * nth} | values
    return StopRef(UUID(int=nth), UUID(int=1), nth=nth, name=name, **said)


def portion(
    amount: float, *, nth: int = 1, agent: str = "praziquantel", unit: Unit = "g",
    product: Product = POWDER, pond: str = "lower pond", **values: Any,
) -> Portion:  # fmt: skip
    said: dict[str, Any] = {
        "dose": "dose 1 of 2",
        "said": f"{amount} reckoned",
        "rests_on": "volume in force",
    } | values
    return Portion(
        f"{agent}:{nth}:{pond}", agent, agent.replace("_", " "), product, amount, unit,
        UUID(int=300 + nth), pond, stop(nth), **said,
    )  # fmt: skip


def told(code: str, family: str = "anthelmintic", *meets: tuple[str, str]) -> AgentTold:
    return AgentTold(code, code.replace("_", " "), family, ("Gloves.",), meets, "a publication")
