"""A sheet of water tests looked at, as one object for programs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pathlib import Path

    from store.exchange.columns import Guess, Question
    from store.exchange.plain.planned import Done
    from store.exchange.water.looked import Preview
    from store.exchange.water.rows import PlannedTest


def as_json(preview: Preview, done: Done | None, beside: Path | None) -> dict[str, Any]:
    """Everything that is known of a sheet: columns, questions, tests, what is left out.

    Parameters
    ----------
    preview
        The sheet looked at.
    done
        What was saved; None for a dry run, and while something is asked.
    beside
        The file of the refused rows, where one was written.

    Returns
    -------
    dict
        `tests` is None while something is asked that is needed. Values are in the stored unit,
        which stands beside each; instants are in UTC.
    """
    plan = preview.plan
    names = {one.number: one.label or str(one.number + 1) for one in preview.blocks}
    columns = [_column(one, names, 0) for one in preview.columns]
    for line, later in preview.later:
        columns += [_column(one, {}, line) for one in later]
    return {
        "file": str(preview.path),
        "sheet": preview.sheet,
        "sheets": list(preview.sheets),
        "remembered_from": preview.kept.name if preview.kept is not None else None,
        "columns": columns,
        "questions": [_question(one) for one in preview.questions],
        "tests": None if plan is None else [_test(one) for one in plan.items],
        "there_already": [
            {"line": one.test.line, "why": one.why} for one in preview.doubled
        ],
        "refused": [] if plan is None else [
            {"line": one.line, "reason": one.reason, "cells": list(one.cells)}
            for one in plan.refused
        ],
        "no_tests": [
            {"line": one.line, "why": one.why, "text": one.text} for one in preview.left_out
        ],
        "told": list(preview.told),
        "rows_read": None if plan is None else plan.rows_read,
        "saved": None if done is None else done.added,
        "refused_file": None if beside is None else str(beside),
    }  # fmt: skip


def _column(one: Guess, names: dict[int, str], from_line: int) -> dict[str, Any]:
    return {
        "number": one.column + 1,
        "heading": one.title,
        "meaning": one.meaning,
        "parameter": None if one.heading is None else one.heading.parameter,
        "unit": None if one.heading is None else one.heading.unit,
        "of": None if one.block is None else names.get(one.block, str(one.block + 1)),
        "why": one.why,
        "sure": one.sure,
        "from_line": from_line or None,
    }


def _question(one: Question) -> dict[str, Any]:
    return {
        "field": one.field,
        "about": one.about,
        "text": one.text,
        "needed": one.needed,
        "answers": [
            {"value": each.value, "label": each.label, "about": each.about or one.about}
            for each in one.answers
        ],
    }


def _test(one: PlannedTest) -> dict[str, Any]:
    from store.water.parameters import PARAMETERS

    return {
        "line": one.line,
        "pond_id": str(one.pond),
        "pond": one.called,
        "taken_at": one.test.taken_at.isoformat(),
        "supposed": one.told,
        "place": one.test.place,
        "note": one.test.note,
        "by": one.by,
        "readings": [
            {
                "parameter": reading.parameter,
                "value": reading.value,
                "unit": PARAMETERS[reading.parameter].unit,
                "bound": reading.bound,
                "low": reading.low,
                "high": reading.high,
                "form": reading.form,
                "typed": reading.typed,
                "heading": title,
                "cell": cell,
            }
            for reading, (title, cell) in zip(one.test.readings, one.raw, strict=True)
        ],
    }
