"""What a replay of estimates came to, in lines for the screen and the command line."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from store.warmth.proof_words import judged
from tui.said import NOTHING
from tui.widgets.literal import cut_name, one_line

if TYPE_CHECKING:
    from store.warmth.kept.verify import Verified
    from store.warmth.replay import PondScore, Score

Part = tuple[str, str]
WORST = 8
"""So many ponds are listed, worst first."""
_LABEL = 27
_HEADS = f"{'readings':>9} {'estimate':>9} {'last reading':>13} {'season':>8} {'held':>6}"


def proof_parts(verified: Verified) -> Iterator[Part]:
    """Sentences, errors by days ahead and by age, the worst ponds; each line with its style.

    Parameters
    ----------
    verified
        What was replayed.
    """
    for said in verified.says:
        yield one_line(said), ""
    done = verified.replayed
    if done is None:
        return
    yield "", ""
    yield "Errors in °C (root mean square); of five readings four should be held", "$quiet"
    yield from _rows("Days ahead", [(_days(one.days), one) for one in done.leads])
    yield "", ""
    yield from _rows("Age of own last reading", [(_days(one.days), one) for one in done.ages])
    if done.ponds:
        yield "", ""
        yield f"{'The worst ponds':<{_LABEL}}{_HEADS}", "bold"
    for pond in done.ponds[:WORST]:
        yield _pond(pond, one_line(verified.names.get(pond.pond, ""))), ""


def _rows(title: str, rows: list[tuple[str, Score]]) -> Iterator[Part]:
    yield f"{title:<{_LABEL}}{_HEADS}", "bold"
    for label, one in rows:
        if not one.n:
            continue  # nobody reads at such intervals
        yield (
            f"{label:<{_LABEL}}{one.n:>9,} {_c(one.rmse):>9} {_c(one.rmse_last_reading):>13} "
            f"{_c(one.rmse_season):>8} {_share(one.coverage_80):>6}",
            "",
        )
        if remark := judged(one):
            yield f"… {remark}", "$level-watch"


def _pond(one: PondScore, name: str) -> str:
    label = cut_name(name, _LABEL - 1)
    return (
        f"{label:<{_LABEL}}{one.n:>9,} {_c(one.rmse):>9} {_c(one.rmse_last_reading):>13} "
        f"{_c(one.rmse_season):>8} {_share(one.coverage_80):>6}"
    )


def _days(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"


def _c(error_c: float | None) -> str:
    return NOTHING if error_c is None else f"{error_c:.2f}"


def _share(share: float | None) -> str:
    return NOTHING if share is None else f"{share:.0%}"
