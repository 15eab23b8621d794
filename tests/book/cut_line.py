"""A line to the PostgreSQL of the tests that can be cut and mended, at any moment of a talk."""

from __future__ import annotations

import contextlib
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Literal

from sqlalchemy import URL, make_url

Moment = Literal["before", "after", "unseen"]
_COMMIT = b"COMMIT\x00"


class Line:
    """Listens on a port of this machine and hands everything on to the server and back.

    Parameters
    ----------
    address
        Of a database, as the tests know it; over a socket of the file system or over TCP.
    """

    def __init__(self, address: str) -> None:
        self._behind = make_url(address)
        self._pairs: list[tuple[socket.socket, socket.socket]] = []
        self._lock = threading.Lock()
        self._whole = True
        self._at_commit: Moment | None = None
        self._unheard: socket.socket | None = None
        self._said = threading.Event()
        self._left_open: list[socket.socket] = []
        self.commits_cut = 0
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listening.getsockname()[1])
        threading.Thread(target=self._accept, daemon=True).start()

    @property
    def url(self) -> str:
        """The same database, by way of this line."""
        url = URL.create(
            self._behind.drivername, self._behind.username, self._behind.password,
            "127.0.0.1", self.port, self._behind.database, {"sslmode": "disable"},
        )  # fmt: skip
        return url.render_as_string(hide_password=False)

    def cut(self) -> None:
        """Break every talk at once, and let nobody begin a new one."""
        with self._lock:
            self._whole = False
            pairs, self._pairs = self._pairs, []
        for pair in pairs:
            _close(*pair)

    def mend(self) -> None:
        """Let new talks begin."""
        self._unheard = None
        self._said.clear()
        self._whole = True

    def cut_at_commit(self, moment: Moment) -> None:
        """Break the line by itself at the next order to keep something.

        Parameters
        ----------
        moment
            `before`: the order does not reach the server, which sees the line break; `after`: the
            server keeps it and its answer gets lost; `unseen`: the order does not reach the server,
            and the server does not see that nobody is there any more.
        """
        self._at_commit = moment

    def close(self) -> None:
        """The line is gone."""
        self.cut()
        _close(*self._left_open, self._listening)

    def _accept(self) -> None:
        while True:
            try:
                near, _ = self._listening.accept()
            except OSError:
                return
            if not self._whole:
                near.close()
                continue
            try:
                far = self._to_server()
            except OSError:
                near.close()
                continue
            with self._lock:
                if not self._whole:
                    _close(near, far)
                    continue
                self._pairs.append((near, far))
            threading.Thread(target=self._orders, args=(near, far), daemon=True).start()
            threading.Thread(target=self._answers, args=(far, near), daemon=True).start()

    def _to_server(self) -> socket.socket:
        host = self._behind.host or self._behind.query.get("host") or "127.0.0.1"
        port = self._behind.port or 5432
        assert isinstance(host, str)
        if host.startswith("/"):
            far = socket.socket(socket.AF_UNIX)
            far.connect(f"{host}/.s.PGSQL.{port}")
            return far
        return socket.create_connection((host, int(port)))

    def _orders(self, near: socket.socket, far: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while sent := near.recv(65536):
                moment = self._at_commit if _COMMIT in sent else None
                if moment is None:
                    far.sendall(sent)
                    continue
                self._at_commit = None
                self.commits_cut += 1
                if moment == "after":
                    self._unheard = far
                    far.sendall(sent)
                    self._said.wait(5.0)
                elif moment == "unseen":
                    self._left_open.append(far)
                    with self._lock:
                        self._pairs.remove((near, far))
                    _close(near)
                self.cut()
                return
        _close(near, far)

    def _answers(self, far: socket.socket, near: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while said := far.recv(65536):
                if self._unheard is far:
                    self._said.set()
                    return
                near.sendall(said)
        _close(near, far)


def _close(*ends: socket.socket) -> None:
    for end in ends:
        with contextlib.suppress(OSError):
            end.shutdown(socket.SHUT_RDWR)
        end.close()


@contextmanager
def line_to(address: str) -> Iterator[Line]:
    """A whole line to a database.

    Parameters
    ----------
    address
        Of the database, as the tests know it.

    Yields
    ------
    Line
        To be cut and mended.
    """
    line = Line(address)
    try:
        yield line
    finally:
        line.close()
