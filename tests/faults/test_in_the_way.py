"""What lies in the place of a book, who may do what with it, who has it locked, and where it lies."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from store.book.act import Act
from store.book.book import Book
from store.book.files.network_folder import folder_of
from store.book.opening import open_book, remark_of
from store.book.people import staff
from store.book.tables import table
from store.errors import BookTrouble, PondroundError
from tests.faults.hands import START, Hand, count_on, first_pond, hold, whole
from tui.drafts import Drafts
from tui.settings import Settings, write_settings

NOBODY = 65534
pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has no file modes")


@pytest.fixture
def folder() -> Iterator[Path]:
    """A folder that others can reach."""
    place = Path(tempfile.mkdtemp(prefix="pondround-way-"))
    place.chmod(0o755)
    yield place
    place.chmod(0o755)
    shutil.rmtree(place)


def as_nobody(tell: Callable[..., None], path: str, create: bool) -> None:
    """Open, read and write as one who is not root, and tell what came of it."""
    if os.geteuid() == 0:
        os.setgroups([])
        os.setgid(NOBODY)
        os.setuid(NOBODY)
    try:
        with open_book(path, now=START, create=create, patience_s=1) as book:
            people = staff(book)
            tell("read", len(people))
            if not people:
                return
            with book.writing(Act(people[0].id, START)) as writing:
                key = writing.add("client", name="Brook House")
            tell("wrote", key)
    except PondroundError as trouble:
        tell("told", trouble.message)
    drafts = Drafts(Path(path).parent / "drafts.json")
    drafts.of("test").keep({"ph": "7"})
    tell("draft", drafts.of("test").values.get("ph"), drafts.trouble or "kept")
    write_settings(Path(path).parent / "settings.toml", Settings())


@pytest.mark.parametrize(
    ("file_mode", "folder_mode", "reads", "says"),
    [
        (0o666, 0o777, True, ""),
        (0o444, 0o777, True, "can only be read by you"),
        (0o444, 0o555, True, "can only be read by you"),
        (0o666, 0o555, True, "folder of the book"),
        (0o000, 0o777, False, "may not read"),
        (0o666, 0o666, False, "may not read"),
        (0o666, 0o000, False, "may not read"),
        (None, 0o555, False, "may not"),
        (None, 0o000, False, "may not"),
    ],
)
def test_what_one_may_not_do(
    sqlite_template: Path, folder: Path, tmp_path: Path,
    file_mode: int | None, folder_mode: int, reads: bool, says: str,
) -> None:  # fmt: skip
    path = folder / "practice.pondround"
    if file_mode is not None:
        shutil.copyfile(sqlite_template, path)
        path.chmod(file_mode)
    folder.chmod(folder_mode)
    hand = Hand(as_nobody, tmp_path / "notes", str(path), file_mode is None)
    assert hand.wait(60) == 0
    told = {words[0]: " ".join(words[1:]) for words in hand.lines()}
    folder.chmod(0o755)
    assert ("read" in told) == reads, told
    assert ("wrote" in told) == (not says), told
    assert says in told.get("told", ""), told
    assert told["draft"].startswith("7 ")
    if file_mode is not None:
        path.chmod(0o644)
        whole(str(path), [])
    else:
        assert not path.exists()


def _saves(book: Book, act: Act, then: Callable[[], object] = lambda: None) -> None:
    with book.writing(act) as writing:
        writing.add("client", name="Brook House")
        then()


def test_a_file_that_goes_away_while_it_is_open(sqlite_template: Path, tmp_path: Path) -> None:
    path, away = tmp_path / "practice.pondround", tmp_path / "elsewhere"
    shutil.copyfile(sqlite_template, path)
    shutil.copyfile(sqlite_template, tmp_path / "other.pondround")
    with open_book(path, now=START) as book:
        act = Act(staff(book)[0].id, START)
        _saves(book, act)
        path.rename(away)
        with pytest.raises(BookTrouble, match="removed, moved or replaced"):
            _saves(book, act)
        assert staff(book), "what was read can be read on"
        away.rename(path)
        _saves(book, act)
        path.rename(away)
        (tmp_path / "other.pondround").rename(path)
        with pytest.raises(BookTrouble, match="removed, moved or replaced"):
            _saves(book, act)
        path.unlink()
        path.mkdir()
        with pytest.raises(BookTrouble, match="removed, moved or replaced"):
            _saves(book, act)
        path.rmdir()
        away.rename(path)
        with pytest.raises(BookTrouble, match="removed, moved or replaced"):
            _saves(book, act, then=lambda: path.rename(away))
        away.rename(path)
        with book.reading() as connection:
            assert len(connection.execute(table("client").select()).all()) == 2
        _saves(book, act)
    whole(str(path), [])


def test_what_lies_in_its_place(sqlite_template: Path, tmp_path: Path) -> None:
    path = tmp_path / "practice.pondround"
    for make, says in {
        path.mkdir: "is a folder",
        lambda: path.symlink_to(tmp_path / "stick" / "ponds"): "points at",
        lambda: os.mkfifo(path): "a pipe",
        lambda: path.symlink_to("/dev/null"): "a device",
        lambda: path.symlink_to(path.name): "cannot be opened|did not answer|loop",
        lambda: path.with_name(path.name + "-wal").write_bytes(b"x" * 99): "holds entries of one",
    }.items():
        make()
        for create in (False, True):
            if "entries" in says and not create:
                continue
            with pytest.raises(BookTrouble, match=says):
                open_book(path, now=START, create=create)
        left = [each.name for each in tmp_path.iterdir()]
        assert len(left) == 1, left
        one = tmp_path / left[0]
        one.rmdir() if one.is_dir() and not one.is_symlink() else one.unlink()
    real = tmp_path / "real.pondround"
    shutil.copyfile(sqlite_template, real)
    path.symlink_to(real)
    with open_book(path, now=START) as book:
        _saves(book, Act(staff(book)[0].id, START))
    whole(str(real), [])


def test_locked_by_another_program(sqlite_url: str, tmp_path: Path) -> None:
    with open_book(sqlite_url, now=START, patience_s=0.5) as book:
        act = Act(staff(book)[0].id, START)
        holder = Hand(hold, tmp_path / "notes", sqlite_url, 3.0)
        holder.begun()
        begun = time.monotonic()
        with pytest.raises(BookTrouble, match="locked by another program"):
            _saves(book, act)
        assert 0.4 < time.monotonic() - begun < 2
        assert staff(book), "reading goes on"
        assert holder.wait(20) == 0
        _saves(book, act)
    holder = Hand(hold, tmp_path / "notes-2", sqlite_url, 1.0)
    holder.begun()
    with open_book(sqlite_url, now=START, patience_s=8) as book:
        _saves(book, act)
    assert holder.wait(20) == 0
    whole(sqlite_url, [])


LOCKED = """
import fcntl, os, sys, time
file = os.open(sys.argv[1], os.O_RDWR)
fcntl.lockf(file, fcntl.LOCK_EX)
print("begun", flush=True)
sys.stdin.read()
"""


def test_locked_by_a_program_that_is_no_database(sqlite_url: str) -> None:
    other = subprocess.Popen(
        [sys.executable, "-c", LOCKED, sqlite_url],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert other.stdout is not None
    other.stdout.readline()
    begun = time.monotonic()
    with pytest.raises(BookTrouble, match="locked by another program"):
        open_book(sqlite_url, now=START, patience_s=0.5)
    assert time.monotonic() - begun < 4
    other.communicate()
    with open_book(sqlite_url, now=START, patience_s=0.5) as book:
        _saves(book, Act(staff(book)[0].id, START))
    whole(sqlite_url, [])


@contextmanager
def network(tmp_path: Path, locks: str, *more: str) -> Iterator[Path]:
    """A folder whose locks answer as is wanted, from the kernel's own FUSE."""
    mount, behind = tmp_path / "mount", tmp_path / "behind"
    mount.mkdir()
    behind.mkdir(exist_ok=True)
    program = Path(__file__).with_name("fuse_folder.py")
    ran = subprocess.Popen(
        [sys.executable, str(program), str(mount), str(behind), locks, *more],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    assert ran.stdout is not None
    said = ran.stdout.readline().strip()
    try:
        if said != "ready":
            pytest.skip(f"a folder of FUSE cannot be mounted here: {said}")
        yield mount
    finally:
        ran.communicate()
        mount.rmdir()


@pytest.mark.parametrize("locks", ["granted", "refused"])
def test_a_folder_where_locks_do_not_work(
    sqlite_template: Path, tmp_path: Path, locks: str
) -> None:
    (tmp_path / "behind").mkdir()
    shutil.copyfile(sqlite_template, tmp_path / "behind" / "practice.pondround")
    before = (tmp_path / "behind" / "practice.pondround").read_bytes()
    with network(tmp_path, locks, "unshared") as mount:
        path = mount / "practice.pondround"
        assert folder_of(path).network
        with open_book(path, now=START) as book:
            act = Act(staff(book)[0].id, START)
            assert "PostgreSQL" in book.only_read
            with pytest.raises(BookTrouble, match="one computer's own disk"):
                _saves(book, act)
        with pytest.raises(BookTrouble, match="PostgreSQL"):
            open_book(mount / "new.pondround", now=START, create=True)
        assert [each.name for each in mount.iterdir()] == [path.name]
    assert (tmp_path / "behind" / path.name).read_bytes() == before


def test_a_network_folder_where_locks_work(sqlite_template: Path, tmp_path: Path) -> None:
    (tmp_path / "behind").mkdir()
    shutil.copyfile(sqlite_template, tmp_path / "behind" / "practice.pondround")
    with network(tmp_path, "kernel", "unshared") as mount:
        path = mount / "practice.pondround"
        with open_book(path, now=START) as book:
            assert not book.only_read
            assert "network folder" in remark_of(book)
            pond = first_pond(book)
        hands = [
            Hand(count_on, tmp_path / f"notes-{nth}", str(path), pond, 5.0) for nth in range(2)
        ]
        assert [hand.wait(90) for hand in hands] == [0, 0]
        counted = sum(int(hand.lines()[-1][1]) for hand in hands)
        with open_book(path, now=START) as book, book.reading() as connection:
            row = connection.execute(table("pond").select()).one()
            assert row.volume_l == 1 + counted
            assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "delete"
        whole(str(path), [])
        assert not path.with_name(path.name + "-shm").exists()
        open_book(mount / "new.pondround", now=START, create=True).close()
        print(f"\n{counted} changes by two processes in a network folder, none lost")
