"""What a calculator of the command line answers, how it is printed, and how one is added."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

Value = float | str | tuple[float, ...] | None


@dataclass(frozen=True, slots=True)
class Answer:
    """What is printed: the keys of the JSON object, their units, and how they came about."""

    values: Mapping[str, Value]
    units: Mapping[str, str]
    labels: Mapping[str, str]
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def as_json(answer: Answer) -> str:
    """One JSON object: the values unrounded, their units, arithmetic, source and remarks."""
    return json.dumps(
        {
            **answer.values,
            "units": dict(answer.units),
            "arithmetic": answer.arithmetic,
            "source": answer.source,
            "remarks": list(answer.remarks),
        },
        allow_nan=False,
        indent=2,
    )


def as_text(answer: Answer) -> str:
    """One line a value, then the arithmetic step by step, the source and the remarks."""
    rows = [
        (label, f"{_said(value)} {_unit(value, answer.units[key])}".strip())
        for key, label in answer.labels.items()
        if (value := answer.values[key]) is not None
    ]
    steps = answer.arithmetic.split("; ")
    rows += [("arithmetic" if place == 0 else "", step) for place, step in enumerate(steps)]
    rows.append(("source", answer.source))
    rows += [("remark", remark) for remark in answer.remarks]
    width = max(len(label) for label, _ in rows)
    return "\n".join(f"{label:<{width}}  {text}" for label, text in rows)


def _unit(value: Value, unit: str) -> str:
    return "" if unit == "1" or isinstance(value, str) else unit


def _said(value: float | str | tuple[float, ...]) -> str:
    from store.water.given import figures

    if isinstance(value, str):
        return value
    if isinstance(value, tuple):
        return ", ".join(figures(one) for one in value) or "none"
    return figures(value)


def add_calculator(
    kinds: Any, name: str, summary: str, reckon: Callable[[argparse.Namespace], Answer]
) -> argparse.ArgumentParser:
    """Add one calculator to the command line.

    Parameters
    ----------
    kinds
        What `ArgumentParser.add_subparsers` returned.
    name, summary
        Its word at the command line, and what its help says.
    reckon
        What answers it.
    """
    one: argparse.ArgumentParser = kinds.add_parser(name, help=summary, description=summary)
    one.add_argument("--json", action="store_true", help="print one JSON object")
    one.set_defaults(reckon=reckon)
    return one


def add_number(
    one: argparse.ArgumentParser,
    name: str,
    summary: str,
    *,
    required: bool = False,
    default: str | None = None,
    dest: str | None = None,
) -> None:
    """Add an option that takes a number with or without a unit.

    Parameters
    ----------
    one
        The calculator.
    name, summary
        The option, and what its help says.
    required, default, dest
        As in `ArgumentParser.add_argument`.
    """
    named = {} if dest is None else {"dest": dest}
    one.add_argument(
        name, required=required, default=default, metavar="NUMBER", help=summary, **named
    )
