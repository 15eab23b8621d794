"""What the columns of a medicine book mean, and which of its lines went out."""

from __future__ import annotations

import re
from dataclasses import replace
from types import MappingProxyType
from typing import Literal

from store.errors import BadInput
from store.exchange.columns.named import NOTE, NamedRow, NamedSheet, Role, SheetKind
from store.exchange.columns.question import Answer, Question

_UNITS = ("ml", "l", "litre", "litres", "g", "kg", "mg", "tablets", "tabs", "tubes", "bottles",
          "packs", "sachets", "doses")  # fmt: skip
_ROLES = {
    "date": Role(
        ("day", "on", "date given", "given on", "date used", "date of use", "date of treatment",
         "treatment date", "date supplied", "date dispensed", "date issued", "date in/out", "when",
         "datum", "tag", "abgabedatum", "fecha", "data", "dato", "dag"),
        carried=True, label="day",
    ),
    "product": Role(
        ("medicine", "medicines", "drug", "medicinal product", "veterinary medicine", "name",
         "product name", "name of product", "name of medicine", "preparation", "remedy", "item",
         "vmp", "medication", "arzneimittel", "präparat", "mittel", "medicament", "médicament",
         "produit", "medicijn", "middel", "producto"), carried=True,
    ),
    "batch": Role(
        ("batch no", "batch number", "batch nr", "lot", "lot no", "lot number", "charge", "ch-b",
         "chargennummer", "chargen nr", "no de lot", "numéro de lot", "partij", "lote", "bn"),
        carried=True, label="batch",
    ),
    "expiry": Role(
        ("exp", "exp date", "expiry date", "expires", "expires on", "use by", "best before",
         "expiration", "expiration date", "verfall", "verfallsdatum", "haltbar bis", "péremption",
         "vervaldatum", "caducidad"), carried=True,
    ),
    "opened": Role(
        ("date opened", "opened on", "opened date", "bottle opened", "broached", "date broached",
         "in use since", "first use", "anbruch", "angebrochen am", "ouvert le", "geopend"),
        carried=True, label="day on which it was opened",
    ),
    "in": Role(
        ("amount in", "quantity in", "qty in", "received", "amount received", "quantity received",
         "purchased", "bought", "delivered", "stock in", "zugang", "eingang", "entrée", "inkoop"),
        _UNITS, label="amount in",
    ),
    "out": Role(
        ("amount out", "quantity out", "qty out", "given", "amount given", "quantity given",
         "qty given", "used", "amount used", "quantity used", "qty used", "administered",
         "amount administered", "dispensed", "amount dispensed", "supplied", "quantity supplied",
         "issued", "dose",
         "dose given", "dosage", "stock out", "abgang", "abgabe", "verbrauch", "sortie", "uit"),
        _UNITS, label="amount out",
    ),
    "amount": Role(("quantity", "qty", "menge", "quantité", "hoeveelheid", "cantidad", "volume"),
                   _UNITS),
    "direction": Role(("in/out", "in or out", "movement", "transaction", "type", "art"),
                      label="in or out"),
    "unit": Role(("units", "einheit", "unité", "eenheid", "unidad"), carried=True),
    "balance": Role(
        ("remaining", "left", "in stock", "stock", "stock left", "balance left", "bestand",
         "restbestand", "solde", "voorraad"), _UNITS, label="what is left",
    ),
    "client": Role(
        ("owner", "customer", "client name", "name of client", "keeper", "name of owner",
         "supplied to", "given to", "for whom", "kunde", "besitzer", "tierhalter", "client/pond",
         "eigenaar", "cliente", "recipient", "issued to", "used for"),
        carried=True,
    ),
    "pond": Role(
        ("pond name", "tank", "teich", "bassin", "étang", "vijver", "estanque", "where",
         "location", "site/pond", "water"), carried=True,
    ),
    "code": Role(("pond code", "pond key", "pond id", "pond no", "pond number"), carried=True,
                 label="pond code"),
    "withdrawal": Role(
        ("withdrawal end", "end of withdrawal", "withdrawal until", "withdrawal to",
         "withdrawal ends", "withdrawal date", "withdrawal period", "withdrawal period end",
         "end of withdrawal period", "not for eating until", "withdrawal time", "wp", "wp end",
         "wartezeit", "wartezeit bis", "ende der wartezeit", "délai d'attente", "temps d'attente",
         "wachttijd", "wachttijd tot", "w/d", "w/d end", "w/d until", "w/d period", "wd end",
         "wd period", "w/p", "w/p end"),
        label="end of the withdrawal",
    ),
    "animals": Role(
        ("for", "species", "fish", "fish treated", "animals treated", "animals", "identity",
         "identification", "number treated", "no treated", "treated", "tiere"),
    ),
    "reason": Role(("diagnosis", "indication", "condition", "disease", "reason for use",
                    "treated for", "diagnose", "grund")),
    "route": Role(("method", "how given", "route of administration", "administration",
                   "anwendung")),
    "by": Role(("given by", "administered by", "dispensed by", "used by", "initials", "vet",
                "prescribed by", "who", "signature", "von"), many=True),
    "supplier": Role(("supplied by", "bought from", "source", "lieferant", "wholesaler")),
    **NOTE,
}  # fmt: skip
Way = Literal["in", "out"]
NOTHING = re.compile(r"[-–—/.]+|0+(?:[.,]0+)?(?:[ ]?[a-z]+)?|nil|none|n/?a", re.IGNORECASE)
"""Cells of amounts that say that nothing went."""
_ASKED = ("date", "product", "batch", "client")
"""Columns whose blanks may mean the cell above; in the others a blank was not written."""
DAYS = ("opened", "withdrawal")
"""The columns that may hold days beside the day itself; `12/26` of an expiry is month and year."""
_WHOLE_DAY = re.compile(r"[0-9]{1,4}[ ]?[./-][ ]?[0-9]{1,2}[ ]?[./-][ ]?[0-9]{2,4}")
ONE_COLUMN = "amount"
KIND = SheetKind("medicine books", MappingProxyType(_ROLES), ("date",), once=frozenset({"ponds"}))
_IN = frozenset({"in", "received", "bought", "purchase", "purchased", "delivery", "stock", "+",
                 "zugang", "eingang", "i"})  # fmt: skip
_OUT = frozenset({"out", "given", "used", "issued", "dispensed", "supplied", "sold", "-", "abgang",
                  "abgabe", "treatment", "o"})  # fmt: skip


def whole_expiries(sheet: NamedSheet) -> list[str]:
    """The cells of expiries that name a day, and so may show the order of day and month.

    Parameters
    ----------
    sheet
        The book.
    """
    cells = (row.raw.cell(one.place).strip() for row in sheet.rows for one in row.columns
             if one.meaning == "expiry")  # fmt: skip
    return [cell for cell in cells if _WHOLE_DAY.fullmatch(cell)]


def amounts_asked(sheet: NamedSheet) -> list[Question]:
    """Whether a single column of amounts is what came in or what went out.

    Parameters
    ----------
    sheet
        The book.

    Raises
    ------
    BadInput
        When the book has no column of amounts at all.
    """
    if sheet.has("out", "in"):
        return []
    columns = sheet.columns_of(ONE_COLUMN)
    if not columns:
        raise BadInput(
            "The file has no column with the amounts that went out; nothing was brought in. Head "
            "it “out”, or say which column it is.",
            field="column",
        )
    if sheet.has("direction"):
        return []
    return [
        Question(
            "column",
            f"“{columns[0].title:.40}” holds amounts, and nothing says whether they came in or "
            "went out. Which is it?",
            (Answer("out", "what was given or handed out"), Answer("in", "what came in")),
            about=columns[0].title,
        )
    ]


def with_blanks_that_matter(sheet: NamedSheet) -> NamedSheet:
    """A book that asks of blanks only where they may mean the cell above.

    Parameters
    ----------
    sheet
        Each of its columns asks by itself; a line of what came in needs no client.
    """
    meanings = {one.title: one.meaning for one in sheet.columns}

    def matters(question: Question) -> bool:
        if question.field != "blank" or question.about not in meanings:
            return True
        role = meanings[question.about]
        if role == "client":
            return any(not row.own("client") and _goes_out(sheet, row) for row in sheet.rows)
        return role in _ASKED

    return replace(sheet, questions=tuple(one for one in sheet.questions if matters(one)))


def _goes_out(sheet: NamedSheet, row: NamedRow) -> bool:
    out = row.own("out")
    if sheet.has("direction"):
        return direction_of(row.own("direction")) != "in"
    return bool(out) and not NOTHING.fullmatch(out) if sheet.has("out") else True


def direction_of(cell: str) -> Way | Literal[""]:
    """Whether a line came in or went out, by a cell that says so; empty where it does not.

    Parameters
    ----------
    cell
        The cell.

    Examples
    --------
    >>> direction_of("Out"), direction_of("received"), direction_of("?")
    ('out', 'in', '')
    """
    word = " ".join(cell.casefold().split()).strip(" .:")
    return "in" if word in _IN else "out" if word in _OUT else ""
