"""A sheet as PDF, read back with another library than the one that wrote it."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from datetime import timedelta
from importlib import resources
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from store.courses.papers.mix_sheet import mix_paper
from store.courses.papers.owner_sheet import owner_sheet
from store.errors import PondroundError
from store.paper.paper import Paper
from store.paper.pdf import PdfSheet, as_pdf
from tests.courses.course_papers import HEAD, PLAN, WRITTEN, mixed

ROOT = Path(__file__).parents[2]
MM_PT = 72.0 / 25.4


@pytest.fixture(scope="module")
def paper() -> Paper:
    return owner_sheet(PLAN, HEAD, WRITTEN)


@pytest.fixture(scope="module")
def sheet(paper: Paper) -> PdfSheet:
    return as_pdf(paper)


def pages(sheet: PdfSheet) -> list[str]:
    return [page.extract_text() for page in PdfReader(BytesIO(sheet.data)).pages]


def letters(text: str) -> str:
    return "".join(text.split())


def test_every_line_can_be_read_back_in_its_order(paper: Paper, sheet: PdfSheet) -> None:
    """Without blanks: where a line breaks, and how far apart words stand, is not the sheet's."""
    read = pages(sheet)
    number = len(read)
    foot = letters(paper.foot)
    whole = ""
    for place, text in enumerate(read, start=1):
        assert letters(f"page {place} of {number}") in letters(text)
        whole += letters(text).replace(foot + letters(f"page {place} of {number}"), "")
    begin = 0
    told = [paper.title, *(f"{name}{value}" for name, value in paper.head)]
    for part in paper.parts:
        told += [part.title, *part.lines]
    for line in told:
        found = whole.find(letters(line), begin)
        assert found >= 0, line
        begin = found + len(letters(line))


def test_the_mix_sheet_prints() -> None:
    whole = letters("".join(pages(as_pdf(mix_paper(mixed(), HEAD, WRITTEN)))))
    for line in (*mixed().steps, *mixed().label):
        assert letters(line) in whole


def test_degrees_times_and_micro_are_printed(paper: Paper) -> None:
    shown = as_pdf(replace(paper, title="26.7 °C, 2 × 20 µL/L, ≤ 5 – “ten” ☐"))
    assert letters("26.7 °C, 2 × 20 µL/L, ≤ 5 – “ten” ☐") in letters(pages(shown)[0])
    assert shown.not_shown == ""


@pytest.mark.parametrize(
    "name",
    ["Ægir Łukasiewicz-Nguyễn", "Žofia Őry ĞÜNEŞ", "Ξένια Ωμέγα", "Жанна Їжак", "Þóra O’Neill"],
)
def test_names_in_many_letters(paper: Paper, name: str) -> None:
    shown = as_pdf(replace(paper, head=(("For", name),)))
    assert letters(name) in letters(pages(shown)[0])
    assert shown.not_shown == ""


def test_letters_without_a_picture_are_told(paper: Paper) -> None:
    shown = as_pdf(replace(paper, head=(("Pond", "鯉池 7"), ("For", "鯉 A\N{ZERO WIDTH JOINER}B"))))
    read = "".join(pages(shown))
    assert shown.not_shown == "鯉池"
    assert letters("Pond ?? 7") in letters(read)
    assert letters("For ? AB") in letters(read)
    assert letters("stand as ?") in letters(read)


def test_the_same_sheet_gives_the_same_bytes(paper: Paper, sheet: PdfSheet) -> None:
    assert as_pdf(paper).data == sheet.data
    assert as_pdf(replace(paper, written_on=WRITTEN + timedelta(1))).data != sheet.data


def test_what_is_told_of_the_file(paper: Paper, sheet: PdfSheet) -> None:
    reader = PdfReader(BytesIO(sheet.data))
    assert reader.metadata is not None
    assert reader.metadata.title == paper.title
    assert reader.metadata.creation_date is not None
    assert reader.metadata.creation_date.date() == WRITTEN
    assert len(reader.pages) == sheet.pages
    assert HEAD.client not in str(reader.metadata)


@pytest.mark.parametrize(("page", "size_mm"), [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))])
def test_page_sizes(paper: Paper, page: Any, size_mm: tuple[float, float]) -> None:
    box = PdfReader(BytesIO(as_pdf(paper, page=page).data)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(
        (size_mm[0] * MM_PT, size_mm[1] * MM_PT), abs=0.1
    )


def test_a_day_is_never_torn_apart(paper: Paper) -> None:
    days = tuple(one for one in paper.parts if one.level == 2)
    shown = pages(as_pdf(replace(paper, parts=days * 12)))
    assert len(shown) > 2
    for text in shown:
        assert letters(text).count(letters(days[0].lines[-1])) == letters(text).count(
            letters(f"{days[0].title}☐{days[0].lines[0]}")
        )


def test_without_the_typeface_it_says_so(paper: Paper, monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(package: str) -> None:
        raise ModuleNotFoundError(package)

    monkeypatch.setattr(resources, "files", missing)
    with pytest.raises(PondroundError, match="text or Markdown"):
        as_pdf(paper)


def test_nothing_of_it_is_loaded_before_it_is_needed() -> None:
    code = (
        "import sys, store.courses.papers.owner_sheet, store.courses.papers.mix_sheet, store.paper.pdf\n"
        "heavy = ('fpdf', 'fontTools', 'PIL', 'sqlalchemy', 'textual')\n"
        "assert not set(heavy) & {name.split('.')[0] for name in sys.modules}\n"
    )
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)
