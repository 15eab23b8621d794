"""The kit list on paper: what is ticked, what is not packed, labels, cautions once each."""

from __future__ import annotations

from datetime import date

from store.book.act import Act
from store.book.book import Book
from store.paper.paper import Paper, Part, as_markdown, as_text
from store.paper.pdf import as_pdf
from store.rounds.kit.values import KitList
from store.rounds.papers.kit_paper import NOTHING, kit_part
from tests.rounds.kit_ponds import TODAY, listed, pond, shelve, treat, visiting


def sheet(parts: tuple[Part, ...]) -> Paper:
    return Paper("A day", (("For", "Ada Vet"),), parts, "Ada Vet", TODAY)


def test_a_list_on_paper_names_sums_portions_labels_and_what_waits(
    sqlite_book: Book, act: Act
) -> None:
    first, second, third = (pond(sqlite_book, act, name) for name in ("Alder", "Teal", "Reed"))
    treat(sqlite_book, act, first)
    treat(sqlite_book, act, second)
    treat(sqlite_book, act, third, begun=False)
    shelve(sqlite_book, act)
    parts = kit_part(listed(sqlite_book, visiting(first, second, third)))
    by = {one.title: one for one in parts}
    (agents,) = by["Agents, summed over the ponds, with the margin on top"].lines
    assert agents == (
        "praziquantel (powder, 98 % by weight) (stops 1, 2); "
        "18.3 g + 18.3 g = 36.6 g, with 10 % margin 40.3 g → 1 pack of 100 g"
    )
    assert by["Weighed before leaving, and labelled"].shape == "checks"
    assert len(by["Weighed before leaving, and labelled"].lines) == 2
    (waits,) = by["Not packed"].lines
    assert "Reed, lower pond (stop 3); 18.3 g" in waits
    assert "a vet begins it" in waits
    assert by["Not packed"].shape == "points"
    labels = [one for one in parts if one.shape == "label"]
    assert [one.lines[1:3] for one in labels] == [
        ("18.3 g", "Alder, lower pond, stop 1"), ("18.3 g", "Teal, lower pond, stop 2"),
    ]  # fmt: skip
    people = by["For people who carry and weigh it"].lines
    assert people[0].startswith("praziquantel: Gloves;")
    assert people[-1] == "Local law, the label and the prescribing vet decide."
    assert parts[0].level == 1
    assert all(one.level == 2 for one in parts[1:])


def test_what_is_weighed_at_the_pond_has_no_label(sqlite_book: Book, act: Act) -> None:
    where = pond(sqlite_book, act, source_water="mains")
    treat(sqlite_book, act, where, water_change_percent=30.0)
    parts = kit_part(listed(sqlite_book, visiting(where)))
    labels = [one.lines[0] for one in parts if one.shape == "label"]
    assert labels == ["praziquantel: powder, 98 % by weight"]


def test_words_from_people_stay_on_their_line(sqlite_book: Book, act: Act) -> None:
    where = pond(sqlite_book, act, "Ill\n# *Will*\x1b[31m")
    treat(sqlite_book, act, where)
    parts = kit_part(listed(sqlite_book, visiting(where)))
    assert all("\n" not in line for one in parts for line in one.lines)
    text = as_text(sheet(parts))
    assert "\x1b" not in text
    assert "*Will*" not in as_markdown(sheet(parts))
    assert as_pdf(sheet(parts)).pages >= 1


def test_nobody_packs_for_an_empty_round() -> None:
    (one,) = kit_part(KitList(date(2026, 3, 14), "nobody", (), ()))
    assert one.lines == (NOTHING,)
