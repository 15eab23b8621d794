"""Draws the files of `demo_sites/as_brought`: what owners and others bring, with their oddities.

Run as `python -m tests.bench.make_brought_files`; it gives the same cells each time. Everybody in
them is invented, and so is every value.
"""

from __future__ import annotations

import csv
import math
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from openpyxl import Workbook
from openpyxl.styles import PatternFill

FOLDER = Path(__file__).parents[2] / "demo_sites" / "as_brought"
_RED = PatternFill("solid", start_color="FFE08080")

KEEPER: tuple[tuple[object, ...], ...] = (
    ("Our pond at Plover Close - L. Trask", None, None, None, None, None, None, None, None),
    ("All with the strip kit unless I say so", None, None, None, None, None, None, None, None),
    (),
    ("Day", "When", "Water", "pH", "Ammonia NH3-N", "Nitrite NO2", "KH", "Weather", "What I did"),
    (None, None, "°F", None, "mg/l", "mg/l", "°dKH", None, None),
    ("28/02/2026", "am", "44", "7,6", "<0.1", "0", "5", "frost", "feeding stopped"),
    (date(2026, 3, 7), "am", 46.4, 7.6, "0,1", "0.05", 5, "rain", None),
    ("14.3.26", "pm", "51", "7,8", "0.25", "0.1", "5", None, "first wheatgerm"),
    ("21/3/2026", None, "52.5", "8.0 ish", "0.5", "0.2", "4", "sun", "filter rinsed in the pond water"),
    ("21/3/2026", "pm", "54", "8.4", "-", "-", "-", "sun", None),
    ("28/03/2026", "am", "53", "7.8", "1.0", "0,5", "4", "windy", "a quarter of the water changed"),
    (date(2026, 4, 4), "am", 55, 7.7, "trace", "0.3", 4, None, "as told"),
    (),
    ("11/04/2026", "am", "n/a", "7,7", "0.1", "0.1", "5", "mild", "thermometer broken"),
    ("18/04/2026", "am", "57", "7.6", "<0.1", "0", "5", None, None),
    ("Average", None, "51.6", "7.8", None, None, None, None, None),
    ("* red is what worried me", None, None, None, None, None, None, None, None),
)  # fmt: skip
"""An owner's sheet: two kinds of days, decimal commas, bounds, a blank row, an average."""

CLIENTS: tuple[tuple[str, ...], ...] = (
    ("Accounts: customers at 30 April", "", "", "", "", "", "", "", ""),
    ("A/C", "Customer", "Phone", "Addr 1", "Addr 2", "Addr 3", "Postcode", "Remarks", "Balance"),
    (
        "0001",
        "TRASK, Mr L.",
        "01632 960158",
        "11 Plover Cl",
        "Tarnhithe",
        "",
        "QV1 6FS",
        "",
        "0.00",
    ),
    (
        "0002",
        "Anstrey, Miss Wilhelmina",
        "01632 960204 / 07700 900204 (work)",
        "Saltpan Cottage",
        "Ferry Lane",
        "Tarnhithe",
        "QV1 8TD",
        "koi pond about 9,000 l under the terrace",
        "48.00",
    ),
    (
        "0003",
        "Quayne, Hesper (Dr)",
        "01632 960146",
        "7 Beadles Row",
        "Ostlethorpe",
        "",
        "QV4 9PL",
        "no calls before noon",
        "0.00",
    ),
    (
        "0004",
        "The Gudgeon Inn",
        "01632 960211",
        "Bridge St",
        "Quillmarsh",
        "",
        "QV3 2NA",
        "two ponds, goldfish",
        "112.50",
    ),
    (
        "0005",
        "GUDGEON INN (landlord R. Ferrable)",
        "01632 960211",
        "Bridge Street",
        "Quillmarsh",
        "",
        "QV3 2NA",
        "invoice by post",
        "0.00",
    ),
    ("", "Total", "", "", "", "", "", "", "160.50"),
)
"""Customers as an accounts program lists them: surname first, doubles, ponds in remarks."""

DEATHS: tuple[tuple[str, ...], ...] = (
    ("Losses in the koi house", "", "", "", ""),
    ("Date", "Pond", "Kind", "Dead", "Remarks"),
    ("2026-04-14", "FAL-1", "koi", "1", "found at the outlet"),
    ("2026-04-15", "FAL-1", "koi", "0", ""),
    ("2026-04-16", "FAL-1", "koi", "2", "30 to 35 cm, sunken eyes"),
    ("2026-04-17", "FAL-1", "goldfish", "none", ""),
    ("Total", "", "", "3", ""),
)
"""A keeper's list of losses, with a total that is nobody's death."""

FISH: tuple[tuple[str, ...], ...] = (
    ("Heron's Step, 22 April 2026, 100x, Ottilie Sand", "", "", "", "", "", ""),
    ("Fish", "Species", "Length cm", "Site", "Tri", "Dac", "Note"),
    ("1", "koi", "38", "skin", "+", "0", "flashing"),
    ("1", "koi", "38", "left gill", "", "++", ""),
    ("2", "koi", "41", "skin", "0", "0", ""),
    ("2", "koi", "41", "left gill", "", "+", ""),
    ("3", "ghost koi", "45", "skin", "++", "0", "thin"),
)
"""What was seen under the microscope, a column a parasite; an empty cell was not looked at."""

LAB: tuple[tuple[str, ...], ...] = (
    ("Report", "Sample", "Pond", "Species", "Organ", "Test", "Result", "Received", "Reported",
     "Comment"),
    ("L-26-0417", "1", "FAL-1", "koi", "gill", "bacterial culture", "not detected", "2026-04-17",
     "2026-04-24", "no growth after 5 days"),
    ("", "2", "FAL-1", "koi", "kidney", "bacterial culture", "detected", "2026-04-17", "2026-04-24",
     "Aeromonas sp., moderate"),
    ("", "3", "FAL-1", "koi", "gill", "PCR", "Ct 36.9", "2026-04-17", "2026-04-27",
     "repeat advised"),
)  # fmt: skip
"""A laboratory's table: the case number once, three samples, a Ct value without a word."""

MEDICINES: tuple[tuple[str, ...], ...] = (
    ("Date", "Product", "Batch", "Expiry", "In", "Out", "Pond", "Given by"),
    ("2026-04-02", "salt, pure dried", "B-204", "2028-01-31", "50 kg", "", "", ""),
    ("2026-04-06", "salt, pure dried", "B-204", "2028-01-31", "", "12.6 kg", "TRA-1",
     "Ottilie Sand"),
    ("2026-04-13", "salt, pure dried", "B-204", "2028-01-31", "", "4.2 kg", "TRA-1",
     "Ottilie Sand"),
)  # fmt: skip
"""A medicine book: what came in and what went out."""

MESSAGE = """\
[19/04/2026, 08:12] Jory Wickstrode: temp 12.5 this morning, ammonia 0.25 and pH 7.8
[19/04/2026, 08:13] Jory Wickstrode: two goldfish flashing but all eating
[20/04/2026, 18:40] Jory Wickstrode: did a 20 % water change yesterday evening. 1 shubunkin dead today
[20/04/2026, 18:41] Jory Wickstrode: mum asks if she should put salt in, 3 spoons?
"""
"""What an owner's son writes: values, signs, a death, and a dose that is no dose given."""


def logger_rows() -> list[tuple[str, str, str, str]]:
    """A probe in the Mill pool over ten days: °F, month first, twelve hours, and its mishaps."""
    rows, at = [], datetime(2026, 4, 10, 13, 0, tzinfo=UTC)
    for number in range(1, 241):
        warm = 11.0 + 0.09 * number / 6 + 1.4 * math.sin((at.hour - 9) * math.pi / 12)
        fahrenheit, state = f"{warm * 9 / 5 + 32:.1f}", ""
        if number in (60, 61):
            fahrenheit = "-9999"
        if 120 <= number <= 123:
            fahrenheit = f"{(29.0 + 0.7 * (number - 120)) * 9 / 5 + 32:.1f}"  # held in the sun
        if number == 124:
            state = "host connected"
        if not 150 <= number <= 155:  # it wrote nothing
            rows.append((str(number), at.strftime("%m/%d/%Y %I:%M:%S %p"), fahrenheit, state))
        if number == 200:
            rows.append((str(number), at.strftime("%m/%d/%Y %I:%M:%S %p"), fahrenheit, state))
        at += timedelta(hours=1)
    return rows


def _text(name: str, rows: tuple[tuple[str, ...], ...], separator: str = ",") -> None:
    with (FOLDER / name).open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, delimiter=separator, lineterminator="\n").writerows(rows)


def _keeper(path: Path) -> None:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "pond"
    for row in KEEPER:
        sheet.append(list(row))
    sheet.merge_cells("A1:I1")
    sheet.merge_cells("A2:I2")
    sheet["E11"].fill = _RED
    sheet.column_dimensions["H"].hidden = True
    book.create_sheet("shopping").append(["wheatgerm 5 kg", "net"])
    book.save(path)


def main() -> None:
    """Write all of them."""
    FOLDER.mkdir(exist_ok=True)
    _keeper(FOLDER / "keeper.xlsx")
    head = "\r\n".join(
        (
            '"Mill pool, by the sluice"',
            '"Probe 40-117; battery 81 %; clock UTC+01:00"',
            '"No.","Day and hour","Temp (°F)","State"',
        )
    )
    body = "\r\n".join(",".join(f'"{cell}"' for cell in row) for row in logger_rows())
    (FOLDER / "logger.csv").write_bytes(f"{head}\r\n{body}\r\n".encode("cp1252"))
    _text("clients.csv", CLIENTS, ";")
    _text("losses.csv", DEATHS)
    _text("microscope.csv", FISH)
    _text("laboratory.csv", LAB)
    _text("medicines.csv", MEDICINES)
    (FOLDER / "message.txt").write_text(MESSAGE, encoding="utf-8")


if __name__ == "__main__":
    main()
