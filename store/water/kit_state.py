"""What a person should know of a test kit before trusting it."""

from __future__ import annotations

from datetime import date

from store.book.kits import Kit

CALIBRATION_DAYS = 30
"""A pH meter calibrated longer ago is doubtful; common practice, without a source."""

_FORMS = (("ammonia", "ammonia_form"), ("nitrite", "nitrite_form"), ("nitrate", "nitrate_form"))


def kit_remarks(kit: Kit | None, today: date) -> tuple[str, ...]:
    """Sentences on why the readings of a kit should be doubted; empty when nothing is known.

    Parameters
    ----------
    kit
        The kit in use; None when neither pond nor practice states one.
    today
        The day of the test.

    Returns
    -------
    tuple of str
        Expiry first, then forms that are not stated, then an old calibration.
    """
    if kit is None:
        return (
            "No kit is stated: ammonia, nitrite and nitrate are read as the form that is the "
            "worse for the fish.",
        )
    found = []
    if kit.expired(today) and kit.expires_on is not None:
        found.append(f"Its reagents expired on {kit.expires_on}.")
    unknown = [name for name, field in _FORMS if getattr(kit, field) == "unknown"]
    if unknown:
        found.append(f"As what it reports {', '.join(unknown)} is not stated.")
    if kit.ph_calibrated_on is not None:
        days = (today - kit.ph_calibrated_on).days
        if days > CALIBRATION_DAYS:
            found.append(f"Its pH was last calibrated {days} days ago.")
    return tuple(found)
