"""The form of a dose that the practice sets itself, beside what is published."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any
from uuid import UUID

from textual.app import ComposeResult

from tui.screens.parts.edit import FormScreen
from tui.widgets.fields import Field, Form
from tui.widgets.foot import Foot
from tui.widgets.literal import literal, one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.courses.kept.agent_page import AgentPage
    from store.courses.kept.formulary import OwnDose

_CELLS = 26


class OwnDoseScreen(FormScreen):
    """What the practice gives of an agent, and why.

    Parameters
    ----------
    page
        The agent.
    old
        The dose that this one takes the place of; None for a new one.
    """

    CSS_PATH = ["../sheets/edit.tcss", "../sheets/narrow.tcss", "../sheets/formulary.tcss"]  # noqa: RUF012
    QUESTION = "What does this practice give, and why?"
    ABOUT = (
        "A dose of the practice's own stands beside the published ones with your name, the day and "
        "your reason; it raises none of them: what lies outside the published range still stops a "
        "plan until a vet answers in writing. For a vet. A changed dose strikes the old one "
        "through; both can be read. F2 saves; escape keeps what was typed."
    )

    def __init__(self, page: AgentPage, old: OwnDose | None = None) -> None:
        from store.courses.kept.formulary_typed import dose_texts

        name = one_line(page.agent.name)
        title = f"{name}: {'an own dose' if old is None else 'another dose in its place'}"
        texts = {} if old is None else dose_texts(old)
        fields = tuple(replace(one, value=texts.get(one.name, one.value)) for one in _fields(page))
        super().__init__(title, fields, f"own-dose-{page.agent.code}-{old.id if old else 'new'}")
        self._page, self._old = page, old

    def compose(self) -> ComposeResult:
        """Head, what is published, form, keys."""
        from store.courses.planning.agent_told import doses_in_short
        from store.facts.entry import OWN

        published = [one for one in self._page.agent.routes if one.standing != OWN]
        said = doses_in_short(published) or "nothing"
        yield Top(self._title, id="edit-head")
        yield Static(literal(f"Published: {said}", "$quiet"), id="own-published")
        yield Line()
        yield Form(self._fields, draft=self._draft(), id="edit-form")
        yield Foot()

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """A new dose, or one in the place of another."""
        from store.courses.kept.formulary_typed import save_dose

        app = self.ponds_app
        return await app.ask_store(
            save_dose, app.book, act, self._page.agent.code, texts, self._old
        )


def _fields(page: AgentPage) -> tuple[Field, ...]:
    from store.courses.kept.formulary_checked import DOSED
    from store.courses.kept.formulary_typed import DOSE_BASES
    from store.facts.agent import ROUTES
    from store.facts.hazards import hazards

    known = [one.code for one in page.agent.routes if one.code in DOSED]
    named = tuple(
        (code, hazard.plain_name)
        for code, hazard in sorted(hazards().items(), key=lambda one: one[1].plain_name)
    )
    return (
        Field("route", "How", "", known[0] if known else "pond_bath",
              choices=tuple((code, ROUTES[code]) for code in DOSED), width=_CELLS),
        Field("dose", "Dose", "0.5–1 mg/L, up to 20 µL/L", width=_CELLS),
        Field("basis", "Of the", "", "active", choices=tuple(DOSE_BASES.items()), width=_CELLS),
        Field("hazard", "Against", "or nothing in particular", choices=named, width=_CELLS),
        Field("other_hazard", "And against", "", choices=named, width=_CELLS),
        Field("exposure", "Lasts", "30 min, 1 h; empty: left in", width=_CELLS),
        Field("interval", "Every", "7 d, 5–7 d", width=_CELLS),
        Field("doses", "Times", "how many doses", width=_CELLS),
        Field("temperature", "At", "10–25 °C, up to 26 °C", width=_CELLS),
        Field("source", "Taken from", "paper, label, a colleague", width=_CELLS),
        Field("why", "Why", "in every plan by it", lines=3),
    )  # fmt: skip
