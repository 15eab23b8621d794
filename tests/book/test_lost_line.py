"""A line to the database that breaks: it is said, nothing is lost, nothing is saved twice."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import timedelta

import pytest
from cut_line import Line, Moment, line_to
from sqlalchemy import create_engine, make_url, text

from store.book import book as book_file
from store.book.act import Act
from store.book.book import Book, Settled
from store.book.opening import open_book
from store.book.people import staff
from store.book.practice import practice
from store.book.server.asker import ASKER, Asker
from store.book.server.server_line import connecting
from store.errors import BookTrouble, NoAnswer, SavedAlready
from tests.conftest import NOW

pytestmark = pytest.mark.postgres


@pytest.fixture
def line(postgres_url: str) -> Iterator[Line]:
    with line_to(postgres_url) as made:
        yield made


@pytest.fixture
def far_book(line: Line, monkeypatch: pytest.MonkeyPatch) -> Iterator[Book]:
    """A book at the other end of a line that can be cut."""
    monkeypatch.setattr(book_file, "PAUSES_S", (0.0, 0.02, 0.05))
    with open_book(line.url, now=NOW, patience_s=0.3) as opened:
        yield opened


@pytest.fixture
def vet(far_book: Book) -> Act:
    return Act(staff(far_book)[0].id, NOW)


def _add(book: Book, act: Act, *names: str, between: Callable[[], None] = lambda: None) -> None:
    with book.writing(act) as writing:
        writing.add("client", name=names[0])
        between()
        for name in names[1:]:
            writing.add("client", name=name)


_END_OTHERS = """
    SELECT pg_terminate_backend(pid) FROM pg_stat_activity
    WHERE datname = current_database() AND pid <> pg_backend_pid()
"""


def _names(book: Book) -> list[str]:
    with book.reading() as connection:
        return list(connection.execute(text("SELECT name FROM client ORDER BY name")).scalars())


def test_a_cut_line_is_said_and_the_next_answer_comes_by_itself(
    far_book: Book, vet: Act, line: Line, caplog: pytest.LogCaptureFixture
) -> None:
    assert far_book.zone.key == "Europe/London"
    line.cut()
    with pytest.raises(NoAnswer, match="does not answer") as reading:
        staff(far_book)
    with pytest.raises(NoAnswer, match="does not answer") as writing:
        _add(far_book, vet, "Alder Row")
    assert (reading.value.saving, reading.value.unsure) == (False, False)
    assert (writing.value.saving, writing.value.unsure) == (True, False)
    assert far_book.zone.key == "Europe/London"
    line.mend()
    _add(far_book, vet, "Alder Row")
    assert _names(far_book) == ["Alder Row"]
    assert not [one for one in caplog.records if one.levelno >= logging.WARNING]


def test_a_line_that_breaks_while_something_is_saved_saves_nothing(
    far_book: Book, vet: Act, line: Line
) -> None:
    with pytest.raises(NoAnswer, match="nothing was saved") as told:
        _add(far_book, vet, "Alder Row", "Beech House", between=line.cut)
    assert told.value.saving
    assert not told.value.unsure
    line.mend()
    assert _names(far_book) == []


def test_a_session_that_the_server_ends_is_told_and_begun_anew(
    far_book: Book, vet: Act, postgres_url: str
) -> None:
    other = create_engine(postgres_url, isolation_level="AUTOCOMMIT")

    def end() -> None:
        with other.connect() as connection:
            connection.execute(text(_END_OTHERS))

    with pytest.raises(NoAnswer, match="nothing was saved"):
        _add(far_book, vet, "Alder Row", "Beech House", between=end)
    other.dispose()
    assert _names(far_book) == []  # over a new session


@pytest.mark.parametrize(("moment", "kept"), [("before", 0), ("after", 1), ("unseen", 0)])
def test_the_answer_to_keeping_gets_lost_and_it_is_looked_up(
    far_book: Book, vet: Act, line: Line, moment: Moment, kept: int
) -> None:
    """Nobody waits: what can be found out within the patience is, by itself."""
    line.cut_at_commit(moment)
    mended: list[NoAnswer] = []

    def mend(trouble: NoAnswer) -> bool:
        mended.append(trouble)
        line.mend()
        return True

    token = ASKER.set(Asker(mend))
    try:
        if kept:
            _add(far_book, vet, "Alder Row")  # as if nothing had been
        else:
            with pytest.raises(NoAnswer, match="nothing was saved") as told:
                _add(far_book, vet, "Alder Row")
            assert not told.value.unsure
    finally:
        ASKER.reset(token)
    assert line.commits_cut == 1
    assert all(one.unsure for one in mended)
    assert _names(far_book) == ["Alder Row"] * kept
    _add(far_book, vet, "Beech House")
    assert _names(far_book)[kept:] == ["Beech House"]


@pytest.mark.parametrize(("moment", "kept"), [("before", 0), ("after", 1), ("unseen", 0)])
def test_what_could_not_be_found_out_is_looked_up_before_anything_else_is_saved(
    far_book: Book, vet: Act, line: Line, moment: Moment, kept: int
) -> None:
    line.cut_at_commit(moment)
    with pytest.raises(NoAnswer, match="not known yet whether it was kept") as told:
        _add(far_book, vet, "Alder Row")
    assert told.value.unsure
    with pytest.raises(NoAnswer) as again:
        _add(far_book, vet, "Alder Row")
    assert again.value.unsure
    assert far_book.settle() == ()
    line.mend()
    for _ in range(2):  # the same action is refused as often as it is tried
        if kept:
            with pytest.raises(SavedAlready, match="Nothing was saved twice"):
                _add(far_book, vet, "Alder Row")
    if not kept:
        _add(far_book, vet, "Alder Row")
    assert _names(far_book) == ["Alder Row"]


def test_another_action_after_one_that_was_kept_after_all_is_held_back_once(
    far_book: Book, vet: Act, line: Line
) -> None:
    later = replace(vet, at=vet.at + timedelta(minutes=1))
    line.cut_at_commit("after")
    with pytest.raises(NoAnswer):
        _add(far_book, vet, "Alder Row")
    line.mend()
    with pytest.raises(SavedAlready, match="stands in the book after all"):
        _add(far_book, later, "Alder Row")
    assert _names(far_book) == ["Alder Row"]
    _add(far_book, later, "Beech House")
    assert _names(far_book) == ["Alder Row", "Beech House"]


def test_what_became_of_it_is_told_once(far_book: Book, vet: Act, line: Line) -> None:
    line.cut_at_commit("after")
    with pytest.raises(NoAnswer):
        _add(far_book, vet, "Alder Row")
    line.mend()
    assert far_book.settle() == (Settled(vet, True),)
    assert far_book.settle() == ()
    with pytest.raises(SavedAlready):
        _add(far_book, vet, "Alder Row")


def test_what_comes_after_a_saving_waits_in_its_place(far_book: Book, vet: Act, line: Line) -> None:
    """Asked anew from the beginning, the question would save twice."""
    waited = []

    def mend(trouble: NoAnswer) -> bool:
        waited.append(trouble)
        if len(waited) == 3:
            line.mend()
        return True

    token = ASKER.set(Asker(mend))
    try:
        _add(far_book, vet, "Alder Row")
        line.cut()
        own = practice(far_book)
    finally:
        ASKER.reset(token)
    assert own is not None
    assert own.name == "Test practice"
    assert len(waited) == 3
    assert _names(far_book) == ["Alder Row"]


def test_a_locked_book_is_no_lost_line(far_book: Book, vet: Act, postgres_url: str) -> None:
    other = create_engine(postgres_url)
    with other.begin() as connection:
        connection.execute(text("LOCK TABLE client IN ACCESS EXCLUSIVE MODE"))
        with pytest.raises(Exception, match="locked by another program") as told:
            _add(far_book, vet, "Alder Row")
    other.dispose()
    assert not isinstance(told.value, NoAnswer)


def test_what_another_wrote_is_told_from_ones_own(
    far_book: Book, vet: Act, postgres_url: str
) -> None:
    _add(far_book, vet, "Alder Row")
    own = far_book.stamp()
    assert far_book.is_own(own)
    assert far_book.zone.key == "Europe/London"
    with open_book(postgres_url, now=NOW) as other:
        _add(other, vet, "Beech House")
        with other.writing(vet) as writing:
            found = practice(other)
            assert found is not None
            writing.change("practice", found.id, found.rev, time_zone="Europe/Lisbon")
    assert far_book.zone.key == "Europe/London"
    stamp = far_book.stamp()
    assert stamp != own
    assert not far_book.is_own(stamp)
    assert far_book.zone.key == "Europe/Lisbon"


def test_what_the_address_says_of_the_connection_goes_before(line: Line) -> None:
    safe = make_url("postgresql://db/ponds?sslmode=verify-full&keepalives_idle=60")
    asked = connecting(safe, 5.0)
    assert "keepalives_idle" not in asked
    assert asked["keepalives_interval"] * asked["keepalives_count"] + 5 <= 15  # s
    insisting = line.url.replace("sslmode=disable", "sslmode=require")  # this server has no TLS
    with pytest.raises(BookTrouble, match="could not be made safe") as told:
        open_book(insisting, now=NOW, patience_s=0.3)
    assert not isinstance(told.value, NoAnswer)
    with pytest.raises(BookTrouble, match="could not be made safe"):
        open_book(
            f"{insisting}&sslrootcert=/nowhere.crt".replace("=require", "=verify-full"), now=NOW
        )
