"""What is said of backups and of a check, on the screen and on the command line."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from store.guard.found import Progress, Report

LEVELS = {"fault": "FAULT", "remark": "remark"}
WHYS = {"daily": "by itself", "hand": "by hand", "upgrade": "before an upgrade"}


def said_progress(progress: Progress) -> str:
    """How far a check is, in a line.

    Parameters
    ----------
    progress
        From the check.
    """
    far = f": {progress.done:,} of {progress.whole:,}" if progress.whole else ""
    return f"Looking at {progress.what}{far}"


def said_result(report: Report) -> str:
    """What a check came to, in a sentence.

    Parameters
    ----------
    report
        From the check.
    """
    faults = sum(one.level == "fault" for one in report.findings)
    remarks = len(report.findings) - faults
    beside = f" {remarks} remark{'s' * (remarks != 1)}." if remarks else ""
    if faults:
        return f"{faults} fault{'s' * (faults != 1)} found.{beside}"
    return f"The book is as it was written.{beside}"


def said_looked_at(report: Report) -> str:
    """How much was looked at.

    Parameters
    ----------
    report
        From the check.
    """
    return "; ".join(f"{count:,} {what}" for what, count in report.looked_at.items())


def said_age(made: datetime, at: datetime) -> str:
    """How old a backup is.

    Parameters
    ----------
    made, at
        When it was made, and the present instant.
    """
    hours = int((at - made).total_seconds() // 3600)
    if hours < 0:
        return "lies ahead"
    if hours < 1:
        return "just made"
    if hours < 48:
        return f"{hours} hour{'s' * (hours != 1)} old"
    return f"{hours // 24} days old"
