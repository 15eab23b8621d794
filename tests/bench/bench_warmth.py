"""What estimates cost: the list with and without them, a whole fit, a new reading.

Run `OMP_NUM_THREADS=1 python -m tests.bench.bench_warmth`. Ratios are of medians of one run on one
machine, in turn; the fit is made once. Times are of the processor, so that other work on the machine
does not count.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import TypeVar

from sqlalchemy import select

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.book.people import staff
from store.book.tables import table
from store.courses.kept.morning import morning_list
from store.warmth.estimate import DAYS_AHEAD
from store.warmth.kept import estimates as kept
from store.warmth.kept import fits
from store.warmth.kept.estimates import estimate_of, estimates, estimates_far
from store.warmth.kept.fits import fit_at_hand, make_fit
from tests.bench.caseload import SEASONS, make_caseload

T = TypeVar("T")


def _timed(work: Callable[[], T]) -> tuple[float, T]:
    start = time.process_time()
    found = work()
    return time.process_time() - start, found


def _fit(book: Book, now: datetime, folder: Path) -> None:
    seconds, fitted = _timed(lambda: make_fit(book, now))
    if fitted is None:
        print("  nothing could be learnt")
        return
    (kept_file,) = folder.glob("*.warmth")
    print(
        f"  a whole fit {seconds:.1f} s: {len(fitted.ponds)} ponds, {len(fitted.doubted)} readings "
        f"doubted, kept in {kept_file.stat().st_size / 1e6:.1f} MB"
    )


def _listed(book: Book, now: datetime, folder: Path, rounds: int) -> None:
    """The list without a fit, with one known, and with nothing of it read yet, in turn."""

    def without() -> object:
        book.throwaway = None
        fits._HELD.clear()
        return morning_list(book, now)

    def again() -> object:
        book.throwaway = folder
        estimates(book, now)
        start = time.process_time()
        found = morning_list(book, now)
        took.append(time.process_time() - start)
        return found

    def anew() -> object:
        book.throwaway = folder
        kept._KNOWN.clear()
        fits._HELD.clear()
        return morning_list(book, now)

    took: list[float] = []
    taken = [(_timed(without)[0], _timed(anew)[0], _timed(again)[0]) for _ in range(rounds + 1)]
    plain, whole, _ = (statistics.median(column) for column in zip(*taken[1:], strict=True))
    warm = statistics.median(took[1:])
    fits._HELD.clear()
    load = statistics.median(_timed(lambda: (fits._HELD.clear(), fit_at_hand(book, now)))[0]
                             for _ in range(rounds))  # fmt: skip
    print(
        f"  list without estimates {1000 * plain:.0f} ms; from the kept file {1000 * whole:.0f} ms "
        f"(+ {1000 * (whole - plain):.0f} ms, of which the file {1000 * load:.0f} ms); estimates "
        f"known {1000 * warm:.0f} ms (+ {1000 * (warm - plain):.0f} ms)\n"
        f"  list with ÷ without = {whole / plain:.2f}"
    )


def _new_reading(book: Book, now: datetime, rounds: int) -> None:
    """A reading is saved; the pond and those that lean on it are told anew."""
    fitted = fit_at_hand(book, now)
    assert fitted is not None
    with book.reading() as connection:
        ponds = connection.execute(select(table("pond").c.id).limit(rounds)).scalars().all()
    who = staff(book)[0].id
    own, about = [], []
    for at, pond in enumerate(ponds):
        with book.writing(Act(who, now + timedelta(seconds=at))) as writing:
            test = writing.add("water_test", pond_id=pond, taken_at=now, way="line")
            writing.add_many(
                "reading", [{"test_id": test, "parameter": "temperature_c", "value": 19.0}]
            )
        own.append(_timed(lambda key=pond: estimate_of(book, key, now))[0])  # type: ignore[misc]
        place = fitted.ponds.index(pond)
        near = [fitted.ponds[one] for one in fitted.neighbours[place].tolist() if one >= 0]
        some = (pond, *near)
        about.append(
            _timed(lambda keys=some: estimates_far(book, keys, now, DAYS_AHEAD))[0]  # type: ignore[misc]
        )
    print(
        f"  after a new reading: the pond {1000 * statistics.median(own):.0f} ms, it and "
        f"its neighbours {1000 * statistics.median(about):.0f} ms; all ponds anew "
        f"{1000 * _timed(lambda: estimates(book, now))[0]:.0f} ms"
    )


def main() -> None:
    """Make a book, fit it, and print what was measured."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--ponds", type=int, default=3000)
    options.add_argument("--weeks", type=int, default=260)
    options.add_argument("--rounds", type=int, default=5)
    options.add_argument("--folder", type=Path, help="keep the book here and use it again")
    options.add_argument("--season", choices=SEASONS, default="spring")
    chosen = options.parse_args()
    now = SEASONS[chosen.season]
    with tempfile.TemporaryDirectory() as made:
        folder = chosen.folder or Path(made)
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"{chosen.season}_{chosen.ponds}_{chosen.weeks}.pondround"
        if not path.exists():
            print(f"making {chosen.ponds} ponds × {chosen.weeks} weekly tests …")
            make_caseload(path, chosen.ponds, chosen.weeks, now)
        print(f"{chosen.ponds} ponds × {chosen.weeks} weekly tests")
        with open_book(path, now=now) as book:
            book.throwaway = Path(made) / "warmth"
            _fit(book, now, book.throwaway)
            _listed(book, now, Path(made) / "warmth", chosen.rounds)
            book.throwaway = Path(made) / "warmth"
            _new_reading(book, now, chosen.rounds)


if __name__ == "__main__":
    main()
