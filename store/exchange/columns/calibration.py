"""Rows that a meter wrote while it was calibrated: no water was measured in them."""

from __future__ import annotations

import re

from store.exchange.columns.words import same

_OF_METER = r"(?:(?:pH|[LO]?DO|EC|SPC|ORP|cond\w*)[ :]{0,2})?(?:[0-9]+[.,]?[0-9]*[ ]?)?"
_CALIBRATED = (
    r"(?:re)?(?:cal|kal)(?:ib\w*|\.)?(?:[ _:-]{1,2}(?:ok|check|pass(?:ed)?|fail(?:ed)?|point|row|"
    r"buffer|standard|std|done))*"
)
_CALIBRATION = re.compile(
    rf"{_OF_METER}(?:{_CALIBRATED}|buffers?(?: ?sol(?:ution|n)?\.?)?)[ :]{{0,2}}{_OF_METER}"
    r"(?:buffer|standard|std)?",
    re.IGNORECASE,
)
_KIND_OF_ROW = frozenset({"type", "mode", "status", "kind", "rowtype", "recordtype", "sampletype"})
_NO_SAMPLE = re.compile(
    r"(?:chk|check|std|standard|blank|zero|qc|slope|offset|verif\w*)"
    r"(?:[ _:-]{1,2}(?:[0-9].*|check|std|standard|sample|point|ok|pass(?:ed)?|fail(?:ed)?))*",
    re.IGNORECASE,
)


def is_calibration(text: str) -> bool:
    """Whether a cell says no more than that a meter was calibrated.

    Parameters
    ----------
    text
        The cell.

    Examples
    --------
    >>> is_calibration("Cal pH 7.00"), is_calibration("7.01 buffer")
    (True, True)
    >>> is_calibration("calibrated, then tested"), is_calibration("buffer added")
    (False, False)
    """
    return bool(_CALIBRATION.fullmatch(" ".join(text.split())))


def says_kind_of_row(title: str) -> bool:
    """Whether a column of that heading says what each row is, such as `Type`.

    Parameters
    ----------
    title
        The heading.
    """
    return same(title) in _KIND_OF_ROW


def is_no_sample(text: str) -> bool:
    """Whether a cell of a column such as `Type` says that a standard was measured, not water.

    Parameters
    ----------
    text
        The cell.

    Examples
    --------
    >>> is_no_sample("CHK"), is_no_sample("Reading"), is_no_sample("standard feed")
    (True, False, False)
    """
    return bool(_NO_SAMPLE.fullmatch(" ".join(text.split())))
