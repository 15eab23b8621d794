"""The file of answers beside a client list: written with every question, read with the answers."""

from __future__ import annotations

import hashlib
from contextlib import suppress
from pathlib import Path

from store.errors import BadInput
from store.exchange.catch_up.asking import Answers, answers_read, answers_text
from store.exchange.catch_up.clients_plan import CatchUp
from store.exchange.catch_up.list_columns import called

_MOST_BYTES = 20_000_000


def read_answers(answers: Path, listed: Path) -> dict[str, str]:
    """The answers that a person wrote into a file.

    Parameters
    ----------
    answers
        The file, as `write_answers` wrote it.
    listed
        The client list they belong to.

    Returns
    -------
    dict
        Key of the question to its answer.

    Raises
    ------
    BadInput
        One of the two cannot be read, or they do not belong together.
    """
    try:
        with listed.open("rb") as file:
            sha256 = hashlib.file_digest(file, "sha256").hexdigest()
        with answers.open("rb") as file:
            data = file.read(_MOST_BYTES)
    except OSError as error:
        raise BadInput(
            f"{error.filename} cannot be read ({error.strerror or error}); nothing was brought in.",
            title="No such file",
        ) from error
    try:
        text = data.decode("utf-8-sig")
    except UnicodeError:
        text = data.decode("cp1252", "replace")  # as spreadsheets save it; keys are plain ASCII
    return answers_read(text, sha256)


def answers_beside(looked_at: CatchUp) -> dict[str, str]:
    """The answers that stand in the file beside a list already; empty where there is none.

    Parameters
    ----------
    looked_at
        The list as it was read.
    """
    return _free(looked_at.plan.path, looked_at.plan.sha256)[1]


def write_answers(looked_at: CatchUp, given: Answers, place: Path | None = None) -> Path:
    """Write every question of a list into a file, with the answers so far.

    Parameters
    ----------
    looked_at
        The list as it was read.
    given
        The answers so far.
    place
        Where; left out, `NAME.answers.csv` beside the list, or the next free name where that one
        belongs to another list. Answers that stand there already are kept.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    BadInput
        It cannot be written.
    """
    listed = looked_at.plan.path
    answers = dict(given)
    if place is None:
        place, there = _free(listed, looked_at.plan.sha256)
        answers = {**there, **answers}
    columns = [(called(one), one.meaning, one.why) for one in looked_at.shape.columns]
    text = answers_text(
        looked_at.questions, looked_at.plan.sha256, columns, answers, looked_at.remembered
    )
    beside = place.with_name(f".{place.name}.new")
    try:
        beside.touch(mode=0o600)
        beside.write_text(text, encoding="utf-8")
        beside.replace(place)
    except OSError as error:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
        raise BadInput(
            f"The answers cannot be written to {place} ({error.strerror or error}). Copy the list "
            "to a folder that you may write."
        ) from error
    return place


def _free(listed: Path, sha256: str) -> tuple[Path, dict[str, str]]:
    stem = listed.name.removesuffix(listed.suffix)
    place = listed.with_name(f"{stem}.answers.csv")
    number = 2
    while place.exists():
        try:
            return place, answers_read(place.read_text("utf-8-sig"), sha256)
        except (BadInput, OSError, UnicodeError):
            place = listed.with_name(f"{stem}.answers-{number}.csv")
            number += 1
    return place, {}
