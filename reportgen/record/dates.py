"""Dates and times of the brew day, as the clock on the wall shows them."""

from __future__ import annotations

import datetime
import re

from reportgen.record.quantity import UnitError

_LONGEST = 60
_MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september",
    "october", "november", "december",
)  # fmt: skip
_DATE = "a date as 2026-03-14 (year, month, day)"
_CLOCK = "a time as 09:20 (24 hours)"
_MOMENT = "a date and a time as 2026-03-14 09:20"


def parse_date(text: str) -> datetime.date:
    """Read ``2026-03-14``. Raises :class:`UnitError` for anything else, or a day that is not."""
    clean = text.strip()
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", clean):
        return _day(text, int(clean[:4]), int(clean[5:7]), int(clean[8:]))
    raise UnitError(f"`{text[:_LONGEST]}` is not a date", _DATE, _date_remedy(clean))


def _day(text: str, year: int, month: int, day: int) -> datetime.date:
    if not 1900 <= year <= 2199:
        raise UnitError(f"`{text}`: the year {year} cannot be meant", _DATE)
    if not 1 <= month <= 12:
        swapped = _written([(year, day, month)])
        raise UnitError(f"`{text}`: there is no month {month}", _DATE, swapped)
    try:
        return datetime.date(year, month, day)
    except ValueError:
        name = _MONTHS[month - 1].capitalize()
        following = datetime.date(year + month // 12, month % 12 + 1, 1)
        last = (following - datetime.timedelta(days=1)).day
        raise UnitError(f"`{text}`: {name} {year} has {last} days", _DATE) from None


def _date_remedy(text: str) -> str:
    """Return the way to write a date that is written otherwise, or an empty text."""
    if len(text) > _LONGEST:
        return ""
    if loose := re.fullmatch(r"([0-9]{4})[-./ ]([0-9]{1,2})[-./ ]([0-9]{1,2})", text):
        return _written([(int(loose[1]), int(loose[2]), int(loose[3]))])
    if re.fullmatch(r"[0-9]{8}", text):
        return _written([(int(text[:4]), int(text[4:6]), int(text[6:]))])
    if parts := re.fullmatch(r"([0-9]{1,2})[-./ ]([0-9]{1,2})[-./ ]([0-9]{2}|[0-9]{4})", text):
        one, two, three = int(parts[1]), int(parts[2]), int(parts[3])
        if len(parts[3]) == 4:
            return _written([(three, two, one), (three, one, two)])
        return "write the year with four figures, then month and day"
    if named := re.fullmatch(r"([0-9]{1,2})\.? ?([A-Za-z]{3,9})\.?,? ?([0-9]{4})", text):
        return _named(named[2], int(named[1]), int(named[3]))
    if named := re.fullmatch(r"([A-Za-z]{3,9})\.? ([0-9]{1,2}),? ([0-9]{4})", text):
        return _named(named[1], int(named[2]), int(named[3]))
    if re.match(r"[0-9]{4}-[0-9]{2}-[0-9]{2}[ T]", text):
        return f"write {text[:10]} alone; no time is wanted here"
    return ""


def _named(name: str, day: int, year: int) -> str:
    fitting = [i for i, month in enumerate(_MONTHS, 1) if month.startswith(name.lower())]
    return _written([(year, fitting[0], day)]) if len(fitting) == 1 else ""


def _written(dates: list[tuple[int, int, int]]) -> str:
    valid = []
    for year, month, day in dates:
        try:
            valid.append(datetime.date(year, month, day).isoformat())
        except ValueError:
            continue
    valid = list(dict.fromkeys(valid))
    return "write " + " or ".join(valid) if valid else ""


def parse_clock(text: str) -> int:
    """Read ``09:20``; returns minutes since midnight. Raises :class:`UnitError`."""
    clean = text.strip()
    if match := re.fullmatch(r"([0-9]{1,2}):([0-9]{2})", clean):
        hours, minutes = int(match[1]), int(match[2])
        if hours < 24 and minutes < 60:
            return hours * 60 + minutes
        remedy = "write 00:00 and the next day" if (hours, minutes) == (24, 0) else ""
        raise UnitError(f"`{clean}` is not a time of day", _CLOCK, remedy)
    raise UnitError(f"`{text[:_LONGEST]}` is not a time of day", _CLOCK, _clock_remedy(clean))


def _clock_remedy(text: str) -> str:
    match = re.fullmatch(
        r"([0-9]{1,2})(?:[:.,h]?([0-9]{2}))?"  # hours and minutes
        r"(?::[0-9]{2}(?:\.[0-9]+)?)? ?"  # seconds, which are left out
        r"(h|am|pm|a\.m\.|p\.m\.|Uhr)?",
        text,
        re.IGNORECASE,
    )
    if match is None:
        return ""
    hours, minutes = int(match[1]), int(match[2] or 0)
    half = (match[3] or "").replace(".", "").lower()
    if half in ("am", "pm"):
        if not 1 <= hours <= 12:
            return ""
        hours = hours % 12 + (12 if half == "pm" else 0)
    return f"write {hours:02d}:{minutes:02d}" if hours < 24 and minutes < 60 else ""


_OF_A_ZONE = re.compile(r" ?(Z|UTC|GMT|[A-Z]{3,4}|[+-][0-9]{2}:?[0-9]{2})$")

_DAY_AND_CLOCK = r"(.*[0-9])(?:T|, ?| +)([0-9]{1,2}(?:[:.h][0-9].*| ?[apAP]\.?[mM]\.?))"


def _moment_remedy(text: str) -> str:
    """Return the way to write a moment that is written otherwise, or an empty text.

    A time zone is not converted: which hour the clock on the wall showed is not known from it.
    """
    if len(text) > _LONGEST:
        return ""
    zone = _OF_A_ZONE.search(text) if re.search("[0-9]:[0-9]", text) else None
    if zone is not None and not re.fullmatch(" ?[AP]M", zone[0]):
        text = text[: zone.start()]
    else:
        zone = None
    split = re.fullmatch(_DAY_AND_CLOCK, text)
    if split is not None:
        days = _dates_in(split[1])
        clock = _clock_remedy(split[2]).removeprefix("write ")
        if not days or not clock:
            return ""
        said = "write " + " or ".join(f"{day} {clock}" for day in days)
        return said if zone is None else f"{said}, if the clock on the wall showed that"
    if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        return f"add the time: {text} 09:20"
    if clock := _clock_remedy(text).removeprefix("write "):
        return f"put the date before it: 2026-03-14 {clock}" if ":" in text else ""
    return ""


def _dates_in(text: str) -> list[str]:
    """Return the days that a text may mean, as they are written here."""
    try:
        return [parse_date(text).isoformat()]
    except UnitError:
        remedy = _date_remedy(text)
    return re.findall("[0-9]{4}-[0-9]{2}-[0-9]{2}", remedy)


def parse_moment(text: str) -> datetime.datetime:
    """Read ``2026-03-14 09:20``, as the clock on the wall shows it. Raises :class:`UnitError`."""
    clean = text.strip()
    match = re.fullmatch(r"([0-9]{4}-[0-9]{2}-[0-9]{2}) ([0-9]{1,2}:[0-9]{2})", clean)
    if match is None:
        message = f"`{text[:_LONGEST]}` is not a date with a time"
        raise UnitError(message, _MOMENT, _moment_remedy(clean))
    minutes = parse_clock(match[2])
    day = parse_date(match[1])
    return datetime.datetime(day.year, day.month, day.day, minutes // 60, minutes % 60)
