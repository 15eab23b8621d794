"""The mix sheet of a medicated feed as it lies beside the scale, with its label."""

from __future__ import annotations

from datetime import date

from store.courses.baths.weighing import measured
from store.courses.feeding.mix import Ingredient, MixSheet, Weighed, mix_sheet
from store.courses.papers.owner_sheet import EATING
from store.courses.planning.course import Plan, Use
from store.courses.planning.fed import is_fed
from store.errors import BadInput
from store.paper.paper import Letterhead, Paper, Part, date_in_words, head_rows, one_line
from store.water.given import figures

TITLE = "Medicated feed: how to mix it"
_LABEL_EATING: dict[Use, str] = {
    "ornamental": "For fish that are not for eating",
    "food": "Fish fed with it are not for eating or sale until the vet gives a day in writing",
    "not asked": "Fish fed with it are not for eating until the vet has said so",
}
DRAFT = "A draft: no vet keeps it as a course, and nothing of it is fed"
PRESCRIBED = "What goes in, how much of it and for how long: the prescribing vet."


def mix_paper(
    sheet: MixSheet,
    letterhead: Letterhead,
    written_on: date,
    *,
    use: Use = "not asked",
    prescribed: bool = True,
) -> Paper:
    """The mix sheet as paper: what to weigh, the order of work, cautions, the label.

    Parameters
    ----------
    sheet
        The mix sheet; its weights [g], volumes [mL] and days are told as they stand there.
    letterhead
        Who hands it to whom; no other word about the client stands on the sheet.
    written_on
        The day on which it is handed out.
    use
        What the fish are declared to be; whether they may be eaten stands on the label too.
    prescribed
        Whether a vet keeps it as a course; else the sheet and its label say that it is a draft.

    Returns
    -------
    Paper
        The sheet; its last part is the label.

    Raises
    ------
    BadInput
        Nobody to ring is named.
    """
    head = head_rows(letterhead, written_on)
    batches = "the one batch" if sheet.batches == 1 else f"each of {sheet.batches} equal batches"
    if sheet.last_days < sheet.batch_days and sheet.batches > 1:
        batches = f"each of {sheet.batches} batches but the last"
    label = (*sheet.label, *_on_label(sheet, letterhead, use, prescribed=prescribed))
    parts = (
        Part(f"To weigh for {batches}", _weights(sheet), "checks"),
        Part("Order of work", sheet.steps, "steps"),
        Part("To keep yourself and others safe", sheet.cautions),
        Part("To mind", (*(() if prescribed else (DRAFT,)), *sheet.remarks)),
        Part("Use by", _use_by(sheet)),
        Part("Food and the law", (EATING[use],), "words"),
        Part(
            "What this rests on",
            (
                *((PRESCRIBED,) if prescribed else ()),
                f"Binder, storage and order of work: {sheet.source}.",
            ),
        ),
        Part("Label", label, "label"),
    )
    return Paper(
        title=TITLE,
        head=head,
        parts=tuple(part for part in parts if part.lines),
        foot=f"{dict(head)['Pond']}, {date_in_words(written_on)}",
        written_on=written_on,
    )


def _on_label(
    sheet: MixSheet, letterhead: Letterhead, use: Use, *, prescribed: bool
) -> tuple[str, ...]:
    """For how long, who made it and whom to ring, for the tub stands alone in a shed."""
    vet = one_line(letterhead.vet)
    days = f"{sheet.batch_days} day" + ("" if sheet.batch_days == 1 else "s")
    return (
        *((f"One batch is for {days}",) if sheet.batch_days else ()),
        _LABEL_EATING[use],
        *((f"As prescribed by {vet}",) if vet and prescribed else ()),
        *(() if prescribed else (DRAFT,)),
        f"{one_line(letterhead.practice)}, telephone {one_line(letterhead.telephone)}",
    )


def feed_mix(plan: Plan, mixed_on: date, for_whom: str = "") -> MixSheet:
    """The mix sheet of a course that is given with the feed.

    Parameters
    ----------
    plan
        The course.
    mixed_on
        The day on which the first batch is mixed.
    for_whom
        Client and pond, for the label.

    Returns
    -------
    MixSheet
        What is weighed for each batch, as the batches of the plan are.

    Raises
    ------
    BadInput
        Nothing of the course is given with the feed.
    """
    fed = [one for one in plan.steps if is_fed(one) and one.ration is not None]
    if not fed:
        raise BadInput("Nothing of this course is given with the feed.", title="No feed to mix")
    ration = fed[0].ration
    assert ration is not None
    return mix_sheet(
        ration.feed_kg,
        [
            Ingredient(
                one.product.name or plan.plain_name(one.agent),
                one.ration.mg_per_kg_feed,
                one.product.strength_percent,
                one.product.basis,
                one.product.density_g_ml,
                plan.plain_name(one.agent),
            )
            for one in fed
            if one.ration is not None
        ],
        ration.binder,
        mixed_on,
        days=ration.feed_days,
        batch_days=fed[0].interval_days,
        for_whom=for_whom,
    )


def _all(one: Weighed, batches: int) -> float:
    return one.each.measured * (batches - 1) + one.last.measured


def _weights(sheet: MixSheet) -> tuple[str, ...]:
    lines = [f"{measured(sheet.batch_feed_kg * 1000.0, 'g').said} of dry feed"]
    for one in sheet.weighed:
        together = (
            ""
            if sheet.batches == 1
            else f" ({figures(_all(one, sheet.batches))} {one.each.unit} for all batches)"
        )
        lines.append(f"{one.each.said} of {one_line(one.name)}{together}")
    lines.append(f"{sheet.batch_binder.said} of {sheet.binder.name}")
    if sheet.batch_water is not None:
        lines.append(f"{sheet.batch_water.said} of water")
    return tuple(lines)


def _use_by(sheet: MixSheet) -> tuple[str, ...]:
    kept = f"kept {sheet.binder.kept}"
    said = (
        f"Mixed on {date_in_words(sheet.mixed_on)}: feed it until {date_in_words(sheet.use_by)}, "
        f"{kept}. Bring what is left after that back to the practice."
    )
    if sheet.batches == 1:
        return (said,)
    return (said, f"A batch mixed later keeps {sheet.binder.keep_days} days from its own day.")
