"""Tables of resistance joined to the results whose germs they are of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from store.exchange.lab.looked_for import words_folded
from store.exchange.lab.report_number import number_folded, report_number
from store.exchange.lab.resistance import Resistance, Tested
from store.exchange.lab.rows import Result
from store.exchange.sheets import RawRow
from store.facts.hazards import hazards
from store.text import joined

_GERMS = ("bact", "culture", "kultur", "isol", "germ", "aeromonas", "flavobact", "pseudomonas",
          "keim", "kiem", "vibrio", "resist")  # fmt: skip


def with_resistance(
    results: Sequence[Result], tables: Resistance, beside: Sequence[Tested] = ()
) -> tuple[list[Result], list[tuple[RawRow, str]]]:
    """The results with what was tested on their germs, and the lines that belong to none.

    Parameters
    ----------
    results
        Of the file.
    tables
        Its tables of resistance.
    beside
        What stands in columns beside results; it belongs to a result of the same line first.

    Returns
    -------
    tuple of list of Result, list of tuple
        A line without a sample belongs to the only sample of the file that was looked at for germs.
    """
    found = list(results)
    astray = list(tables.astray)
    words: dict[int, list[str]] = {}
    for one in (*tables.tested, *beside):
        same_line = [each for each in found if each.line == one.row.line]
        whose = found if one not in beside or not same_line else same_line
        at, reason = _whose(one, whose)
        at = None if at is None else found.index(whose[at])
        if at is None:
            astray.append((one.row, reason))
        else:
            words.setdefault(at, []).append(one.words)
    for at, said in words.items():
        whole = f"Resistance (S sensitive, I intermediate, R resistant): {', '.join(said)}"
        found[at] = replace(found[at], said=joined((found[at].said, whole)))
    return found, astray


def _whose(one: Tested, results: Sequence[Result]) -> tuple[int | None, str]:
    those = [at for at, each in enumerate(results) if _of_sample(one, each)]
    if not those:
        return None, "The file has no result of the sample that this row names."
    germs = [at for at in those if _germ(results[at])]
    named = [at for at in germs if one.isolate and _names(one.isolate, results[at])]
    detected = [at for at in germs if results[at].result == "detected"]
    for chosen in (named, detected, germs, those):
        samples = {(results[at].number, results[at].label) for at in chosen}
        if chosen and len(samples) > 1:
            return None, "The file has several samples, and the row does not say whose germ it is."
        if chosen:
            return chosen[0], ""
    return None, ""


def _of_sample(one: Tested, result: Result) -> bool:
    if one.case and report_number(one.case).folded not in (
        result.number.folded, number_folded(result.case)
    ):  # fmt: skip
        return False
    if not one.sample:
        return True
    wanted = number_folded(one.sample)
    labels = (result.sample, result.mark, f"{result.case}-{result.sample}",
              f"{result.number.number}-{result.sample}")  # fmt: skip
    return wanted in {number_folded(each) for each in labels if each}


def _germ(result: Result) -> bool:
    if result.hazard:
        return hazards()[result.hazard].kind == "bacterium"
    text = words_folded(f"{result.test} {result.method} {result.raw}")
    return any(word in text for word in _GERMS)


def _names(isolate: str, result: Result) -> bool:
    wanted = words_folded(isolate)
    return bool(wanted) and wanted in words_folded(f"{result.test} {result.raw} {result.said}")
