"""Results of a laboratory out of any sheet: looked at with its questions, then saved."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput, NotFound
from store.exchange.columns.above import facts_above
from store.exchange.columns.named import NamedSheet, SheetKind, look_at
from store.exchange.columns.said import Said
from store.exchange.columns.words import same
from store.exchange.lab.heads import headings, one_question_of_blanks, with_results_of_their_own
from store.exchange.lab.keep import Saving, all_samples
from store.exchange.lab.resistance import Resistance, without_resistance
from store.exchange.lab.rows import Result, ResultRows
from store.exchange.lab.samples import Samples, awaited_for
from store.exchange.lab.settled import Planned, settle
from store.exchange.lab.sheet_kind import DAYS, LONG
from store.exchange.lab.told import refused_told, told_of
from store.exchange.lab.with_resistance import with_resistance
from store.exchange.named.day_roles import with_days_of
from store.exchange.named.kept import said_before
from store.exchange.named.planning import Preview, plan_of, refuse, save_plan
from store.exchange.named.ponds_asked import PondsAsked, Whose
from store.exchange.plain.planned import Done, Gathering
from store.exchange.sheets import Grid, SheetFile, read_file
from store.text import plain

__all__ = ["Planned", "look_at_lab", "save_lab"]

_KNOWN = {same(word): name for name, role in LONG.roles.items() for word in (name, *role.words)}
_NO_RESULTS = (
    "{name} has no column of results, so nothing was brought in. Head the columns with words such "
    "as case number, sample, test, result, or say which column is which."
)


def look_at_lab(
    path: Path,
    book: Book,
    now: datetime,
    *,
    said: Said | None = None,
    sheet: str | None = None,
    pond: str | UUID | None = None,
    use_remembered: bool = True,
) -> Preview[Planned]:
    """Look at a sheet of laboratory results; nothing is saved, open questions are handed back.

    Parameters
    ----------
    path
        CSV of any kind, or a workbook.
    book
        The practice's book.
    now
        The present instant.
    said
        What a person says: `column`, `order`, `year`, `blank`, `result` about a word of results,
        `test` about a test, `ponds` about a client or report.
    sheet
        Which sheet of a workbook is meant.
    pond
        The pond of the whole file: its key, code or name.
    use_remembered
        Take what was said for an earlier file with the same headings.

    Returns
    -------
    Preview of Planned
        With a plan once every question is answered.

    Raises
    ------
    BadInput
        When the file cannot be read, or has no column of results.
    """
    fresh = said or Said()
    file = read_file(path, separator=fresh.get("separator") or None)
    grid, resistance = _grids(file, fresh, sheet)
    today = book.today(now)
    told = [*file.remarks, *grid.remarks, *resistance.told]
    found, kind = _looked_at(file, grid, fresh, now, book)
    if use_remembered:
        before, sentence = said_before(book, kind.name, found.source)
        if sentence:
            told.append(sentence)
            found, kind = _looked_at(file, grid, fresh.over(before), now, book)
    header = [row.cells for row in found.head if row.line < found.header.line]
    facts = facts_above(header, _KNOWN)
    found = with_days_of(found, DAYS, [facts[role] for role in DAYS if role in facts])
    found = with_results_of_their_own(one_question_of_blanks(found))
    reader = ResultRows(found, facts)
    results = reader.results()
    gathering = Gathering()
    stopped = [(row.line, reader.notifiable_in(row), reason) for row, reason in reader.refused]
    for row, reason in reader.refused:
        refuse(gathering, row, reason)
    told += [
        f"Above the headings stands the {LONG.label(role)}: {text:.60}."
        for role, text in facts.items()
    ]
    beside = [tested for one in found.rows for tested in reader.beside(one)]
    results, more = with_resistance(results, resistance, beside)
    for raw, reason in more:
        gathering.refuse(raw, reason)
    samples = all_samples(book)
    ponds = PondsAsked(book, found.said, pond)
    placed, astray = _placed(results, ponds, Samples(samples), gathering)
    questions = (*found.questions, *reader.questions, *ponds.questions)
    if any(one.needed for one in questions):
        return Preview(found, fresh, questions, tuple(told), None, _names(file))
    settled = settle(placed, samples, today)
    for result, reason in settled.refused:
        refuse(gathering, result.row, reason)
    stopped += [(one.line, one.notifiable, reason) for one, reason in (*astray, *settled.refused)]
    items = settled.planned
    told = [
        *refused_told(stopped),
        *told_of(items, reader, samples),
        *told,
    ]  # what opens a suspicion stands first
    plan = plan_of(book, found, items, gathering, settled.already, told)
    rows = plan.rows_read + len(resistance.tested) + len(resistance.astray)
    heads = plan.heads
    if resistance.heads:
        # A line of a table of resistance is corrected under the headings of that table.
        heads = heads or ((0, (found.header.cells,)),)
        heads = (*heads, *((one.line, (one.cells,)) for one in resistance.heads))
    plan = replace(plan, rows_read=rows, heads=heads)
    return Preview(found, fresh, questions, plan.told, plan, _names(file))


def save_lab(book: Book, act: Act, preview: Preview[Planned]) -> Done:
    """Save the results of a sheet in one action; what came in meanwhile is not doubled.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    preview
        From `look_at_lab`, with a plan.

    Returns
    -------
    Done
        How many results were added.

    Raises
    ------
    BadInput, BookTrouble
        Nothing was saved; a question is open.
    """
    plan = preview.plan
    if plan is None:
        raise BadInput("The file leaves a question open; nothing was brought in.")
    saving = Saving(plan.items)
    return save_plan(book, act, plan, preview.sheet, preview.fresh, saving.add)


def _looked_at(
    file: SheetFile, grid: Grid, said: Said, now: datetime, book: Book
) -> tuple[NamedSheet, SheetKind]:
    head = headings(grid, said)
    if head is None:
        raise BadInput(_NO_RESULTS.format(name=plain(file.path.name)), field="column")
    line, kind = head
    placed = Said({**said.answers, "header_line": line})
    found = look_at(file, grid, kind, placed, book.today(now))
    return replace(found, said=said), kind


def _grids(file: SheetFile, said: Said, name: str | None) -> tuple[Grid, Resistance]:
    """The sheet with the results, and every table of resistance of the file."""
    shown = [one for one in file.grids if one.rows and not one.hidden]
    if name is not None or len(shown) < 2:
        return without_resistance(file.grid(name))
    parted = [without_resistance(one) for one in shown]
    holding = [(grid, tables) for grid, tables in parted if headings(grid, said) is not None]
    if len(holding) != 1:
        return without_resistance(file.grid(name))
    grid, own = holding[0]
    tables = [each for _, each in parted]
    return grid, Resistance(
        tuple(one for each in tables for one in each.tested),
        tuple(one for each in tables for one in each.astray),
        tuple(one for each in tables for one in each.told),
        own.heads,
    )


def _placed(
    results: Iterable[Result],
    ponds: PondsAsked,
    samples: Samples,
    gathering: Gathering,
) -> tuple[list[tuple[Result, UUID, str, str]], list[tuple[Result, str]]]:
    """Each result with its pond, as far as that is known; those that are refused, with why."""
    placed, astray = [], []
    for one in results:
        spoken_for = {each.pond_id for each in awaited_for(one, samples)}
        hint = spoken_for.pop() if len(spoken_for) == 1 else None
        label = f"sample {one.label}" if one.label else ""
        report = f"report {one.number.number}" if one.number.number else label
        whose = Whose(one.code, one.pond, one.client, report)
        try:
            pond = ponds.of(whose, one.line, hint)
        except (BadInput, NotFound) as error:
            refuse(gathering, one.row, error.message)
            astray.append((one, error.message))
            continue
        if pond is not None:
            placed.append((one, pond, ponds.called(pond), one.said))
    return placed, astray


def _names(file: SheetFile) -> tuple[str, ...]:
    return tuple(one.name for one in file.grids if one.rows and not one.hidden and one.name)
