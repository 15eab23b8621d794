"""Sheets with facts, lines to write on, and parts that stay together, in every shape."""

from __future__ import annotations

import textwrap
from dataclasses import replace
from datetime import date
from io import BytesIO

import pytest
from pypdf import PdfReader

from store.paper.paper import RULE, Paper, Part, as_markdown, as_text
from store.paper.pdf import as_pdf

FACTS = Part("The house", ("Address: 4 Mill Lane", "Way in: code: *4711*", "no name here"), "facts")
BLANKS = Part("Notes", ("Rung at", ""), "blanks", level=2)
WORDS = "Some words that fill a good part of a line, so that a page is full after a while."


def paper(*parts: Part) -> Paper:
    return Paper("A sheet", (("For", "Ada"),), parts, "the foot", date(2026, 3, 14))


def pages(made: Paper, page: str = "A4") -> list[str]:
    pdf = as_pdf(made, page=page)  # type: ignore[arg-type]
    return [one.extract_text() for one in PdfReader(BytesIO(pdf.data)).pages]


def test_facts_stand_beside_their_names_in_text() -> None:
    told = as_text(paper(FACTS))
    assert "Address: 4 Mill Lane\nWay in:  code: *4711*\n         no name here\n" in told


def test_a_long_fact_goes_on_below_itself() -> None:
    told = as_text(paper(Part("", (f"Way in: {WORDS} {WORDS}",), "facts")), width=60)
    lines = [line for line in told.splitlines() if "words" in line or "good" in line]
    assert all(line.startswith(("Way in: ", "        ")) for line in lines)
    assert max(map(len, told.splitlines())) <= 60


def test_blanks_reach_to_the_end_of_the_line() -> None:
    lines = as_text(paper(BLANKS), width=50).splitlines()
    assert "Rung at " + "_" * 42 in lines
    assert "_" * 50 in lines
    long = paper(Part("", ("x" * 45,), "blanks"))
    assert as_text(long, width=50).count("\n" + "_" * 50) == 1


def test_both_in_markdown() -> None:
    told = as_markdown(paper(FACTS, BLANKS))
    assert "- **Address:** 4 Mill Lane\n- **Way in:** code: \\*4711\\*\n- no name here" in told
    escaped = RULE.replace("_", "\\_")
    assert f"- Rung at {escaped}\n- {escaped}" in told


def test_both_in_print() -> None:
    (page,) = pages(paper(FACTS, BLANKS))
    for said in ("Address", "4 Mill Lane", "code: *4711*", "no name here", "Rung at"):
        assert said in page


@pytest.mark.parametrize("page", ["A4", "Letter"])
def test_what_keeps_together_is_on_one_page(page: str) -> None:
    """Blocks of a third of a page each: never is one broken, whatever stands before it."""
    block = (
        Part("Begins {}", (WORDS,) * 5, keeps=True),
        Part("under {}", (WORDS,) * 3, level=2),
        Part("ends {}", ("", ""), "blanks", level=2),
    )
    made = [replace(one, title=one.title.format(n)) for n in range(9) for one in block]
    texts = pages(paper(Part("First", (WORDS,) * 7), *made), page)
    for n in range(9):
        (where,) = [place for place, text in enumerate(texts) if f"Begins {n}" in text]
        assert f"ends {n}" in texts[where]
        assert "(continued)" not in texts[where]
    assert len(texts) < 9  # and the pages are not left empty for it


def test_what_does_not_fit_is_named_again() -> None:
    made = paper(
        Part("Long house", (WORDS,) * 20, keeps=True),
        *(Part(f"part {n}", (WORDS,) * 12, level=2) for n in range(4)),
        Part("Next", (WORDS,)),
    )
    first, second, *rest = pages(made)
    assert "(continued)" not in first
    assert second.startswith("Long house (continued)")
    assert all("Next (continued)" not in one for one in rest)


def test_the_other_part_after_it_is_not_called_a_continuation() -> None:
    texts = pages(paper(Part("House", (WORDS,), keeps=True), Part("Kit", (WORDS,) * 80)))
    assert len(texts) > 1
    assert not any("(continued)" in one for one in texts)


def test_a_fresh_part_begins_a_page() -> None:
    first, second = pages(paper(Part("A", ("a",)), Part("Kit list", ("b",), fresh=True)))
    assert "Kit list" not in first
    assert "Kit list" in second


def test_a_fresh_part_that_begins_one_anyhow_leaves_no_empty_page() -> None:
    made = replace(paper(Part("Kit list", ("b",), fresh=True)), head=(), title="")
    assert all("Kit" in one or "b" in one or one for one in pages(made))
    assert len(pages(made)) <= 2


def test_lines_are_as_wide_as_the_page_and_no_wider() -> None:
    told = as_text(paper(FACTS, BLANKS, Part("x", (WORDS,) * 2, "checks")), width=44)
    assert max(map(len, told.splitlines())) <= 44
    assert textwrap.dedent(told) == told
