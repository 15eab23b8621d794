"""Every command as a person or a program calls it, on a book of the demo practice."""

from __future__ import annotations

import io
import json
import os
import shutil
import sqlite3
import subprocess
import sys
import unicodedata
from collections.abc import Callable
from datetime import UTC, date, datetime
from functools import partial
from pathlib import Path
from uuid import UUID

import platformdirs
import pytest

from store.book import opening
from store.exchange.demo import make_demo
from tui.commands import asked, main

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
PONDS = 24
Call = Callable[..., tuple[int, str, str]]

COUNTS = ("ponds", "act", "watch", "unknown", "calm", "resting", "not_shown")
LIST_KEYS = ["practice", "now", "today", *COUNTS, "lines"]
LINE_KEYS = [
    "pond", "client", "site", "pond_name", "town", "level", "what", "rule", "concerns", "resting",
    "since", "last_test", "age_days", "next_visit", "severity", "series",
]  # fmt: skip


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "demo.pondround"
    make_demo(path, NOW).close()
    return path


@pytest.fixture(autouse=True)
def alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A home of its own, an empty folder to work in, and a clock that stands still."""
    for name in ("HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CONFIG_HOME", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    monkeypatch.delenv("PONDROUND_BOOK", raising=False)
    for kind in ("data", "log"):
        folder = tmp_path / "home" / kind
        monkeypatch.setattr(platformdirs, f"user_{kind}_path", lambda *_, at=folder, **__: at)
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    for module in (asked, main):
        monkeypatch.setattr(module, "now", lambda: NOW)


@pytest.fixture
def call(capsys: pytest.CaptureFixture[str]) -> Call:
    def run(*words: str | Path) -> tuple[int, str, str]:
        try:
            code = main.main([str(word) for word in words])
        except SystemExit as leaving:
            code = int(leaving.code or 0)
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return run


@pytest.fixture
def own(demo_file: Path, tmp_path: Path) -> Path:
    """A copy of the demo practice that a test may write."""
    return Path(shutil.copyfile(demo_file, tmp_path / "own.pondround"))


def one_sentence(text: str) -> bool:
    """One line that begins with a capital, a name or a path, and ends with a stop."""
    return text.count("\n") == 1 and text.endswith(".\n") and not text.startswith(" ")


def harmful(text: str) -> set[str]:
    marks = {chr(code) for code in (*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200B)}
    return {
        sign for sign in text
        if sign != "\n" and (unicodedata.category(sign) in {"Cc", "Cs", "Co"} or sign in marks)
    }  # fmt: skip


def table(path: Path, statement: str, *values: str) -> list[tuple[object, ...]]:
    connection = sqlite3.connect(path)
    try:
        with connection:
            return connection.execute(statement, values).fetchall()
    finally:
        connection.close()


# --- the demo ---


def test_the_demo_is_a_list_where_there_is_no_terminal(call: Call, tmp_path: Path) -> None:
    code, out, err = call("demo")
    assert (code, err) == (0, "")
    assert "2026-03-14" in out.splitlines()[0]
    assert out.splitlines()[1].startswith(f"{PONDS} ponds: ")
    assert "“pondround demo” opens the application" in out
    assert not harmful(out)
    assert not (tmp_path / "home").exists()
    assert not list(Path().iterdir())


def test_the_demo_leaves_a_book_and_never_writes_over_one(call: Call) -> None:
    code, out, err = call("demo", "--keep", "try.pondround")
    assert (code, err) == (0, "")
    kept = Path("try.pondround").read_bytes()
    code, listed, _ = call("morning", "--book", "try.pondround")
    assert code == 0
    assert listed == out
    code, out, err = call("demo", "--keep", "try.pondround")
    assert (code, out) == (1, "")
    assert "already; it was left as it is" in err
    assert err.count("\n") == 1
    assert Path("try.pondround").read_bytes() == kept


def test_a_kept_book_may_be_called_demo(call: Call) -> None:
    assert call("demo", "--keep", "demo")[0] == 0
    assert table(Path("demo"), "SELECT count(*) FROM pond") == [(PONDS,)]


def test_the_demo_takes_no_other_book(call: Call, own: Path) -> None:
    code, out, err = call("--book", own, "demo")
    assert (code, out) == (2, "")
    assert one_sentence(err)


def test_without_a_command_and_a_terminal_the_list_is_printed(call: Call, demo_file: Path) -> None:
    assert call("--book", demo_file) == call("morning", "--book", demo_file)


# --- the morning list ---


def test_the_list_names_what_it_does_not_show(call: Call, demo_file: Path) -> None:
    code, out, err = call("morning", "--book", demo_file)
    assert (code, err) == (0, "")
    whole = call("--book", demo_file, "morning", "--all")[1]
    assert "calm not shown" in out
    assert "not shown" not in whole
    assert len(whole.splitlines()) == PONDS + 4
    levels = [line.split()[0] for line in whole.splitlines()[4:]]
    worst_first = ["act", "watch", "unknown", "calm"]
    assert levels == sorted(levels, key=worst_first.index)
    assert set(levels) == set(worst_first)
    assert [line for line in out.splitlines() if line.startswith("calm")] == []


def test_the_json_of_the_list(call: Call, demo_file: Path) -> None:
    code, out, err = call("morning", "--json", "--book", demo_file)
    assert (code, err) == (0, "")
    assert out.isascii()
    listed = json.loads(out)
    assert list(listed) == LIST_KEYS
    assert datetime.fromisoformat(listed["now"]) == NOW
    assert listed["today"] == "2026-03-14"
    assert (
        listed["ponds"] == PONDS == sum(listed[key] for key in ("act", "watch", "unknown", "calm"))
    )
    assert listed["not_shown"] == PONDS - len(listed["lines"])
    for line in listed["lines"]:
        assert list(line) == LINE_KEYS
        UUID(line["pond"])
        for day in (line["since"], line["next_visit"]):
            assert day is None or date.fromisoformat(day)
        assert line["last_test"] is None or datetime.fromisoformat(line["last_test"]).tzinfo
        assert line["level"] in ("act", "watch", "unknown")
        assert line["series"] is None or set(line["series"]) == {"values", "foot", "head", "over"}
    assert any(line["next_visit"] for line in listed["lines"])
    assert any(line["series"] for line in listed["lines"])


def test_the_json_of_all_ponds(call: Call, demo_file: Path) -> None:
    listed = json.loads(call("morning", "--json", "--all", "--book", demo_file)[1])
    assert len(listed["lines"]) == PONDS
    assert listed["not_shown"] == 0


def test_every_key_of_the_json_is_described() -> None:
    from tui.commands import listed

    described = str(listed.as_json.__doc__)
    assert [key for key in LIST_KEYS + LINE_KEYS if f"`{key}`" not in described] == []


def test_the_book_may_be_named_in_the_environment(
    call: Call, demo_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PONDROUND_BOOK", str(demo_file))
    assert call("morning")[1].splitlines()[1].startswith(f"{PONDS} ponds: ")
    assert json.loads(call("morning", "--json", "--book", "none")[1])["ponds"] == 0


def test_no_book_yet(call: Call, tmp_path: Path) -> None:
    code, out, err = call("morning")
    assert (code, out) == (0, "")
    assert "“pondround” begins one" in err
    assert err.count("\n") == 1
    code, out, err = call("morning", "--json")
    assert code == 0
    assert "There is no book" in err
    listed = json.loads(out)
    assert list(listed) == LIST_KEYS
    assert listed["lines"] == []
    assert listed["today"] is None
    assert {listed[key] for key in COUNTS} == {0}
    assert not (tmp_path / "home").exists()


@pytest.mark.parametrize(
    "words", [("find", "x"), ("pond", "x"), ("try", "nitrite"), ("import", "water", "x.csv")]
)
def test_where_there_is_no_book_nothing_else_can_be_done(call: Call, words: tuple[str]) -> None:
    code, out, err = call(*words)
    assert (code, out) == (1, "")
    assert "There is no book" in err
    assert err.count("\n") == 1


# --- finding ---


def test_find(call: Call, demo_file: Path) -> None:
    for words in (("Orla Penhavel",), ("orla", "penhavl"), ("960101",)):
        code, out, err = call("find", *words, "--book", demo_file)
        assert (code, err) == (0, "")
        assert "Orla Penhavel" in out.splitlines()[0]
        assert "01632 960101" in out.splitlines()[0]
    code, out, err = call("find", "Zzyzx", "--book", demo_file)
    assert (code, out) == (1, "")
    assert one_sentence(err)


def test_pond(call: Call, demo_file: Path) -> None:
    code, out, err = call("pond", "koi pond", "--book", demo_file)
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0] == "Orla Penhavel, Koi pond"
    assert lines[1].startswith("18,400 L")
    for part in ("Readings", "Arithmetic", "Source", "Next", "Last tests"):
        assert any(line.strip() == part for line in lines)
    assert max(map(len, lines)) <= 80
    assert call("pond", "PEN-1", "--book", demo_file)[1] == out


def test_several_ponds_and_none(call: Call, demo_file: Path) -> None:
    code, out, err = call("pond", "penhavel", "--book", demo_file)
    assert (code, out) == (1, "")
    assert "Several ponds fit: " in err
    assert "Koi pond" in err
    assert "Quarantine vat" in err
    code, out, err = call("pond", "Zzyzx", "--book", demo_file)
    assert (code, out, err) == (1, "", "No pond like “Zzyzx” is in the book.\n")


def test_try(call: Call, demo_file: Path) -> None:
    code, out, err = call("try", "nitrite", "--book", demo_file)
    assert (code, err) == (0, "")
    first, spoken, levels = out.splitlines()
    assert first.endswith("to 2026-03-14")
    assert "ponds; begun" in spoken
    assert levels.startswith("pond-days by level: ")
    assert levels != "pond-days by level: none"
    short = call("try", "nitrite", "--days", "30", "--book", demo_file)[1]
    assert short.splitlines()[0] != first


def test_try_an_unknown_rule(call: Call, demo_file: Path) -> None:
    code, out, err = call("try", "nitrates", "--book", demo_file)
    assert (code, out) == (1, "")
    assert "There is no rule “nitrates”. There are: " in err
    assert "nitrate_high" in err
    for days in ("0", "-1", "many", "99999"):
        code, out, err = call("try", "nitrite", "--days", days, "--book", demo_file)
        assert (code, out) == (2, "")
        assert err.count("\n") == 1


# --- import ---

WATER = "pond,date,time,pH,NO2 mg/L\nPEN-1,2026-03-13,06:00,7.4,0.1\nVEL-1,2026-03-13,06:10,7.5,0\n"


def water_tests_in(path: Path) -> object:
    return table(path, "SELECT count(*) FROM water_test")[0][0]


def test_import_water(call: Call, own: Path) -> None:
    Path("tests.csv").write_text(WATER, encoding="utf-8")
    before = water_tests_in(own)
    code, out, err = call("import", "water", "tests.csv", "--dry-run", "--book", own)
    assert (code, err) == (0, "")
    assert "Would save 2 water tests; nothing was saved." in out
    assert water_tests_in(own) == before

    code, out, err = call("import", "water", "tests.csv", "--book", own)
    assert (code, out) == (2, "")
    assert "Say who does this with --as NAME" in err
    code, out, err = call("--book", own, "--as", "Nobody", "import", "water", "tests.csv")
    assert (code, out) == (2, "")
    assert "“Nobody” is not on the staff" in err
    assert water_tests_in(own) == before

    code, out, err = call("import", "water", "tests.csv", "--book", own, "--as", "MB")
    assert (code, err) == (0, "")
    assert "Saved 2 water tests." in out
    assert water_tests_in(own) == before + 2
    assert "2026-03-13 06:00" in call("pond", "PEN-1", "--book", own)[1]

    code, out, err = call("import", "--book", own, "--as", "MB", "water", "tests.csv")
    assert (code, err) == (0, "")
    assert "2 in the book already, passed over." in out
    assert water_tests_in(own) == before + 2


def test_import_refuses_rows_and_keeps_them(call: Call, own: Path) -> None:
    before = water_tests_in(own)
    Path("tests.csv").write_text(WATER + "PEN-1,2026-03-12,06:00,68,\n", encoding="utf-8")
    words = ("import", "water", "tests.csv", "--book", own, "--as", "MB")
    code, out, err = call(*words)
    assert (code, err) == (1, "")
    assert "Saved 2 water tests." in out
    assert "line 4: “68” cannot be. pH 6.8?" in out
    refused = Path("tests.refused.csv").read_text(encoding="utf-8")
    assert "PEN-1,2026-03-12,06:00,68" in refused
    assert water_tests_in(own) == before + 2


def test_import_logger(call: Call, own: Path) -> None:
    Path("logger.csv").write_text(
        "time,temperature C\n2026-03-12 10:00,9.5\n2026-03-12 11:00,9.7\n", encoding="utf-8"
    )
    words = ("import", "logger", "logger.csv", "--pond", "Koi pond", "--book", own, "--as", "MB")
    code, out, err = call(*words, "--dry-run")
    assert (code, err) == (0, "")
    assert "Would save 2 logger values; nothing was saved." in out
    code, out, err = call(*words)
    assert (code, err) == (0, "")
    assert "Saved 2 logger values." in out
    code, out, err = call(*words)
    assert (code, err) == (0, "")
    assert "2 in the book already" in out


def test_import_of_a_wrong_file(call: Call, own: Path) -> None:
    Path("picture.csv").write_bytes(b"\x89PNG\r\n\x1a\n\x00\x00\x1b[31m")
    Path("empty.csv").write_bytes(b"")
    Path("logger.csv").write_text("time,temperature C\n2026-03-12 10:00,9.5\n", encoding="utf-8")
    Path("folder.csv").mkdir()
    before = water_tests_in(own)
    for name in ("picture.csv", "empty.csv", "logger.csv", "folder.csv", "none.csv"):
        code, out, err = call("import", "water", name, "--book", own, "--as", "MB")
        assert (code, out) == (1, ""), name
        assert err.count("\n") == 1, err
        assert not harmful(err)
    code, out, err = call(
        "import", "logger", "logger.csv", "--pond", "Zzyzx", "--book", own, "--as", "MB"
    )
    assert (code, out) == (1, "")
    assert "No pond goes by" in err
    assert water_tests_in(own) == before


# --- reckon ---

RECKON = {
    "ammonia --tan 1.5 --ph 8.3 --temp 24": ("fraction", "nh3_n_mg_l", "nh3_mg_l"),
    "ammonia --tan 1.5 --as nh4 --ph 8.3 --temp 24 --salinity 3": (
        "fraction", "nh3_n_mg_l", "nh3_mg_l",
    ),
    "oxygen --temp 20 --salinity 3 --altitude 200 --do 7": ("saturation_mg_l", "percent"),
    "co2 --kh 4 --ph 7 --temp 20": ("co2_mg_l",),
    "co2 --alkalinity 70 --ph 7 --temp 20": ("co2_mg_l",),
    "nitrite --nitrite 2 --as n --chloride 5 --volume 15000 --ratio 8": ("ratio", "salt_g"),
    "volume rectangle --length 5 --width 3 --depth 1.5": ("litres",),
    "volume circle --diameter 7.5 --depth 2": ("litres",),
    "volume ellipse --length 6 --width 4 --depth 1.2": ("litres",),
    "volume salt --salt 10kg --before 0.0 --after 0.5": ("litres",),
    "criteria --ph 8 --temp 20": ("acute_tan_mg_l", "chronic_tan_mg_l"),
}  # fmt: skip


@pytest.mark.parametrize("line", RECKON)
def test_reckon(call: Call, line: str) -> None:
    code, out, err = call("reckon", *line.split(), "--json")
    assert (code, err) == (0, "")
    assert out.isascii()
    answer = json.loads(out)
    for key in RECKON[line]:
        assert isinstance(answer[key], float)
        assert answer["units"][key]
    assert answer["source"]
    assert answer["arithmetic"]
    assert isinstance(answer["remarks"], list)
    code, out, err = call("reckon", *line.split())
    assert (code, err) == (0, "")
    assert answer["source"] in out


def test_a_kit_as_and_a_person_as_do_not_meet(call: Call) -> None:
    line = ("reckon", "ammonia", "--tan", "1", "--as", "nh3", "--ph", "8", "--temp", "20", "--json")
    assert call("--as", "MB", *line) == call(*line)


# --- what is not understood ---


@pytest.mark.parametrize(
    "words",
    [
        ("Morning",),
        ("morning", "--jsn"),
        ("morning", "later"),
        ("find",),
        ("pond",),
        ("try",),
        ("import",),
        ("import", "weather", "x.csv"),
        ("import", "logger", "x.csv"),
        ("reckon",),
        ("reckon", "ammonia", "--tan", "1"),
        ("reckon", "ammonia", "--tan", "much", "--ph", "8", "--temp", "20"),
        ("reckon", "ammonia", "--tan", "nan", "--ph", "8", "--temp", "20"),
        ("reckon", "volume", "circle", "--diameter", "-1", "--depth", "1"),
        ("demo", "--keep"),
        ("morning", "\x1b[31mRed\u202e", "\ud800"),
    ],
)
def test_bad_input_is_one_sentence_and_code_2(call: Call, words: tuple[str, ...]) -> None:
    code, out, err = call(*words)
    assert (code, out) == (2, "")
    assert one_sentence(err), err
    assert not harmful(err)


def test_what_was_typed_comes_back_as_it_was(call: Call) -> None:
    assert "'Morning'" in call("Morning")[2]
    assert "--Book" in call("morning", "--Book")[2]


def test_version_and_help(call: Call) -> None:
    code, out, _ = call("--version")
    assert code == 0
    assert out.startswith("pondround")
    for words in ((), ("demo",), ("import", "water"), ("reckon", "volume", "salt")):
        code, out, err = call(*words, "--help")
        assert (code, err) == (0, "")
        assert "usage: pondround" in out


# --- books that cannot be used ---

READS = [("morning",), ("morning", "--json"), ("find", "koi"), ("pond", "koi"), ("try", "nitrite")]


def refused(call: Call, book: object, says: str) -> None:
    for words in READS:
        code, out, err = call(*words, "--book", str(book))
        assert (code, out) == (1, ""), words
        assert says in err
        assert err.count("\n") == 1
        assert not harmful(err)


def test_a_newer_book(call: Call, own: Path) -> None:
    table(own, "UPDATE alembic_version SET version_num = '0099'")
    before = own.read_bytes()
    refused(call, own, "newer Pondround")
    assert own.read_bytes() == before


def test_a_damaged_book(call: Call, own: Path) -> None:
    whole = own.read_bytes()
    own.write_bytes(whole[:4096] + b"\x5a" * (len(whole) - 4096))
    before = own.read_bytes()
    refused(call, own, "damaged")
    assert own.read_bytes() == before


def test_what_is_no_book(call: Call) -> None:
    Path("letter.txt").write_text("Dear practice", encoding="utf-8")
    Path("empty").touch()
    table(Path("other.db"), "CREATE TABLE fish (name TEXT)")
    refused(call, "letter.txt", "not a book of Pondround")
    refused(call, "empty", "not a book of Pondround")
    refused(call, "other.db", "not a book of Pondround")
    refused(call, Path.cwd(), "is a folder, not a book")
    refused(call, "mysql://host/book", "not in 'mysql'")
    refused(call, "sqlite://", "needs a file")


def test_a_book_only_for_reading(call: Call, own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "_may_write", lambda _: False)
    assert call("morning", "--book", own)[0] == 0
    Path("tests.csv").write_text(WATER, encoding="utf-8")
    code, out, err = call("import", "water", "tests.csv", "--book", own, "--as", "MB")
    assert (code, out) == (1, "")
    assert "can only be read by you; nothing was saved" in err
    assert err.count("\n") == 1


def test_a_locked_book(call: Call, own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "open_book", partial(opening.open_book, patience_s=0.1))
    Path("tests.csv").write_text(WATER, encoding="utf-8")
    other = sqlite3.connect(own)
    try:
        other.execute("BEGIN IMMEDIATE")
        assert call("morning", "--book", own)[0] == 0
        code, out, err = call("import", "water", "tests.csv", "--book", own, "--as", "MB")
        assert (code, out) == (1, "")
        assert "is locked by another program; nothing was saved" in err
        assert err.count("\n") == 1
    finally:
        other.close()
    assert call("import", "water", "tests.csv", "--book", own, "--as", "MB")[0] == 0


# --- names that try something ---

HOSTILE = (
    "[bold red]Mill[/] [@click=app.quit]pond[/]",
    "\x1b[2J\x1b]0;title\x07 \x9b31m \u202epond\u2066",
    "👩‍👩‍👧 🐟 魚池 بركة",
    "Long " * 100,
    "first\nsecond\tthird\r",
)


@pytest.mark.parametrize("name", HOSTILE, ids=["markup", "control", "emoji", "long", "lines"])
def test_names_are_printed_as_they_stand(call: Call, own: Path, name: str) -> None:
    # Written past the application, as another program might: the screen may not rely on saving.
    table(own, "UPDATE pond SET name = ? WHERE code = 'PEN-1'", name)
    table(own, "UPDATE client SET name = ? WHERE name = 'Orla Penhavel'", name)
    table(own, "UPDATE site SET name = ?, town = ?", name, name)
    for words in (("morning",), ("morning", "--all"), ("find", "960101"), ("pond", "PEN-1")):
        code, out, err = call(*words, "--book", own)
        assert (code, err) == (0, "")
        assert not harmful(out), words
    listed = call("morning", "--book", own)[1].splitlines()
    assert len(listed) == len(call("morning", "--json", "--book", own)[1].split('"pond":')) + 3
    several = call("pond", "01632 960101", "--book", own)[2]
    assert several.startswith("Several ponds fit: ")
    assert not harmful(several)
    out = call("morning", "--json", "--book", own)[1]
    assert out.isascii()
    assert name in {line["pond_name"] for line in json.loads(out)["lines"]}


def test_markup_is_shown_literally(call: Call, own: Path) -> None:
    table(own, "UPDATE pond SET name = ? WHERE code = 'PEN-1'", HOSTILE[0])
    assert f"Orla Penhavel, {HOSTILE[0]}\n" in call("pond", "PEN-1", "--book", own)[1]


def test_what_a_person_typed_comes_back_harmless(call: Call, own: Path) -> None:
    for words in (("pond", "\x1b[2Jx\u202e"), ("try", "\x1b[2Jx")):
        code, out, err = call(*words, "--book", own)
        assert (code, out) == (1, "")
        assert "�" in err
        assert not harmful(err)
    assert not harmful(call("morning", "--book", "\x1b[2Jx")[2])


# --- where the output ends ---


def test_an_output_without_the_characters(own: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    table(own, "UPDATE pond SET name = '魚池' WHERE code = 'PEN-1'")
    written = io.BytesIO()
    monkeypatch.setattr(sys, "stdout", io.TextIOWrapper(written, encoding="cp1252"))
    assert main.main(["morning", "--book", str(own)]) == 0
    assert "Orla Penhavel, ??" in written.getvalue().decode("cp1252")


@pytest.mark.skipif(os.name == "nt", reason="Windows reports a closed pipe in another way")
def test_a_reader_that_left_is_no_fault() -> None:
    reading, writing = os.pipe()
    os.close(reading)
    words = ["reckon", "criteria", "--ph", "8", "--temp", "20"]
    root = Path(main.__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-m", "tui", *words], stdout=writing, stderr=subprocess.PIPE, cwd=root,
        check=False,
    )  # fmt: skip
    os.close(writing)
    assert (done.returncode, done.stderr) == (0, b"")


def test_a_fault_of_our_own_is_one_sentence(
    call: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(_: object) -> int:
        raise ZeroDivisionError("particulars")

    monkeypatch.setattr(asked, "run_morning", broken)
    code, out, err = call("morning")
    assert (code, out) == (1, "")
    assert "fault of its own" in err
    assert err.count("\n") == 1
    log = (tmp_path / "home" / "log" / "faults.log").read_text(encoding="utf-8")
    assert "ZeroDivisionError: particulars" in log
    assert str(tmp_path) in err
