"""`pondround calendar` and `pondround import daysoff`, as they are called."""

from __future__ import annotations

import argparse
from pathlib import Path

import pytest
from called import NOW, Call, harmful, table
from ical.calendar import Calendar
from ical.calendar_stream import IcsCalendarStream

from store.errors import BadInput, NotFound
from tui.commands import calendar
from tui.commands.parsing import OneSentenceParser

LEAVE = (
    "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VEVENT\r\nUID:a\r\nDTSTART;VALUE=DATE:20260504\r\n"
    "DTEND;VALUE=DATE:20260509\r\nSUMMARY:Leave\x1b[2J\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n"
)


@pytest.fixture
def run(alone: None, own: Path, monkeypatch: pytest.MonkeyPatch) -> object:
    """Calls the command by itself on a copy of the demo practice."""
    monkeypatch.setattr(calendar, "now", lambda: NOW)

    def called(*words: str | Path) -> int:
        common = OneSentenceParser(add_help=False)
        common.add_argument("--book")
        whole = OneSentenceParser(prog="pondround")
        calendar.add_calendar(whole.add_subparsers(), [common])
        args: argparse.Namespace = whole.parse_args(
            ["calendar", *map(str, words), "--book", str(own)]
        )
        return calendar.run_calendar(args)

    return called


def read(path: Path) -> Calendar:
    (found,) = IcsCalendarStream.from_ics(path.read_bytes().decode()).calendars
    return found


def vet_of(book: Path) -> str:
    rows = table(book, "SELECT s.name FROM visit v JOIN staff s ON s.id = v.staff_id "
                       "WHERE v.state = 'planned' AND v.struck_at IS NULL ORDER BY v.on_day DESC")  # fmt: skip
    return str(rows[0][0])


def planned(book: Path, who: str, first: str, last: str) -> int:
    rows = table(
        book,
        "SELECT v.id FROM visit v JOIN staff s ON s.id = v.staff_id WHERE v.state != 'cancelled' "
        "AND s.name = ? AND v.on_day BETWEEN ? AND ? AND v.struck_at IS NULL",
        who, first, last,
    )  # fmt: skip
    return len(rows)


def test_a_vets_visits(run, own: Path, capsys: pytest.CaptureFixture[str]) -> None:
    who = vet_of(own)
    assert run("--vet", who, "--no-days-off", "mine.ics") == 0
    events = [one for one in read(Path("mine.ics")).events if one.status != "CANCELLED"]
    assert len(events) == planned(own, who, "2026-03-14", "2026-07-12") > 0
    out = capsys.readouterr().out
    assert who in out
    assert f"{len(events)} visit" in out
    # Once more is the same diary, and is written over.
    assert run("--vet", who, "mine.ics") == 0


def test_days_and_the_whole_practice(run, own: Path) -> None:
    assert run("--from", "2026-03-14", "--to", "2026-03-31", "all.ics") == 0
    days = [str(one.dtstart)[:10] for one in read(Path("all.ics")).events]
    assert days
    assert all("2026-03-14" <= day <= "2026-03-31" for day in days)


def test_a_site_by_client_or_both_names(run, own: Path) -> None:
    ((client, site),) = table(
        own, "SELECT c.name, s.name FROM visit v JOIN site s ON s.id = v.site_id JOIN client c "
             "ON c.id = s.client_id WHERE v.state = 'planned' ORDER BY v.on_day DESC LIMIT 1",
    )  # fmt: skip
    assert run("--site", f"{client}, {site}", "site.ics") == 0
    assert all(str(client) in (one.summary or "") for one in read(Path("site.ics")).events)
    with pytest.raises(NotFound, match="No site goes by"):
        run("--site", "nowhere at all", "site.ics")
    with pytest.raises(NotFound, match="not on the staff"):
        run("--vet", "Nobody", "site.ics")
    with pytest.raises(BadInput, match="first day"):
        run("--from", "tomorrow", "site.ics")


def test_another_file_is_left_as_it_is(run) -> None:
    path = Path("notes.ics")
    path.write_text("my notes", encoding="utf-8")
    with pytest.raises(BadInput, match="left as it is"):
        run(path)
    assert path.read_text(encoding="utf-8") == "my notes"
    assert run("--over", path) == 0
    assert read(path).prodid == "-//Pondround//Pondround//EN"


def test_the_file_goes_to_a_pipe(run, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("-") == 0
    said = capsys.readouterr()
    assert said.out.startswith("BEGIN:VCALENDAR")
    assert "visit" in said.err


def test_days_off_come_in(call: Call, own: Path, tmp_path: Path) -> None:
    path = tmp_path / "leave.ics"
    path.write_bytes(LEAVE.encode())
    who = vet_of(own)
    words = ("import", "daysoff", path, "--person", who, "--book", own, "--as", who)
    code, out, err = call(*words, "--dry-run")
    assert (code, err) == (0, "")
    assert "Would add 1 entry" in out
    assert "nothing was saved" in out
    assert "add: 4 May 2026 to 8 May 2026, Leave" in out
    assert not harmful(out)
    assert table(own, "SELECT id FROM day_off WHERE uid = 'a'") == []
    code, out, _ = call(*words)
    assert code == 0
    assert "Added 1 entry, changed 0, struck through 0." in out
    ((first, last),) = table(own, "SELECT first_day, last_day FROM day_off WHERE uid = 'a'")
    assert (first, last) == ("2026-05-04", "2026-05-08")
    code, out, _ = call(*words)
    assert "1 in the book already" in out
    assert len(table(own, "SELECT id FROM day_off WHERE uid = 'a'")) == 1


def test_what_cannot_be_read_is_told_with_its_line(call: Call, own: Path, tmp_path: Path) -> None:
    path = tmp_path / "leave.ics"
    path.write_bytes(LEAVE.replace("20260509", "20260401").encode())
    code, out, _ = call(
        "import", "daysoff", path, "--everybody", "--book", own, "--as", vet_of(own)
    )
    assert code == 1
    assert "line 3: The event ends before it begins." in out


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("--person", "Nobody"), 1, "not on the staff"),
        ((), 2, "--person"),
        (("--person", "A", "--everybody"), 2, "not allowed with"),
    ],
)
def test_whose_days_off_has_to_be_said(
    call: Call, own: Path, tmp_path: Path, words: tuple[str, ...], code: int, says: str
) -> None:
    path = tmp_path / "leave.ics"
    path.write_bytes(LEAVE.encode())
    found, out, err = call("import", "daysoff", path, *words, "--book", own, "--as", vet_of(own))
    assert found == code
    assert says in out + err


def test_a_file_that_is_no_calendar(call: Call, own: Path, tmp_path: Path) -> None:
    path = tmp_path / "leave.ics"
    path.write_text("dear diary", encoding="utf-8")
    code, out, err = call(
        "import", "daysoff", path, "--everybody", "--book", own, "--as", vet_of(own)
    )
    assert (code, out) == (1, "")
    assert "holds no calendar" in err
