"""What the lines above the headings say of the whole sheet, such as `Case number: 26-1188`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from store.exchange.columns.words import same
from store.text import plain


def facts_above(head: Sequence[Sequence[str]], known: Mapping[str, str]) -> dict[str, str]:
    """What the lines above the headings say of the whole sheet.

    Parameters
    ----------
    head
        The cells of those lines.
    known
        Words of headings, folded by `columns.words.same`, to the role that they mean.

    Returns
    -------
    dict
        Role to text; what stands there twice is taken as it stands first.

    Examples
    --------
    >>> facts_above([("Product:", "formalin", "Unit: mL")], {"product": "product", "unit": "unit"})
    {'product': 'formalin', 'unit': 'mL'}
    """
    found: dict[str, str] = {}
    for cells in head:
        held = [plain(" ".join(cell.split())) for cell in cells if cell.strip()]
        at = 0
        while at < len(held):
            name, mark, rest = held[at].partition(":")
            role = known.get(same(name))
            if role is not None and mark and rest.strip():
                found.setdefault(role, rest.strip())
            elif role is not None and at + 1 < len(held) and same(held[at + 1]) not in known:
                found.setdefault(role, held[at + 1].strip())
                at += 1
            at += 1
    return found
