"""Files of every kind as raw cells: the same cells whatever the file is written in, or a sentence."""

from __future__ import annotations

import io
import zipfile
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from openpyxl.comments import Comment
from openpyxl.styles import Font, PatternFill

from store.errors import BadInput, PondroundError
from store.exchange.sheets import Grid, how_written, read_file

TITLED = 'Pond log of the garden\n\nDate;Temp (°C);pH;note\n2026-03-02;9,5;7,4;"clear; calm"\n'


def cells(grid: Grid) -> list[tuple[str, ...]]:
    return [row.cells for row in grid.rows]


def written(folder: Path, data: bytes, name: str = "sheet.csv") -> Path:
    path = folder / name
    path.write_bytes(data)
    return path


def workbook(folder: Path, rows: list[list[Any]], name: str = "sheet.xlsx") -> Path:
    book = openpyxl.Workbook()
    for row in rows:
        book.active.append(row)
    path = folder / name
    book.save(path)
    return path


@pytest.mark.parametrize(
    ("encoding", "told"),
    [
        ("utf-8", ""), ("utf-8-sig", ""), ("utf-16", ""), ("utf-32", ""),
        ("utf-16-le", "UTF-16"), ("utf-16-be", "UTF-16"), ("cp1252", "Windows-1252"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_every_encoding_and_line_end(tmp_path: Path, encoding: str, told: str, end: str) -> None:
    path = written(tmp_path, TITLED.replace("\n", end).encode(encoding))
    found = read_file(path)
    assert cells(found.grid()) == [
        ("Pond log of the garden",),
        ("Date", "Temp (°C)", "pH", "note"),
        ("2026-03-02", "9,5", "7,4", "clear; calm"),
    ]
    assert [row.line for row in found.grid().rows] == [1, 3, 4]
    assert found.separator == ";"
    assert told in " ".join(found.remarks)
    assert bool(found.remarks) == bool(told)
    assert (how_written(path).encoding, how_written(path).separator) == (found.encoding, ";")


@pytest.mark.parametrize(
    ("text", "separator", "width"),
    [
        ("a,b,c\n1,2,3\n", ",", 3),
        ("a\tb\n1,5\t2,5\n3,5\t4,5\n", "\t", 2),
        ("Datum;Temp\n1,5;2,5\n3,5;4,5\n", ";", 2),
        ("date,pH,note\n1,7,fine; calm\n2,7,fine; hot\n", ",", 3),
        ("date|pH\n1|7\n", "|", 2),
        ("sep=;\na,b;c\n", ";", 2),
        ("one column\n1\n2\n", ",", 1),
        ('"Title, with a comma"\nday;pH\n1;7,2\n', ";", 2),
    ],
)
def test_the_separator_is_found(tmp_path: Path, text: str, separator: str, width: int) -> None:
    found = read_file(written(tmp_path, text.encode()))
    assert found.separator == separator
    assert len(found.grid().rows[-1].cells) == width


def test_a_quotation_mark_alone_swallows_no_rows(tmp_path: Path) -> None:
    text = 'day,pH,note\n1,7.1,"open\n2,7.2,fine\n3,7.3,"shut"\n4,7.4,"open again\n5,7.5,end\n'
    found = read_file(written(tmp_path, text.encode()))
    assert [row.cell(1) for row in found.grid().rows] == ["pH", "7.1", "7.2", "7.3", "7.4", "7.5"]
    assert "quotation mark" in found.remarks[-1]
    paired = 'day,pH,note\n1,7.1,"open\n2,7.2,fine\n3,7.3,"shut",x\n4,7.4,fine\n'
    found = read_file(written(tmp_path, paired.encode()))
    assert [row.cell(1) for row in found.grid().rows][-3:] == ["7.2", "7.3", "7.4"]
    kept = 'day,pH,note\n1,7.1,"two\nlines"\n2,7.2,\n'
    found = read_file(written(tmp_path, kept.encode()))
    assert found.grid().rows[1].cells == ("1", "7.1", "two\nlines")
    assert found.remarks == ()


def test_spoilt_bytes_are_told_and_seen(tmp_path: Path) -> None:
    found = read_file(written(tmp_path, "day,Temp °C,µS\n1,9\xb0,3é\n".encode() + b"2,7\xff2,4\n"))
    assert found.grid().rows[2].cells == ("2", "7\N{REPLACEMENT CHARACTER}2", "4")
    assert "spoilt" in found.remarks[0]
    found = read_file(written(tmp_path, b"day,pH\n1,7\x002\n" + b"\0" * 3))
    assert found.grid().rows[1].cells == ("1", "7\N{REPLACEMENT CHARACTER}2")
    assert "empty bytes" in found.remarks[0]


def test_a_workbook_as_it_would_be_typed(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Upper pond", None, None, "Lower pond"])
    sheet.merge_cells("A1:C1")
    sheet.append(["day", "clock", "pH", "share", "limit", "with unit", "sum", "hidden"])
    sheet.append(
        [date(2026, 3, 2), time(7, 40), 7.4, 0.85, 0.05, 19.5, "=C3*2", 1, True, 0.1 + 0.2]
    )
    early = datetime(2026, 3, 3, 7, 39, 59, 900_000)  # noqa: DTZ001
    sheet.append([early, None, 7.0, "8,2", "trace"])
    sheet.append([None, None, 1e-7])
    sheet["D3"].number_format, sheet["E3"].number_format = "0%", '"<"0.00'
    sheet["F3"].number_format = '0.0" °C"'
    sheet.merge_cells("A4:A5")
    sheet["C4"].font = Font(strike=True)
    sheet["C3"].fill = PatternFill("solid", fgColor="FF0000")
    sheet["C3"].comment = Comment("after rain", "B")
    sheet.column_dimensions["H"].hidden = True
    sheet.row_dimensions[4].hidden = True
    spare = book.create_sheet("old")
    spare.append(["day", "pH"])
    spare.sheet_state = "hidden"
    path = tmp_path / "sheet.xlsx"
    book.save(path)
    found = read_file(path)
    assert found.workbook
    grid = found.grid()
    assert grid.rows[2].cells == (
        "2026-03-02", "07:40", "7.4", "85%", "<0.05", "19.5 °C", "=C3*2", "1", "TRUE", "0.3",
    )  # fmt: skip
    assert grid.rows[3].cells == ("2026-03-03 07:40", "", "7", "8,2", "trace")
    assert grid.rows[4].cells == ("2026-03-03 07:40", "", "0.0000001")
    assert (grid.hidden_columns, grid.hidden_lines) == ({7}, {4})
    assert grid.struck == {(4, 2)}
    assert [(one.first_column, one.last_column) for one in grid.merged] == [(0, 2), (0, 0)]
    told = " ".join(grid.remarks)
    for part in ("Hidden columns: H", "1 hidden rows", "C4", "1 formula has", "colour", "comments"):
        assert part in told, part
    assert "old" in found.remarks[0]
    assert cells(found.grid("OLD")) == [("day", "pH")]
    with pytest.raises(BadInput, match="no sheet") as refused:
        found.grid("new")
    assert refused.value.field == "sheet"


def test_which_sheet_is_asked(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.append(["a"])
    book.create_sheet("second").append(["b"])
    book.create_sheet("empty")
    book.save(tmp_path / "sheet.xlsx")
    with pytest.raises(BadInput, match=r"several sheets: “Sheet”, “second”\. Which"):
        read_file(tmp_path / "sheet.xlsx").grid()


def test_an_empty_result_of_a_formula_is_an_empty_cell(tmp_path: Path) -> None:
    path = workbook(tmp_path, [["day", "pH"], ["1", "=A2"]])
    made = io.BytesIO()
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(made, "w") as new:
        for part in old.infolist():
            data = old.read(part)
            if part.filename == "xl/worksheets/sheet1.xml":
                data = data.replace(
                    b'<c r="B2"><f>A2</f><v />', b'<c r="B2" t="str"><f>A2</f><v></v>'
                )
                assert b't="str"' in data
            new.writestr(part, data)
    path.write_bytes(made.getvalue())
    assert read_file(path).grid().rows[1].cells == ("1",)


def packed(**parts: bytes) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as file:
        for name, data in parts.items():
            file.writestr(name.replace("__", "/"), data)
    return made.getvalue()


@pytest.mark.parametrize(
    ("data", "part"),
    [
        (b"", "no header"),
        (b"\0" * 90, "holds nothing"),
        (b"\n ;;;\n", "holds nothing"),
        (b"%PDF-1.7 ...", "is a PDF"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 90, "old kind"),
        (bytes(range(256)) * 9, "no text"),
        (b"PK\x03\x04\0\0\0\0", "cannot be read as a workbook"),
        (packed(notes=b"x"), "no workbook"),
        (packed(mimetype=b"x"), "another kind"),
        (packed(**{"[Content_Types].xml": b"<a/>"}), "cannot be read as a workbook"),
        (packed(**{"[Content_Types].xml": b" " * 250_000_000}), "250 MB unpacked"),
        (("a," * 3000).encode(), "columns"),
    ],
)  # fmt: skip
def test_what_is_no_sheet_is_refused_in_a_sentence(tmp_path: Path, data: bytes, part: str) -> None:
    with pytest.raises(BadInput, match=part):
        read_file(written(tmp_path, data))


def test_limits_and_names(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="larger than"):
        read_file(written(tmp_path, b"a,b\n" * 90), most_bytes=100)
    with pytest.raises(BadInput, match="cannot be read"):
        read_file(tmp_path / "none.csv")
    with pytest.raises(BadInput, match="no encoding"):
        read_file(written(tmp_path, b"a,b\n"), encoding="klingon")
    assert read_file(written(tmp_path, b"a;b,c\n"), separator=";").grid().width == 2
    far = openpyxl.Workbook()
    for line in range(1, 800):
        far.active.cell(line, 16_000, "x")
    far.save(tmp_path / "far.xlsx")
    with pytest.raises(BadInput, match="too far apart"):
        read_file(tmp_path / "far.xlsx")


def test_entities_that_grow_are_refused(tmp_path: Path) -> None:
    path = workbook(tmp_path, [["day", "pH"]])
    made = io.BytesIO()
    with zipfile.ZipFile(path) as old, zipfile.ZipFile(made, "w") as new:
        for part in old.infolist():
            data = old.read(part)
            if part.filename == "xl/worksheets/sheet1.xml":
                data = b'<!DOCTYPE a [<!ENTITY b "ha"><!ENTITY c "&b;&b;">]>' + data
            new.writestr(part, data)
    path.write_bytes(made.getvalue())
    with pytest.raises(BadInput, match="cannot be read as a workbook"):
        read_file(path)


WORD = st.text(st.characters(exclude_categories=["C", "Z"], exclude_characters='"'), min_size=1, max_size=8)  # fmt: skip
TABLE = st.integers(2, 6).flatmap(
    lambda width: st.lists(st.lists(WORD, min_size=width, max_size=width), min_size=2, max_size=8)
)


@given(
    table=TABLE,
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    separator=st.sampled_from([",", ";", "\t"]),
    end=st.sampled_from(["\n", "\r\n"]),
)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_quoted_cells_come_back_whatever_parts_them(
    tmp_path: Path, table: list[list[str]], encoding: str, separator: str, end: str
) -> None:
    text = end.join(separator.join(f'"{cell}"' for cell in row) for row in table) + end
    found = read_file(written(tmp_path, text.encode(encoding)))
    assert cells(found.grid()) == [tuple(row) for row in table]


@given(data=st.binary(max_size=300) | st.text(max_size=200).map(str.encode))
@example(b'"')
@example(b"\xff\xfe")
@example(b"sep=;")
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_are_cells_or_a_sentence(tmp_path: Path, data: bytes) -> None:
    path = written(tmp_path, data)
    try:
        found = read_file(path)
    except PondroundError:
        return
    assert all(any(cell.strip() for cell in row.cells) for row in found.grids[0].rows)
    how_written(path)


@pytest.mark.parametrize(
    "text",
    [
        "My pond, spring, log;;;;\nDate;pH;temp;KH;notes\n1.3.2026;7,4;9,5;5,5;a\n2.3.2026;7,4;9,5;5,5;b",
        "Year;2026;;\nDate;pH;temp;KH\n1.3.2026;7,4;9,5;5,5\n2.3.2026;7,4;9,5;5,5",
        "Log,,,\nDate,pH,temp,notes\n1/3/2026,7.4,9.5,a; b\n2/3/2026,7.4,9.5,c; d",
    ],
)
def test_a_title_filled_up_with_empty_cells_does_not_decide(tmp_path: Path, text: str) -> None:
    path = tmp_path / "log.csv"
    path.write_text(text, encoding="utf-8")
    rows = read_file(path).grid().rows
    assert [len(row.cells) for row in rows] == [len(rows[0].cells)] * len(rows)
    assert rows[1].cells[1] == "pH"
