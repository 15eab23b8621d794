"""What a person says of a logger's file: column, dates, clock, unit, what was lifted out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from textual.app import ComposeResult

from tui.screens.exchange.logger_in_lines import ORDERS, open_of
from tui.screens.exchange.logger_in_work import Looked, Said
from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason
from tui.widgets.literal import literal, one_line
from tui.widgets.reading import Reading
from tui.widgets.static import Static

if TYPE_CHECKING:
    from tui.app import PondroundApp

_FOUND, _OTHER = "\0found", "\0other"
_TITLES = {
    "column": "Which column holds the values?", "dates": "How are the dates written?",
    "clock": "How did the logger's clock run?", "unit": "In which unit do the values stand?",
    "lifted": "Values out of the water?",
}  # fmt: skip
_PROMPTS = {
    "clock": "An offset from UTC as +01:00 or -05:30, or the name of a zone as Europe/London.",
    "unit": "The unit as it would stand in the heading: °F, mg/L, µS/cm.",
}  # fmt: skip


class _Answers(Choose):
    """What is asked of a logger's file, over what can be said."""

    QUESTION = "What does the file leave open, or what is it to be taken for?"
    ABOUT = (
        "A digit or enter says it for the whole file, which is then read again. It can be changed "
        "until F2 saves. Esc leaves it as it is."
    )

    def __init__(self, title: str, text: str, options: list[Option], start: str) -> None:
        super().__init__(title, options, start=start)
        self._text = text

    def content(self) -> ComposeResult:
        """The question in full, then the answers."""
        if self._text:
            with Reading(id="message"):
                yield Static(literal(self._text))
        yield from super().content()


async def answer_to(
    app: PondroundApp, looked: Looked, said: Said, field: str
) -> dict[str, Any] | None:
    """What a person says of one thing, as fields of `Said`; None where it stays as it is.

    Within a worker of a screen.

    Parameters
    ----------
    app
        The application.
    looked
        The file as it was looked at.
    said
        What was said before.
    field
        One of `SETTINGS` but the pond.
    """
    asked = open_of(looked, field)
    options, start = _options(looked, said, field, () if asked is None else asked.choices)
    text = "" if asked is None else asked.sentence
    chosen = await app.push_screen_wait(_Answers(_TITLES[field], text, options, start))
    if chosen is None:
        return None
    answer = "" if chosen == _FOUND else str(chosen)
    if chosen == _OTHER:
        typed = await app.push_screen_wait(
            AskReason(_TITLES[field], _PROMPTS[field], start=_before(said, field))
        )
        if not isinstance(typed, Reason):
            return None
        answer = typed.text
    if field == "dates":
        return {"order": answer or None}
    return {field: answer}


def _before(said: Said, field: str) -> str:
    return {"clock": said.clock, "unit": said.unit}.get(field, "")


def _options(
    looked: Looked, said: Said, field: str, choices: tuple[str, ...]
) -> tuple[list[Option], str]:
    """What can be said, and what the cursor stands on at first."""
    found: list[Option] = []
    if field == "lifted":
        found = [
            Option("leave", "leave them out, and list them"),
            Option("keep", "keep them like the others"),
        ]
        return found, said.lifted
    if field == "column":
        found = [
            Option(
                one.heading, f"“{one_line(one.heading)}”", f"{one.taken_for}, such as {one.example}"
            )
            for one in looked.about.columns
            if one.numbers and one.heading
        ]
        if open_of(looked, "column") is None:
            found.insert(0, Option(_FOUND, "those that the headings name"))
        return found, said.column
    if field == "dates":
        orders = choices or tuple(ORDERS)
        found = [Option(one, ORDERS[one]) for one in orders]
        if not choices:
            found.insert(0, Option(_FOUND, "as the days of the file show"))
        return found, said.order or str(found[0].key)
    if field == "clock":
        local = f"local time, with its changes ({looked.zone})"
        offered = dict.fromkeys((*choices, "local", *([] if "+00:00" in choices else ["+00:00"])))
        found = [
            Option(one, local if one == "local" else f"UTC{one} all the time") for one in offered
        ]
    else:
        found = [Option("C", "°C"), Option("F", "°F")]
    if not choices:
        found.insert(0, Option(_FOUND, "as the file says"))
    found.append(Option(_OTHER, "something else …"))
    return found, _before(said, field) or str(found[0].key)
