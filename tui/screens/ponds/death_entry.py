"""Entering dead fish and head counts of a pond."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, ClassVar
from uuid import UUID

from textual import work
from textual.binding import Binding, BindingType

from store.errors import BadInput, PondroundError
from tui.screens.parts.dialogs import Ask, AskReason, Choose, Option, Reason
from tui.screens.parts.once import once
from tui.screens.ponds.death_lines import said_size
from tui.screens.ponds.pond_entry import PondEntry
from tui.widgets.fields import Field, Form

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exams.deaths import DeathCount, Entered, NewDeaths

_CELLS = 34
_SIZE = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:(?:-|–|to)\s*(\d+(?:[.,]\d+)?))?\s*(?:cm)?", re.I)
_WHOLE = re.compile(r"\d{1,8}")


def typed_fish(text: str, field: str) -> int:
    """A number of fish as typed.

    Parameters
    ----------
    text
        In digits.
    field
        Where it was typed.

    Raises
    ------
    BadInput
        Empty, or no whole number: nobody looked is no entry, none found is 0.
    """
    said = text.strip().replace(",", "").replace(" ", "")
    if said.casefold() in ("none", "nil"):
        return 0
    if not _WHOLE.fullmatch(said):
        why = "How many" if not said else f"“{text.strip()[:20]}” is no number of fish. How many"
        raise BadInput(f"{why}? Write 0 where none was found. Nothing was saved yet.", field=field)
    return int(said)


def typed_size(text: str) -> tuple[float | None, float | None]:
    """A length or a range of lengths as typed [cm].

    Parameters
    ----------
    text
        Such as `30-45` or `30 cm`; empty is not measured.

    Raises
    ------
    BadInput
        It cannot be read.
    """
    said = text.strip()
    if not said:
        return None, None
    found = _SIZE.fullmatch(said)
    if found is None:
        raise BadInput(
            f"“{said[:20]}” is no length. Write 30 or 30-45, in cm. Nothing was saved yet.",
            field="length",
        )
    low = float(found[1].replace(",", "."))
    return low, float(found[2].replace(",", ".")) if found[2] else low


class DeathEntryScreen(PondEntry):
    """Dead fish of one kind on one day.

    Parameters
    ----------
    pond
        Key of the pond.
    old
        An entry to be put right; None for a new one.
    """

    TITLE_SAID = "Dead fish"
    DRAFT = "deaths"
    QUESTION = "How many fish were found dead, of which kind, on which day?"
    ABOUT = (
        "0 is a count: somebody looked and found none. A day without an entry was not looked at. "
        "Each kind of fish is an entry of its own; entries of one day add up. Signs are typed by "
        "their words with commas between; F3 picks one from the list."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f3", "sign", "pick a sign", key_display="F3", id="deaths.sign",
                tooltip="Pick a sign from the list; it is added to those typed"),
    ]  # fmt: skip

    def __init__(self, pond: UUID, old: DeathCount | None = None) -> None:
        super().__init__(pond)
        self.old = old
        self._form: Form | None = None

    def prepare(self, book: Book, today: date) -> Sequence[Field]:
        """Day, number, kind, size, signs, note."""
        from store.book.ponds import pond
        from store.exams.deaths import signs_typed_as
        from store.exams.head_counts import stock

        kinds = [one.species for one in stock(book, self.pond, today).lines if one.species]
        stocked = ", ".join(kinds) or pond(book, self.pond).species[:40] or "koi, goldfish"
        old = self.old
        day = "today" if old is None else old.on_day.isoformat()
        size = "" if old is None else said_size(old.length_low_cm, old.length_high_cm)
        return (
            Field("on_day", "day", "today, Mon, 12 Mar", day, width=_CELLS),
            Field("dead", "dead", "0: looked, none found", "" if old is None else f"{old.dead}",
                  width=_CELLS),
            Field("species", "kind", stocked, "" if old is None else old.species, width=_CELLS),
            Field("length", "size", "cm, 30 or 30-45", size, width=_CELLS),
            Field("signs", "signs", "F3 picks; commas between",
                  "" if old is None else signs_typed_as(old.signs), width=_CELLS),
            Field("note", "note", "in words", "" if old is None else old.note, lines=3),
        )  # fmt: skip

    def ready(self, form: Form) -> None:
        """Signs are added here."""
        self._form = form

    @work(group="deaths-sign", exclusive=True)
    async def action_sign(self) -> None:
        """Pick a sign from the list."""
        from store.exams.deaths import signs_typed_as
        from store.facts.signs import signs

        if self._form is None:
            return
        # What shows on a dead fish comes before how a living one behaves.
        listed = sorted(signs().items(), key=lambda one: one[1].kind != "sign")
        options = [Option(code, one.words, one.kind) for code, one in listed]
        code = await self.app.push_screen_wait(Choose("Which sign?", options))
        if code is None:
            return
        typed = [one.strip() for one in self._form.values["signs"].split(",") if one.strip()]
        said = signs_typed_as([str(code)])
        if said not in typed:
            typed.append(said)
        self._form.fill({"signs": ", ".join(typed)})

    def understood(self, values: Mapping[str, str], today: date) -> NewDeaths:
        """What was typed, in units; the sentence of an error stands at its field.

        Parameters
        ----------
        values
            The texts of the form.
        today
            The practice's calendar day.
        """
        from store.book.days import typed_day
        from store.exams.deaths import NewDeaths, typed_signs

        low_cm, high_cm = typed_size(values["length"])
        return NewDeaths(
            on_day=typed_day(values["on_day"], today, ahead=False),
            dead=typed_fish(values["dead"], "dead"),
            species=values["species"].strip(),
            length_low_cm=low_cm,
            length_high_cm=high_cm,
            signs=typed_signs(values["signs"]),
            note=values["note"],
        )

    def save(self, book: Book, act: Act, values: Mapping[str, str]) -> None:
        """Save it whatever is doubtful; the questions were asked before."""
        self._keep(book, act, values, "", sure=True)

    def _keep(
        self, book: Book, act: Act, values: Mapping[str, str], why: str, *, sure: bool
    ) -> Entered:
        from store.exams.deaths import correct_deaths, record_deaths

        deaths = self.understood(values, book.today(act.at))
        with book.writing(act) as writing:
            if self.old is None:
                return record_deaths(writing, self.pond, deaths, sure=sure)
            return correct_deaths(writing, self.old.id, self.old.rev, why, deaths, sure=sure)

    @once("entry-save")
    async def _save(self, form: Form, values: Mapping[str, str]) -> None:
        app = self.ponds_app
        act = await app.acting()
        if act is None:
            return
        why = ""
        try:
            await app.ask_store(self.understood, values, app.book.today(act.at))
            if self.old is not None:
                reason = await app.push_screen_wait(
                    AskReason("Put this entry right", "Why? The old one stays, struck through.")
                )
                if not isinstance(reason, Reason):
                    return
                why = reason.text
            entered = await app.ask_store(self._keep, app.book, act, values, why, sure=False)
            if entered.key is None:
                sure = await app.push_screen_wait(
                    Ask("Save this all the same?", "\n".join(entered.doubts), yes="Save",
                        no="Look again")
                )  # fmt: skip
                if not sure:
                    return
                await app.ask_store(self._keep, app.book, act, values, why, sure=True)
        except BadInput as trouble:
            form.show_error(trouble)
            return
        except PondroundError as trouble:
            app.tell(trouble)
            return
        form.saved()
        app.changed()
        self.dismiss(None)


class HeadCountScreen(PondEntry):
    """How many fish of a kind swim in a pond."""

    TITLE_SAID = "Head count"
    DRAFT = "head_count"
    QUESTION = "How many fish swim here, of which kind, and how was that found?"
    ABOUT = (
        "Every share of deaths is over a head count, and is as old and as sure as that. The count "
        "holds at the end of its day. From there the ledger goes on: less the dead and those that "
        "left, and those that came. Leave the kind empty for all fish together."
    )

    def prepare(self, book: Book, today: date) -> Sequence[Field]:
        """Day, number, kind, how, note."""
        from store.book.ponds import pond
        from store.exams.head_counts import HOW

        stocked = pond(book, self.pond).species[:40]
        return (
            Field("on_day", "day", "today, Mon, 12 Mar", "today", width=_CELLS),
            Field("fish", "fish", "how many", width=_CELLS),
            Field("species", "kind", stocked or "empty: all together", width=_CELLS),
            Field("how", "how", "", choices=tuple((one, one) for one in HOW), width=_CELLS),
            Field("note", "note", "in words", lines=3),
        )

    def save(self, book: Book, act: Act, values: Mapping[str, str]) -> None:
        """Enter the count."""
        from store.book.days import typed_day
        from store.exams.head_counts import HOW, record_head_count

        fish = typed_fish(values["fish"], "fish")
        how = next((one for one in HOW if one == values["how"]), None)
        if how is None:
            raise BadInput(
                "How was that found: counted, netted, estimated, or told? Nothing was saved yet.",
                field="how",
            )
        on_day = typed_day(values["on_day"], book.today(act.at), ahead=False)
        with book.writing(act) as writing:
            record_head_count(
                writing, self.pond, on_day, fish, species=values["species"], how=how,
                note=values["note"],
            )  # fmt: skip
