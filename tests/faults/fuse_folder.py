"""A folder behind the kernel's FUSE whose locks do what is wanted; for root on Linux.

It hands everything on to a real folder, but answers questions for locks as it was told:
`granted` to everybody, `refused` for want of locks, or `kernel`, which keeps them properly. With
`unshared` no memory can be shared through its files, as over a network. It runs as a program of
its own: `python fuse_folder.py MOUNT FOLDER LOCKS [unshared]`, says "ready", and goes when its
standard input is closed.
"""

from __future__ import annotations

import ctypes
import errno
import os
import struct
import sys
import threading
from collections.abc import Callable

KIND = b"fuse.trial"
_DIRECT = 1  # FOPEN_DIRECT_IO: no pages in common, so that no memory can be shared
_POSIX_LOCKS, _BIG_WRITES = 1 << 1, 1 << 5


class Folder:
    """Answers the kernel, one question after the other."""

    def __init__(self, device: int, folder: str, locks: str, unshared: bool) -> None:
        self._device, self._folder, self._locks = device, folder, locks
        self._open_flags = _DIRECT if unshared else 0
        self._names: dict[int, str] = {1: "."}
        self._ids: dict[str, int] = {".": 1}
        self._asked: dict[int, Callable[[int, bytes], bytes | None]] = {
            1: self._lookup, 2: self._forget, 3: self._getattr, 4: self._setattr, 10: self._unlink,
            12: self._rename, 14: self._open, 15: self._read, 16: self._write, 17: self._statfs,
            18: self._release, 20: self._fsync, 25: self._nothing, 26: self._init,
            27: self._nothing_open, 28: self._readdir, 29: self._nothing, 30: self._nothing,
            31: self._getlk, 32: self._setlk, 33: self._setlk, 34: self._nothing, 35: self._create,
            42: self._forget,
        }  # fmt: skip

    def run(self) -> None:
        while True:
            try:
                asked = os.read(self._device, 1 << 20)
            except OSError as error:
                if error.errno in (errno.EINTR, errno.ENOENT):
                    continue
                return
            _, what, number, node = struct.unpack_from("<IIQQ", asked)
            try:
                handler = self._asked.get(what)
                if handler is None:
                    raise OSError(errno.ENOSYS, "")
                told, failed = handler(node, asked[40:]), 0
            except OSError as error:
                told, failed = b"", error.errno or errno.EIO
            if told is not None:
                os.write(self._device, struct.pack("<IiQ", 16 + len(told), -failed, number) + told)

    def _init(self, _node: int, rest: bytes) -> bytes:
        _, _, ahead, flags = struct.unpack_from("<IIII", rest)
        wanted = _BIG_WRITES | (0 if self._locks == "kernel" else _POSIX_LOCKS)
        head = struct.pack("<IIIIHHII", 7, 31, ahead, flags & wanted, 16, 12, 1 << 17, 1)
        return head.ljust(64, b"\0")

    def _path(self, node: int, name: bytes = b"") -> str:
        return os.path.join(self._folder, os.fsdecode(name.rstrip(b"\0")) or self._names[node])  # noqa: PTH118

    def _attr(self, path: str) -> bytes:
        at = os.stat(path)  # noqa: PTH116
        seconds = (int(at.st_atime), int(at.st_mtime), int(at.st_ctime))
        return struct.pack(
            "<6Q3I7I", at.st_ino, at.st_size, at.st_blocks, *seconds, 0, 0, 0, at.st_mode,
            at.st_nlink, at.st_uid, at.st_gid, 0, 4096, 0,
        )  # fmt: skip

    def _entry(self, name: str) -> bytes:
        attr = self._attr(os.path.join(self._folder, name))  # noqa: PTH118
        if name not in self._ids:
            self._ids[name] = max(self._names) + 1
            self._names[self._ids[name]] = name
        return struct.pack("<QQQQII", self._ids[name], 0, 0, 0, 0, 0) + attr

    def _lookup(self, _node: int, rest: bytes) -> bytes:
        return self._entry(os.fsdecode(rest.rstrip(b"\0")))

    def _forget(self, _node: int, _rest: bytes) -> None:
        return None

    def _nothing(self, _node: int, _rest: bytes) -> bytes:
        return b""

    def _nothing_open(self, _node: int, _rest: bytes) -> bytes:
        return struct.pack("<QII", 0, 0, 0)

    def _getattr(self, node: int, _rest: bytes) -> bytes:
        return struct.pack("<QII", 0, 0, 0) + self._attr(self._path(node))

    def _setattr(self, node: int, rest: bytes) -> bytes:
        valid, _, _, size = struct.unpack_from("<IIQQ", rest)
        if valid & 8:
            os.truncate(self._path(node), size)
        if valid & 1:
            os.chmod(self._path(node), struct.unpack_from("<I", rest, 68)[0] & 0o7777)  # noqa: PTH101
        return self._getattr(node, b"")

    def _unlink(self, _node: int, rest: bytes) -> bytes:
        os.unlink(self._path(1, rest))  # noqa: PTH108
        self._ids.pop(os.fsdecode(rest.rstrip(b"\0")), None)
        return b""

    def _rename(self, _node: int, rest: bytes) -> bytes:
        old, new = rest[8:].rstrip(b"\0").split(b"\0")
        os.replace(self._path(1, old), self._path(1, new))  # noqa: PTH105
        moved = self._ids.pop(os.fsdecode(old), None)
        if moved is not None:
            self._ids[os.fsdecode(new)] = moved
            self._names[moved] = os.fsdecode(new)
        return b""

    def _open(self, node: int, rest: bytes) -> bytes:
        flags = struct.unpack_from("<I", rest)[0] & (os.O_ACCMODE | os.O_TRUNC)
        return struct.pack("<QII", os.open(self._path(node), flags), self._open_flags, 0)

    def _create(self, _node: int, rest: bytes) -> bytes:
        flags, mode = struct.unpack_from("<II", rest)
        file = os.open(self._path(1, rest[16:]), (flags & ~os.O_NOFOLLOW) | os.O_CREAT, mode)
        entry = self._entry(os.fsdecode(rest[16:].rstrip(b"\0")))
        return entry + struct.pack("<QII", file, self._open_flags, 0)

    def _read(self, _node: int, rest: bytes) -> bytes:
        file, at, size = struct.unpack_from("<QQI", rest)
        return os.pread(file, size, at)

    def _write(self, _node: int, rest: bytes) -> bytes:
        file, at, size = struct.unpack_from("<QQI", rest)
        return struct.pack("<II", os.pwrite(file, rest[40 : 40 + size], at), 0)

    def _release(self, _node: int, rest: bytes) -> bytes:
        os.close(struct.unpack_from("<Q", rest)[0])
        return b""

    def _fsync(self, _node: int, rest: bytes) -> bytes:
        os.fsync(struct.unpack_from("<Q", rest)[0])
        return b""

    def _statfs(self, _node: int, _rest: bytes) -> bytes:
        at = os.statvfs(self._folder)
        numbers = (at.f_blocks, at.f_bfree, at.f_bavail, at.f_files, at.f_ffree)
        return struct.pack("<5Q4I", *numbers, at.f_bsize, 255, at.f_frsize, 0).ljust(80, b"\0")

    def _readdir(self, _node: int, rest: bytes) -> bytes:
        _, after, size = struct.unpack_from("<QQI", rest)
        told = b""
        for nth, name in enumerate(sorted(os.listdir(self._folder))):  # noqa: PTH208
            raw = os.fsencode(name)
            entry = struct.pack("<QQII", nth + 2, nth + 1, len(raw), 8) + raw
            entry = entry.ljust((len(entry) + 7) // 8 * 8, b"\0")
            if nth >= after and len(told) + len(entry) <= size:
                told += entry
        return told

    def _getlk(self, _node: int, rest: bytes) -> bytes:
        if self._locks == "refused":
            raise OSError(errno.ENOLCK, "")
        start, end = struct.unpack_from("<QQ", rest, 16)
        return struct.pack("<QQII", start, end, 2, 0)  # nobody holds it

    def _setlk(self, _node: int, _rest: bytes) -> bytes:
        if self._locks == "refused":
            raise OSError(errno.ENOLCK, "")
        return b""


def main() -> None:
    mount, folder, locks, *more = sys.argv[1:]
    libc = ctypes.CDLL(None, use_errno=True)
    device = os.open("/dev/fuse", os.O_RDWR)
    options = f"fd={device},rootmode=40000,user_id=0,group_id=0,allow_other".encode()
    if libc.mount(b"trial", os.fsencode(mount), KIND, 6, options):
        print(f"not mounted: {os.strerror(ctypes.get_errno())}", flush=True)
        return
    answering = Folder(device, folder, locks, "unshared" in more)
    threading.Thread(target=answering.run, daemon=True).start()
    print("ready", flush=True)
    sys.stdin.read()
    libc.umount2(os.fsencode(mount), 2)  # MNT_DETACH


if __name__ == "__main__":
    main()
