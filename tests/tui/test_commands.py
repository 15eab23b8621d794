"""Every command as a person or a program calls it, on a book of the demo practice."""

from __future__ import annotations

import json
import shutil
from datetime import date, datetime
from pathlib import Path
from uuid import UUID

import pytest
from called import NOW, WATER, Call, harmful, one_sentence, table

from store.book.book import Book
from store.book.opening import open_book

PONDS = 25

COUNTS = ("ponds", "act", "watch", "unknown", "calm", "resting", "not_shown")
LIST_KEYS = ["practice", "now", "today", *COUNTS, "lines"]
LINE_KEYS = [
    "pond", "client", "site", "pond_name", "town", "level", "what", "rule", "concerns", "resting",
    "since", "or_earlier", "last_test", "age_days", "next_visit", "severity", "series",
]  # fmt: skip


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
    assert out.startswith(listed)
    assert "A round of 9 visits waits on Tue 2026-03-17" in out
    code, out, err = call("demo", "--keep", "try.pondround")
    assert (code, out) == (1, "")
    assert "already; it was left as it is" in err
    assert err.count("\n") == 1
    assert Path("try.pondround").read_bytes() == kept


def test_a_kept_book_may_be_called_demo(
    call: Call, demo_file: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def copied(path: Path, at: datetime) -> Book:
        return open_book(shutil.copyfile(demo_file, path), now=at)

    monkeypatch.setattr("store.exchange.demo.practice.make_demo", copied)
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
    assert call("morning", "--json", "--book", "none")[0] == 1


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
    "words",
    [("morning",), ("morning", "--json"), (), ("find", "x"), ("pond", "x"), ("try", "nitrite"),
     ("import", "water", "x.csv")],
)  # fmt: skip
def test_a_mistyped_book_is_told_and_none_is_made(
    call: Call, tmp_path: Path, words: tuple[str, ...]
) -> None:
    code, out, err = call("--book", "mistypt.pondround", *words)
    assert (code, out) == (1, "")
    assert "There is no book at" in err
    assert "mistypt.pondround" in err
    assert err.count("\n") == 1
    assert not list(Path().iterdir())
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
