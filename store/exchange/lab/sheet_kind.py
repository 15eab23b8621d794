"""What the columns of a sheet of laboratory results are, one line a result or one line a sample."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

from store.exchange.columns.named import NOTE, Role, SheetKind
from store.exchange.lab.looked_for import hazards_of

TEST = "test "
"""Before the name of a test whose results stand in a column of their own."""
RESISTANCE = "resistance to "
"""Before the name of an antimicrobial with a column of S, I, R of its own."""

_ROLES = {
    "case": Role(
        ("case number", "case no", "case id", "lab ref", "lab reference", "lab number", "lab no",
         "laboratory number", "laboratory reference", "accession", "accession number",
         "accession no", "submission",
         "submission number", "submission no", "job number", "order number", "reference",
         "reference number", "ref", "our ref", "our reference", "auftragsnummer", "befundnummer",
         "tagebuchnummer", "fallnummer", "numéro de dossier", "dossiernummer"),
        carried=True, label="case number",
    ),
    "report": Role(
        ("report number", "report no", "report id", "certificate", "certificate number",
         "berichtsnummer", "numéro de rapport", "rapportnummer"),
        carried=True, label="report number",
    ),
    "version": Role(
        ("report version", "version number", "revision", "rev", "issue", "report status", "status",
         "report type"), carried=True,
    ),
    "sample": Role(
        ("sample number", "sample no", "sample id", "sample ref", "lab sample no",
         "lab sample number", "lab sample id", "laboratory sample number", "specimen",
         "specimen number",
         "specimen no", "specimen id", "tube", "tube no", "probe", "probennummer", "proben nr",
         "probe nr", "échantillon", "monster", "monsternummer", "muestra", "fish no",
         "fish number", "fish id"),
        carried=True, label="sample number",
    ),
    "mark": Role(
        ("your ref", "your reference", "client ref", "client reference", "client sample id",
         "sender ref", "sender's reference", "customer ref", "customer reference", "label",
         "marked", "marking", "sample name", "sample description", "identification",
         "kennzeichnung", "ihr zeichen"),
        carried=True, label="the sender's mark",
    ),
    "species": Role(
        ("fish species", "fish", "animal species", "animal", "host species", "host",
         "tierart", "fischart", "espèce", "diersoort",
         "especie"), carried=True,
    ),
    "organ": Role(
        ("organs", "tissue", "tissues", "material", "sample type", "specimen type", "matrix",
         "sample material", "sample matrix", "organe", "gewebe", "orgaan", "órgano"),
        carried=True,
    ),
    "test": Role(
        ("tests", "analysis", "assay", "analyte", "parameter", "agent", "pathogen", "target",
         "disease", "investigation", "examination", "test name", "test requested", "organism",
         "virus", "untersuchung", "erreger", "analyse", "agent pathogène", "onderzoek",
         "ziekteverwekker", "prueba"),
        carried=True, many=True,
    ),
    "result": Role(
        ("results", "finding", "findings", "outcome", "test result", "result/finding", "befund",
         "ergebnis",
         "ergebnisse", "résultat", "résultats", "resultaat", "uitslag", "resultado"),
    ),
    "verdict": Role(
        ("interpretation", "conclusion", "assessment", "evaluation", "bewertung", "beurteilung",
         "interprétation", "beoordeling"), label="interpretation",
    ),
    "ct": Role(("ct value", "ct-value", "ct wert", "cq", "cq value", "cp", "cp value"),
               label="Ct value"),
    "unit": Role(("units", "einheit", "unité", "eenheid")),
    "method": Role(
        ("technique", "methods", "method/sop", "sop", "method used", "method code", "test method",
         "procedure", "methode", "méthode"), carried=True,
    ),
    "taken": Role(
        ("date taken", "taken on", "sampled", "sampled on", "date sampled", "sampling date",
         "sample date", "collected", "collected on", "date collected", "collection date",
         "entnahme", "entnahmedatum", "probenahme", "prélevé", "afgenomen"),
        carried=True, label="day on which it was taken",
    ),
    "sent": Role(("date sent", "sent on", "posted", "dispatched", "date posted", "versandt"),
                 carried=True, label="day on which it was sent"),
    "received": Role(
        ("date received", "received on", "receipt", "date of receipt", "arrived", "eingang",
         "eingangsdatum", "reçu", "reçu le", "ontvangen", "recibido"),
        carried=True, label="day on which it was received",
    ),
    "reported": Role(
        ("date reported", "reported on", "report date", "date of report", "issued", "issued on",
         "date issued", "issue date", "result date", "date of result", "completed",
         "date completed", "befunddatum", "ausgang", "ausgangsdatum", "berichtsdatum",
         "rapporté", "gerapporteerd", "informado"),
        carried=True, label="day of the report",
    ),
    "laboratory": Role(("lab", "lab name", "laboratory name", "labor", "laboratoire",
                        "laboratorium"), carried=True),
    "client": Role(("owner", "customer", "client name", "keeper", "kunde", "besitzer",
                    "tierhalter", "sender", "einsender", "site", "premises"), carried=True),
    "pond": Role(("pond name", "tank", "teich", "bassin", "étang", "vijver", "estanque", "holding",
                  "water body"), carried=True),
    "code": Role(("pond code", "pond key", "pond id", "pond no", "pond number"), carried=True,
                 label="pond code"),
    **NOTE,
}  # fmt: skip
DAYS = ("taken", "sent", "received", "reported")
"""The columns of days, in the order in which they come."""


def _of_its_own(title: str) -> str:
    """A column of results under the name of a test: `KHV PCR`, or `test bacteriology` as said."""
    text = " ".join(title.split())
    if text.casefold().startswith(TEST) and len(text) > len(TEST):
        return TEST + text[len(TEST) :]
    return f"{TEST}{text}" if hazards_of(text) else ""


LONG = SheetKind("laboratory results", MappingProxyType(_ROLES), once=frozenset({"ponds"}))
"""One line a result: its columns name test and result."""
WIDE = replace(LONG, extra=_of_its_own)
"""One line a sample: a column for each test."""
