"""Whether a folder lies on a network is read from the table of mounts; whether locks hold is tried."""

from __future__ import annotations

import errno
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from entries import NOW, add_pond, row_of

from store.book import opening
from store.book.act import Act
from store.book.files import file_trouble
from store.book.files.network_folder import Folder, folder_of, found_in, is_share, locks_work
from store.book.opening import open_book, remark_of
from store.book.people import staff
from store.errors import BookTrouble

TABLE = r"""
22 28 0:21 / /proc rw,relatime - proc proc rw
28 1 254:0 / / rw,relatime shared:1 - ext4 /dev/vda rw,discard
29 28 0:40 / /home rw,relatime shared:2 master:1 - btrfs /dev/sdb1 rw,space_cache
31 28 0:51 / /srv/practice rw,relatime - nfs4 desk:/practice rw,vers=4.2,local_lock=none
32 31 0:52 / /srv/practice/cache rw - tmpfs tmpfs rw,size=10k
33 28 0:53 / /mnt/our\040books\011x rw,relatime - cifs //desk/books rw,vers=3.1.1,serverino
34 28 0:54 / /mnt/deaf rw,relatime - cifs //desk/books rw,nobrl
35 28 0:55 / /mnt/old rw,relatime - nfs desk:/old rw,vers=3,nolock,local_lock=none
36 28 0:56 / /mnt/alone rw - nfs desk:/old rw,vers=3,local_lock=all
37 28 0:57 / /mnt/far rw,nosuid - fuse.sshfs ada@desk:/ rw,user_id=1000
38 28 0:58 / /mnt/some rw - fuse.others some rw
39 28 8:17 / /mnt/stick rw - fuseblk /dev/sdb1 rw
40 28 0:60 / /mnt/host rw - 9p host rw,trans=virtio
41 28 0:61 / /auto rw shared:9 - autofs systemd-1 rw,fd=43
42 41 0:62 / /auto rw shared:9 - smb3 //desk/auto rw
43 28 0:63 / /mnt/caf\303\251 rw - afs cell rw
a line that is none
50 28 short - nfs
""".strip("\n")


def test_the_table_of_mounts_tells_where_a_folder_lies() -> None:
    for folder, wanted in {
        "/": Folder(False, "ext4"),
        "/srv": Folder(False, "ext4"),
        "/home/ada": Folder(False, "btrfs"),
        "/srv/practice": Folder(True, "nfs4"),
        "/srv/practice/2026/deep": Folder(True, "nfs4"),
        "/srv/practice-of-old": Folder(False, "ext4"),
        "/srv/practice/cache": Folder(False, "tmpfs"),
        "/mnt/our books\tx/a": Folder(True, "cifs"),
        "/mnt/deaf": Folder(True, "cifs", one_computer=True),
        "/mnt/old": Folder(True, "nfs", one_computer=True),
        "/mnt/alone": Folder(True, "nfs", one_computer=True),
        "/mnt/far": Folder(True, "fuse.sshfs", one_computer=True),
        "/mnt/some": Folder(True, "fuse.others"),
        "/mnt/stick": Folder(False, "fuseblk"),
        "/mnt/host": Folder(True, "9p"),
        "/auto/x": Folder(True, "smb3"),
        "/mnt/café": Folder(True, "afs"),
    }.items():
        assert found_in(TABLE, folder) == wanted, folder
    assert found_in("", "/home") == Folder(None)
    assert found_in("31 28 0:51 / /srv rw - nfs4 desk:/ rw", "/home") == Folder(None)


def test_paths_of_windows() -> None:
    assert is_share(r"\\desk\practice\ponds.pondround")
    assert is_share(r"\\?\UNC\desk\practice\ponds.pondround")
    assert not is_share(r"\\?\C:\ponds.pondround")
    assert not is_share(r"C:\ponds.pondround")


@pytest.mark.skipif(sys.platform != "linux", reason="the table of mounts is Linux's")
def test_this_computers_own_folder_is_no_network(tmp_path: Path) -> None:
    (tmp_path / "link").symlink_to(tmp_path)
    assert folder_of(tmp_path / "link" / "practice.pondround").network is False


def _does_nothing(_file: int) -> None:
    """A lock that is granted to everybody."""


def _cannot(_file: int) -> None:
    raise OSError(errno.ENOLCK, "No locks available")


def test_locks_are_tried_with_another_program(tmp_path: Path) -> None:
    assert locks_work(tmp_path)
    assert not locks_work(tmp_path, _does_nothing)
    assert not locks_work(tmp_path, _cannot)
    assert not locks_work(tmp_path / "not there")
    assert list(tmp_path.iterdir()) == []


def test_where_another_program_cannot_be_asked_nothing_is_taken_for_granted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for other in (str(tmp_path / "none"), "/bin/false", ""):
        monkeypatch.setattr(sys, "executable", other)
        assert not locks_work(tmp_path)
    assert list(tmp_path.iterdir()) == []


@pytest.fixture
def lies(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    """Every folder is one of a network."""
    monkeypatch.setattr(opening, "folder_of", lambda _path: Folder(True, "nfs4"))
    return monkeypatch


def _side_files(path: Path) -> set[str]:
    return {each.name[len(path.name) :] for each in path.parent.iterdir()} - {""}


def test_where_locks_hold_a_network_folder_is_written_without_shared_memory(
    sqlite_url: str, lies: pytest.MonkeyPatch
) -> None:
    path = Path(sqlite_url)
    assert path.read_bytes()[18:20] == b"\2\2", "it was kept with the log ahead"
    with open_book(path, now=NOW) as book:
        assert not book.only_read
        assert "network folder" in remark_of(book)
        pond = add_pond(book, Act(staff(book)[0].id, NOW))
        with book.reading() as one, book.reading() as other:
            for connection in (one, other):
                assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "delete"
                assert connection.exec_driver_sql("PRAGMA mmap_size").scalar() == 0
        assert "-shm" not in _side_files(path)
        code = (
            "import sqlite3, sys; book = sqlite3.connect(sys.argv[1], timeout=1)\n"
            "book.execute('BEGIN EXCLUSIVE'); print('free')"
        )
        ran = subprocess.run(
            [sys.executable, "-c", code, sqlite_url], capture_output=True, text=True, check=True
        )
        assert ran.stdout == "free\n", "the file is let go between two writings"
    assert path.read_bytes()[18:20] == b"\1\1"
    lies.undo()
    with open_book(path, now=NOW) as book:
        assert not remark_of(book)
        assert row_of(book, "pond", pond).name == "Lower pond"
        with book.reading() as connection:
            assert connection.exec_driver_sql("PRAGMA journal_mode").scalar() == "wal"


def test_where_locks_do_not_hold_a_book_is_only_read_with_all_that_was_saved(
    sqlite_url: str, lies: pytest.MonkeyPatch
) -> None:
    path = Path(sqlite_url)
    lies.setattr(opening, "folder_of", lambda _path: Folder(False))
    with open_book(path, now=NOW) as writer:
        act = Act(staff(writer)[0].id, NOW)
        pond = add_pond(writer, act)
        copied = path.with_name("copied.pondround")
        for ending in ("", "-wal"):  # as a program that was killed leaves them
            copied.with_name(copied.name + ending).write_bytes(
                path.with_name(path.name + ending).read_bytes()
            )
    before = copied.read_bytes()
    lies.setattr(opening, "folder_of", lambda _path: Folder(True, "nfs4"))
    lies.setattr(opening, "locks_work", lambda folder: locks_work(folder, _does_nothing))
    with open_book(copied, now=NOW) as book:
        assert "PostgreSQL" in book.only_read
        assert row_of(book, "pond", pond).name == "Lower pond", "it stands in the side file"
        with pytest.raises(BookTrouble, match="spoil it") as caught:
            add_pond(book, act)
        assert "nothing was saved" in caught.value.message
    assert copied.read_bytes() == before
    assert not copied.with_name(copied.name + "-shm").exists()
    new = path.with_name("new.pondround")
    with pytest.raises(BookTrouble, match="PostgreSQL"):
        open_book(new, now=NOW, create=True)
    assert not new.exists()


def test_locks_that_hold_on_one_computer_alone_are_none(
    sqlite_url: str, lies: pytest.MonkeyPatch
) -> None:
    lies.setattr(opening, "folder_of", lambda _path: Folder(True, "fuse.sshfs", one_computer=True))
    with open_book(sqlite_url, now=NOW) as book:
        assert "two computers" in book.only_read


def _sqlite_error(name: str) -> sqlite3.OperationalError:
    error = sqlite3.OperationalError("disk I/O error")
    error.sqlite_errorname = name  # type: ignore[misc]
    return error


@pytest.mark.parametrize(
    ("name", "title"),
    [
        ("SQLITE_PROTOCOL", "Locks do not work there"),
        ("SQLITE_IOERR_SHMMAP", "Locks do not work there"),
        ("SQLITE_IOERR_LOCK", "Locks do not work there"),
        ("SQLITE_IOERR_RDLOCK", "Locks do not work there"),
        ("SQLITE_IOERR_WRITE", "The disk does not answer"),
        ("SQLITE_IOERR_NOMEM", "No memory left"),
        ("SQLITE_IOERR_CORRUPTFS", None),
        ("SQLITE_FULL", None),
    ],
)
def test_what_sqlite_calls_a_disk_error_is_told_apart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, title: str | None
) -> None:
    monkeypatch.setattr(file_trouble, "_room_bytes", lambda _folder: 1e9)
    found = file_trouble.file_trouble(_sqlite_error(name), tmp_path / "practice.pondround")
    assert (found and found.title) == title
    if title is not None and name != "SQLITE_IOERR_NOMEM":
        monkeypatch.setattr(file_trouble, "_room_bytes", lambda _folder: 0.0)
        found = file_trouble.file_trouble(_sqlite_error(name), tmp_path / "practice.pondround")
        assert found is not None
        assert found.title == "The disk is full"
