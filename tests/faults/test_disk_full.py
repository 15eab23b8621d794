"""The disk is full: a sentence, nothing lost, and it goes on when there is room.

A small tmpfs where mounting is allowed, else a limit on the size of files in a child process.
"""

from __future__ import annotations

import os
import random
import resource
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from datetime import timedelta
from pathlib import Path

import pytest

from store.book import schema
from store.book.act import Act
from store.book.opening import open_book
from store.book.people import staff
from store.errors import BookTrouble, PondroundError
from store.exchange.out.book_folder import export_book
from store.water.water_tests import save_test
from tests.faults.hands import START, Hand, a_test, first_pond, number_in, whole
from tests.faults.older_books import OLDER, a_source, make_older, rows_in
from tui.drafts import Drafts
from tui.settings import Settings, read_settings, write_settings

KIB = 1024


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A disk of four mebibytes."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=4m", "tmpfs", str(place)]
    if (
        sys.platform != "linux"
        or subprocess.run(mount, capture_output=True, check=False).returncode
    ):
        pytest.skip("mounting is not allowed here")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


@contextmanager
def full(disk: Path, leave: int = 0) -> Iterator[None]:
    """All room is taken but so many bytes."""
    taken = disk / "taken"
    file = os.open(taken, os.O_WRONLY | os.O_CREAT)
    with suppress(OSError):
        while True:
            os.write(file, b"x" * KIB)
    os.close(file)
    if leave:
        os.truncate(taken, max(0, taken.stat().st_size - leave))
    yield
    taken.unlink()


def _told(does: Callable[[], object]) -> BookTrouble | None:
    """The sentence that comes of it; None where it goes well."""
    try:
        does()
    except BookTrouble as trouble:
        return trouble
    return None


@pytest.mark.parametrize("leave_kib", [0, 4, 16, 40, 100])
def test_saving_on_a_full_disk(disk: Path, sqlite_template: Path, leave_kib: int) -> None:
    path = disk / "practice.pondround"
    shutil.copyfile(sqlite_template, path)
    lines: list[list[str]] = []
    dice = random.Random(1)
    with open_book(path, now=START) as book:
        act, pond = Act(staff(book)[0].id, START), first_pond(book)

        def save(nth: int) -> None:
            new = a_test(dice, START + timedelta(seconds=nth - 1000))
            lines.append(["test", str(save_test(book, act, pond, new)), str(len(new.readings))])

        for nth in range(10):
            save(nth)
        with full(disk, leave_kib * KIB):
            told = _told(lambda: [save(nth) for nth in range(10, 1000)])
            assert told is not None
            assert told.title == "The disk is full", told.message
            assert "nothing was saved" in told.message
            assert first_pond(book) == pond, "it can still be read"
        save(1000)
    whole(str(path), lines)


def test_opening_on_a_full_disk(disk: Path, sqlite_template: Path) -> None:
    path = disk / "practice.pondround"
    shutil.copyfile(sqlite_template, path)
    before = path.read_bytes()
    with full(disk):
        told = _told(lambda: open_book(path, now=START).close())
        assert told is None or told.title == "The disk is full", told
        with pytest.raises(BookTrouble, match="full"):
            open_book(disk / "new.pondround", now=START, create=True)
        assert {each.name for each in disk.iterdir()} - {"taken"} <= {
            path.name, f"{path.name}-wal", f"{path.name}-shm"
        }  # fmt: skip
    assert path.read_bytes() == before
    whole(str(path), [])
    open_book(disk / "new.pondround", now=START, create=True).close()


@pytest.mark.parametrize("leave_kib", [0, 64, 400, 700, 900])
def test_bringing_up_to_date_on_a_full_disk(
    disk: Path, sqlite_template: Path, tmp_path: Path, leave_kib: int
) -> None:
    number = OLDER[0]
    path = disk / "practice.pondround"
    rows = make_older(str(path), number, a_source(tmp_path, sqlite_template))
    with full(disk, leave_kib * KIB):
        told = _told(lambda: open_book(path, now=START).close())
        assert not list(disk.glob("*being-copied*"))
    assert told is not None or leave_kib >= 400
    if told is not None:
        assert told.title == "The disk is full", told.message
        assert number_in(str(path)) == number
        assert rows_in(str(path)) == rows
    for copy in disk.glob("*.before-upgrade-*.pondround"):
        assert rows_in(str(copy)) == rows
        copy.unlink()
    with open_book(path, now=START) as book, book.reading() as connection:
        assert schema.number(connection) == schema.HEAD


def test_exporting_to_a_full_disk(disk: Path, sqlite_template: Path, tmp_path: Path) -> None:
    path = tmp_path / "practice.pondround"
    shutil.copyfile(sqlite_template, path)
    with open_book(path, now=START) as book:
        first_pond(book)
        with full(disk, 8 * KIB):
            with pytest.raises(PondroundError, match=r"full|No space left"):
                export_book(book, disk / "book", START)
            assert [each.name for each in disk.iterdir()] == ["taken"], "nothing half is left"
        assert export_book(book, disk / "book", START).path.is_dir()


def test_drafts_and_settings_on_a_full_disk(disk: Path) -> None:
    drafts, settings = Drafts(disk / "drafts.json"), disk / "settings.toml"
    drafts.of("test").keep({"ph": "7.4"})
    write_settings(settings, Settings(theme="pondround-day"))
    with full(disk):
        drafts.of("test").keep({"ph": "7.4", "note": "x" * 20_000})
        assert drafts.trouble is not None
        assert "safe while this window is open" in drafts.trouble
        assert len(drafts.of("test").values["note"]) == 20_000
        assert Drafts(disk / "drafts.json").of("test").values == {"ph": "7.4"}
        write_settings(settings, Settings(theme="pondround-night", person="x" * 499))
        assert read_settings(settings)[0] == Settings(theme="pondround-day")
        assert {each.name for each in disk.iterdir()} == {"taken", "drafts.json", "settings.toml"}
    drafts.of("test").keep({"ph": "7.5"})
    assert drafts.trouble is None
    assert Drafts(disk / "drafts.json").of("test").values == {"ph": "7.5"}


def save_within(tell: Callable[..., None], address: str, most_bytes: int) -> None:
    """Save tests until a file may not grow any further; and then as if there were room again."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    dice = random.Random(2)
    with open_book(address, now=START) as book:
        act, pond = Act(staff(book)[0].id, START), first_pond(book)
        tell("begun")
        resource.setrlimit(resource.RLIMIT_FSIZE, (most_bytes, hard))
        for nth in range(4000):
            new = a_test(dice, START - timedelta(seconds=nth + 1))
            try:
                key = save_test(book, act, pond, new)
            except BookTrouble as trouble:
                tell("refused", trouble.title.replace(" ", "_"))
                break
            tell("test", key, len(new.readings))
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        key = save_test(book, act, pond, new)
        tell("test", key, len(new.readings))


def test_a_file_that_may_not_grow(sqlite_url: str, tmp_path: Path) -> None:
    size = Path(sqlite_url).stat().st_size
    for nth, more in enumerate((40_000, 200_000)):
        hand = Hand(save_within, tmp_path / f"notes-{nth}", sqlite_url, size + more)
        assert hand.wait(120) == 0
        lines = hand.lines()
        (refused,) = (line for line in lines if line[0] == "refused")
        assert refused[1] in ("The_disk_is_full", "The_disk_does_not_answer")
        whole(sqlite_url, [line for line in lines if line[0] != "refused"])
