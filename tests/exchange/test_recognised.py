"""What a file is taken for by its first rows, in the shapes that people have, and why."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from store.errors import BadInput
from store.exchange.looking.recognised import Recognised, recognise
from store.exchange.sheets.head import HEAD_BYTES, head_of

DEMO = Path(__file__).parents[2] / "demo_sites"

KEEPER = """My pond 2025;;;;;
;;;;;
Date;Water temp;pH;NH3;NO2;KH;notes
Sat 2 May;14,5;7.4(morn);<0.1;trace;6;fed a little
3/5;15;8.2 ish;0-.25;n/a;;
"""
LONG_WATER = """client,pond,sampled at,parameter,value,unit
Alder,Lower,2026-03-01,pH,7.9,
Alder,Lower,2026-03-01,nitrite,0.2,mg/L
"""
PLAIN_LOGGER = "Plot Title: lower pond\n#,Date Time,Temp (F)\n" + "".join(
    f"{at},03/01/26 {at // 4:02d}:{at % 4 * 15:02d}:00 AM,6{at % 10}.1\n" for at in range(4, 40)
)
METER = "Date;Time;pH;DO mg/L;Temp C\n" + "".join(
    f"2026-03-0{day};08:1{day};7.{day};8.1;11\n" for day in range(1, 10)
)
CLIENTS = """Surname,First name,Tel,Addr 1,Addr 2,Postcode,Remarks
Alder,Anne,01632 960111 / 07700 900111,3 Mill Lane,Wick,1234,koi pond 4000 gal
"""
ACCOUNTS = """Customer list as of March
A/C,Name,Contact number,Town
A001,Brook House,01632 960112,Nether Wick
"""
OWN_PONDS = "client,site,pond,code,volume_l,test_every_days\nAlder,Wick,Lower,ALD-1,4000,14\n"
LIST_OF_PONDS = "Client,Pond,Volume (litres),Telephone\nAlder,Lower pond,4000,01632 960111\n"
PARASITES = """Fish,Length cm,Site,Tri,Cos,Dac,Magnification
1,32,skin,++,0,+,100x
1,32,left gill,0,0,+++,100x
"""
SCRAPES = "Date,Client,Fish no,Skin scrape,Gill clip,Remarks\n2/5/26,Alder,1,costia ++,clean,\n"
MORTALITY = "Date,No. dead,Species,Zone,Cause\n2026-05-02,3,koi,A,unknown\n"
LABORATORY = """Case no,Sample,Species,Organ,Test,Result,Ct,Date received,Date reported
26-118,1,Cyprinus carpio,gill,KHV PCR,not detected,,2026-03-01,2026-03-05
"""
MEDICINES = "Date;Product;Batch;Expiry;In;Out;Client;Withdrawal end\n2.5.26;Salt;A1;;25 kg;;;\n"
CHAT = """[02/05/2026, 07:41:10] Anne Alder: morning, two fish flashing
[02/05/2026, 07:44:02] Anne Alder: temp 14.5 this morning pH 7.4
"""
DIARY = """Saturday. Warm and still all day, the lilies are out at last and so are we.
Fed two cups at noon, the big one stayed below. Did a small water change before tea.
"""


@pytest.mark.parametrize(
    ("text", "kind", "because"),
    [
        (KEEPER, "water", "“NO2”"),
        (LONG_WATER, "water", "“nitrite”"),
        (METER, "water", "“DO mg/L”"),
        (PLAIN_LOGGER, "logger", "every 15 min"),
        (CLIENTS, "clients", "“Surname”"),
        (ACCOUNTS, "clients", "“Contact number”"),
        (LIST_OF_PONDS, "clients", "“Telephone”"),
        (OWN_PONDS, "ponds", "“volume_l”"),
        (PARASITES, "fish", "“Tri”"),
        (SCRAPES, "fish", "“Skin scrape”"),
        (MORTALITY, "deaths", "“No. dead”"),
        (LABORATORY, "lab", "“Ct”"),
        (MEDICINES, "medicines", "“Withdrawal end”"),
        (CHAT, "messages", "2 of its first lines"),
        (DIARY, "messages", "running text"),
        ("a,b\n1,2\n", "", "no kind"),
    ],
)
def test_each_shape_is_taken_for_what_it_is(
    tmp_path: Path, text: str, kind: str, because: str
) -> None:
    path = tmp_path / "file.csv"
    for encoding in ("utf-8", "utf-16", "cp1252"):
        path.write_bytes(text.encode(encoding))
        found = recognise(path)
        assert (found.kind, because in found.why) == (kind, True), (encoding, found)


def test_our_own_files_are_taken_for_what_they_are() -> None:
    found = {path.stem.partition("_VEL")[0].partition("_STI")[0]: recognise(path).kind
             for path in DEMO.glob("*.csv") if path.stem != "practice"}  # fmt: skip
    assert found == {
        "events": "events", "kits": "kits", "logger": "logger", "ponds": "ponds", "staff": "staff",
        "visits": "visits", "water_tests": "water",
    }  # fmt: skip
    assert all(recognise(path).sure for path in DEMO.glob("*.csv") if path.stem != "practice")


def test_whether_the_rows_name_their_ponds(tmp_path: Path) -> None:
    path = tmp_path / "water.csv"
    path.write_text(KEEPER)
    assert not recognise(path).names_ponds
    path.write_text(LONG_WATER)
    assert recognise(path).names_ponds
    for heads in ("Report,Sample,Pond,Test,Result", "Date,Product,Batch,Out,Pond"):
        path.write_text(f"{heads}\n1,2,P-1,4,5\n", encoding="utf-8")
        assert recognise(path).names_ponds, heads


def test_a_workbook_is_looked_at_sheet_by_sheet(tmp_path: Path) -> None:
    from openpyxl import Workbook

    book = Workbook()
    book.active.append(["Read me", "first"])
    for line in LABORATORY.splitlines():
        book.create_sheet("Results") if "Results" not in book.sheetnames else None
        book["Results"].append(line.split(","))
    path = tmp_path / "report.xlsx"
    book.save(path)
    assert recognise(path).kind == "lab"
    empty = Workbook()
    empty.save(path)
    with pytest.raises(BadInput, match="no sheet of it holds anything"):
        recognise(path)


def test_of_a_long_file_only_the_beginning_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "long.csv"
    path.write_text(PLAIN_LOGGER)
    with path.open("r+b") as file:
        file.truncate(4 << 30)  # a hole: four gigabytes that take no room
    read: list[int] = []
    opened = Path.open

    def watched(self: Path, *args: object, **kwargs: object) -> object:
        return _Counted(opened(self, *args, **kwargs), read)  # type: ignore[call-overload]

    monkeypatch.setattr(Path, "open", watched)
    assert recognise(path) == Recognised(
        "logger", "its rows come every 15 min, as a machine writes them", 14
    )
    assert sum(read) <= HEAD_BYTES


class _Counted:
    def __init__(self, file: object, counts: list[int]) -> None:
        self._file, self._counts = file, counts

    def read(self, size: int) -> bytes:
        self._counts.append(size)
        data: bytes = self._file.read(size)  # type: ignore[attr-defined]
        return data

    def __enter__(self) -> _Counted:
        return self

    def __exit__(self, *args: object) -> None:
        self._file.close()  # type: ignore[attr-defined]


def test_what_cannot_be_looked_at_is_told_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "Tests.csv").write_text(KEEPER)
    cases: list[tuple[str, bytes | None, str]] = [
        ("tests.csv.txt", None, "There is no file .*tests.csv.txt"),
        ("Test.csv", None, "Is Tests.csv meant?"),
        ("empty.csv", b"", "empty.csv is empty"),
        ("blank.csv", b"\xef\xbb\xbf\r\n;;;\r\n", "blank.csv is empty"),
        ("report.pdf", b"%PDF-1.7 ...", "is a PDF"),
        ("old.xls", b"\xd0\xcf\x11\xe0....", "locked with a password"),
        ("pond.jpg", b"\xff\xd8\xff\xe0....", "is a picture"),
        ("ours.pondround", b"SQLite format 3\0...", "is a book"),
        ("away.ics", b"BEGIN:VCALENDAR\r\n", "is a calendar"),
        ("broken.xlsx", b"PK\x03\x04....", "cannot be read as a workbook"),
        ("~$list.csv", b"x,y\n", "what a spreadsheet leaves while a file is open"),
        ("bytes.bin", bytes(range(1, 32)) * 50, "is no text"),
    ]
    for name, data, sentence in cases:
        path = tmp_path / name
        if data is not None:
            path.write_bytes(data)
        with pytest.raises(BadInput, match=sentence):
            head_of(path)
    (only := tmp_path / "sub").mkdir()
    (only / "Tests.csv").write_text(KEEPER)
    with pytest.raises(BadInput, match=r"is a folder.*newest sheets in it: Tests\.csv"):
        head_of(only)
    with pytest.raises(BadInput, match=r"cannot be read|no file"):
        head_of(Path("a\0b"))
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(BadInput, match="no file that can be read"):
        head_of(pipe)


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "list.csv"
    path.write_text(CLIENTS)

    def locked(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", locked)
    with pytest.raises(BadInput, match="another program has locked it"):
        head_of(path)
