"""Days in words: "today", "4 May", "4 May 2024"."""

from __future__ import annotations

from datetime import date, datetime, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


def day_name(moment: datetime, today: date, zone: str = "") -> str:
    """The local day of a moment; of another year with the year.

    Parameters
    ----------
    moment : datetime
        Aware.
    today : date
    zone : str
        IANA name of the clock that the day is told by; this machine's where it is empty or
        unknown here.
    """
    day = moment.astimezone(_zone(zone)).date()
    if day == today:
        return "today"
    year = "" if day.year == today.year else f" {day.year}"
    return f"{day.day} {MONTHS[day.month - 1]}{year}"


def _zone(name: str) -> tzinfo | None:
    try:
        return ZoneInfo(name) if name else None
    except (ZoneInfoNotFoundError, ValueError):
        return None
