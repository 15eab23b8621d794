"""How a line to a server is set up so that a dead one is seen at both ends."""

from __future__ import annotations

from sqlalchemy import URL

SEEN_WITHIN = {
    "keepalives": 1,
    "keepalives_idle": 5,  # s
    "keepalives_interval": 3,  # s
    "keepalives_count": 3,
    "tcp_user_timeout": 15_000,  # ms
}
"""A line over which nothing comes back is known to be dead after 5 + 3 × 3 = 14 s."""
_SEEN_BY_SERVER = (
    "SET tcp_keepalives_idle = 5; SET tcp_keepalives_interval = 3; SET tcp_keepalives_count = 3; "
    "SET tcp_user_timeout = 15000"
)


def connecting(url: URL, patience_s: float) -> dict[str, int]:
    """What is asked of libpq beside what the address says itself, which goes before.

    Parameters
    ----------
    url
        The address; `sslmode`, `sslrootcert`, `keepalives_idle` and the like pass through.
    patience_s
        How long to wait for the server to answer at first [s].

    Returns
    -------
    dict
        By libpq's names.
    """
    seconds = max(2, round(patience_s))  # libpq takes whole seconds and no less than two
    wished = {"connect_timeout": seconds, **SEEN_WITHIN}
    return {name: value for name, value in wished.items() if name not in url.query}


def beginning(patience_s: float) -> str:
    """What every session says first: how long it waits for a lock, when it takes a line for dead.

    At the server a dead line matters too: what was under way would hold up others.

    Parameters
    ----------
    patience_s
        How long to wait for a lock [s].

    Returns
    -------
    str
        Statements.
    """
    return f"SET lock_timeout = {round(patience_s * 1000)}; {_SEEN_BY_SERVER}"
