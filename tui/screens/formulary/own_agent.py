"""The form of an agent that the published formulary does not have."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any
from uuid import UUID

from tui.screens.parts.edit import FormScreen
from tui.widgets.fields import Field
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.courses.kept.formulary import OwnAgent

_CELLS = 26


class OwnAgentScreen(FormScreen):
    """What the practice knows of an agent of its own.

    Parameters
    ----------
    old
        The agent as it stands; None for a new one.
    """

    QUESTION = "Which agent does the practice have that nobody published?"
    ABOUT = (
        "Its family tells what is known of its kin, such as that two organophosphates never meet. "
        "At least what protects people must be said. It can be planned once the practice has set a "
        "dose for it, and every plan says that nothing published backs it. For a vet. F2 saves; "
        "escape keeps what was typed."
    )

    def __init__(self, old: OwnAgent | None = None) -> None:
        from store.courses.kept.formulary_typed import agent_texts

        texts = {} if old is None else agent_texts(old)
        title = "An agent of the practice's own" if old is None else f"Change {one_line(old.name)}"
        fields = tuple(replace(one, value=texts.get(one.name, one.value)) for one in _fields())
        super().__init__(title, fields, f"own-agent-{old.id if old else 'new'}")
        self._old = old

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """A new agent, or the changed one."""
        from store.courses.kept.formulary_typed import save_agent

        app = self.ponds_app
        return await app.ask_store(save_agent, app.book, act, texts, self._old)


def _fields() -> tuple[Field, ...]:
    from store.courses.kept.formulary_typed import off_words
    from store.facts.agent import FAMILIES

    return (
        Field("name", "Name", "not in the formulary yet", width=_CELLS),
        Field("family", "Family", "what it is kin to", width=_CELLS,
              choices=tuple((one, one) for one in FAMILIES)),
        Field("off", "Off meanwhile", off_words(), width=_CELLS),
        Field("handling", "For people", "gloves, goggles, air", lines=3),
        Field("legal", "The law", "as far as known", lines=2),
        Field("why", "Why", "the record keeps it", lines=3),
    )  # fmt: skip
