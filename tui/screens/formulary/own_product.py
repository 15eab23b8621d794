"""The form of a product on the practice's shelf."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any
from uuid import UUID

from tui.screens.parts.edit import FormScreen
from tui.widgets.fields import Field
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.courses.kept.agent_page import AgentPage
    from store.courses.kept.formulary import ShelfProduct

_CELLS = 26


class OwnProductScreen(FormScreen):
    """What stands on the label of a product.

    Parameters
    ----------
    page
        The agent in it.
    old
        The product as it stands; None for a new one.
    """

    QUESTION = "What is in this tub, and what does its label say?"
    ABOUT = (
        "A product has a strength, above zero and up to 100 %, and what that is of; a liquid has a "
        "density. The withdrawal is that of the label; empty where it gives none, which is not "
        "nought. For a vet. F2 saves; escape keeps what was typed."
    )

    def __init__(self, page: AgentPage, old: ShelfProduct | None = None) -> None:
        from store.courses.kept.formulary_typed import product_texts

        what = "a product" if old is None else f"change {one_line(old.name)}"
        texts = {} if old is None else product_texts(old)
        fields = tuple(
            replace(one, value=texts.get(one.name, one.value))
            for one in _fields(changed=old is not None)
        )
        super().__init__(
            f"{one_line(page.agent.name)}: {what}",
            fields,
            f"own-product-{page.agent.code}-{old.id if old else 'new'}",
        )
        self._page, self._old = page, old

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """A new product, or the changed one."""
        from store.courses.kept.formulary_typed import save_product

        app = self.ponds_app
        return await app.ask_store(
            save_product, app.book, act, self._page.agent.code, texts, self._old
        )


def _fields(*, changed: bool) -> tuple[Field, ...]:
    from store.courses.kept.formulary_typed import STRENGTHS

    found = (
        Field("name", "Product", "as on the label", width=_CELLS),
        Field("strength", "Strength", "97 %", width=_CELLS),
        Field("basis", "The strength is", "", "w/w", choices=tuple(STRENGTHS.items()),
              width=_CELLS),
        Field("density", "Density", "g/mL; empty for a powder", width=_CELLS),
        Field("pack", "A pack holds", "250 g, 1 kg, 500 mL", width=_CELLS),
        Field("degree_days", "Withdrawal", "degree-days, by the label", width=_CELLS),
        Field("withdrawal_days", "Or in days", "d, by the label", width=_CELLS),
        Field("note", "Note", lines=2),
    )  # fmt: skip
    return (
        (*found, Field("why", "Why changed", "the record keeps it", lines=2))
        if changed
        else (found)
    )
