"""Forms that refuse what cannot be: many faults in one walk, each told where it stands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from screen_text import a_moment
from textual.pilot import Pilot

from tui.widgets.fields import Form, FormField


def said_at_fields(pilot: Pilot[Any]) -> dict[str, str]:
    """What stands under each field of the form on top, by the field's name."""
    return {
        one.field.name: str(one.query_one(".field-error").visual)
        for one in pilot.app.screen.query(FormField)
        if one.query_one(".field-error").display
    }


async def each_is_told(
    pilot: Pilot[Any], faults: Iterable[tuple[Mapping[str, str], str, str]]
) -> None:
    """Every fault by itself is told under its field when it is to be saved, and stays typed.

    Parameters
    ----------
    pilot
        Of an application that shows a form filled in well.
    faults
        What is typed over the good values, the field that tells it, and its words. Faults of one
        field with the same words must not follow each other.
    """
    form = pilot.app.screen.query_one(Form)
    good = form.values
    for values, field, says in faults:
        form.fill({**good, **values})
        await pilot.pause()
        await pilot.press("f2")
        for _ in range(300):
            if says in said_at_fields(pilot).get(field, ""):
                break
            await a_moment(0.02)
        told = said_at_fields(pilot)
        assert says in told.get(field, ""), (values, field, says, told)
        assert pilot.app.screen.query_one(Form) is form
        assert {name: form.values[name] for name in values} == dict(values)
