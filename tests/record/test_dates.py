"""Dates and times as written, and how other ways of writing them are answered."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen.record.units import UnitError, parse_clock, parse_date, parse_moment


def test_a_date_a_time_and_both() -> None:
    assert parse_date("2026-03-14") == datetime.date(2026, 3, 14)
    assert parse_date("2024-02-29") == datetime.date(2024, 2, 29)
    assert parse_clock("09:20") == parse_clock("9:20") == 560
    assert (parse_clock("00:00"), parse_clock("23:59")) == (0, 1439)
    assert parse_moment("2026-03-14 09:20") == datetime.datetime(2026, 3, 14, 9, 20)
    assert parse_moment("2026-03-14 9:20").tzinfo is None


@pytest.mark.parametrize(
    ("text", "message", "remedy"),
    [
        ("2026-02-30", "February 2026 has 28 days", ""),
        ("2024-02-30", "February 2024 has 29 days", ""),
        ("2026-04-31", "April 2026 has 30 days", ""),
        ("2026-12-32", "December 2026 has 31 days", ""),
        ("2026-01-00", "January 2026 has 31 days", ""),
        ("2026-14-03", "no month 14", "2026-03-14"),
        ("2026-00-03", "no month 0", ""),
        ("2026-13-13", "no month 13", ""),
        ("0026-03-14", "year 26", ""),
        ("9999-12-31", "year 9999", ""),
        ("14/03/2026", "not a date", "write 2026-03-14"),
        ("03/14/2026", "not a date", "write 2026-03-14"),
        ("3/4/2026", "not a date", "write 2026-04-03 or 2026-03-04"),
        ("14.3.2026", "not a date", "write 2026-03-14"),
        ("2026-3-14", "not a date", "write 2026-03-14"),
        ("2026/03/14", "not a date", "write 2026-03-14"),
        ("20260314", "not a date", "write 2026-03-14"),
        ("14 March 2026", "not a date", "write 2026-03-14"),
        ("14. Mar 2026", "not a date", "write 2026-03-14"),
        ("March 14, 2026", "not a date", "write 2026-03-14"),
        ("30 February 2026", "not a date", ""),
        ("14 Ma 2026", "not a date", ""),
        ("14 Jux 2026", "not a date", ""),
        ("14/03/26", "not a date", "four figures"),
        ("26-03-14", "not a date", "four figures"),
        ("2026-03-14 09:20", "not a date", "2026-03-14 alone"),
        ("2026-03-14T09:20", "not a date", "2026-03-14 alone"),
        ("yesterday", "not a date", ""),
        ("", "not a date", ""),
        ("２０２６-03-14", "not a date", ""),
        ("9" * 5000, "not a date", ""),
    ],
)
def test_a_date_written_otherwise(text: str, message: str, remedy: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_date(text)
    assert message in caught.value.message
    assert remedy in caught.value.remedy and bool(remedy) == bool(caught.value.remedy)
    assert "2026-03-14" in caught.value.expected
    assert len(caught.value.message) < 120


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("24:00", "next day"),
        ("25:10", ""),
        ("09:60", ""),
        ("9.20", "write 09:20"),
        ("9,20", "write 09:20"),
        ("0920", "write 09:20"),
        ("9h20", "write 09:20"),
        ("9 am", "write 09:00"),
        ("9:20 pm", "write 21:20"),
        ("12 am", "write 00:00"),
        ("12:30 p.m.", "write 12:30"),
        ("09:20:30", "write 09:20"),
        ("13 pm", ""),
        ("9", "write 09:00"),
        ("2026-03-14 09:20", ""),
        ("noon", ""),
        ("", ""),
        ("-1:20", ""),
        ("9" * 5000, ""),
    ],
)
def test_a_time_written_otherwise(text: str, remedy: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_clock(text)
    assert "not a time of day" in caught.value.message
    assert remedy in caught.value.remedy and bool(remedy) == bool(caught.value.remedy)
    assert "09:20" in caught.value.expected


@pytest.mark.parametrize(
    ("text", "remedy"),
    [
        ("2026-03-14T09:20", "write 2026-03-14 09:20"),
        ("2026-03-14T09:20:00Z", "write 2026-03-14 09:20"),
        ("2026-03-14  09:20", "write 2026-03-14 09:20"),
        ("2026-03-14, 09:20", "write 2026-03-14 09:20"),
        ("2026-03-14", "add the time"),
        ("09:20", "put the date before"),
        ("7:30 pm", "put the date before it: 2026-03-14 19:30"),
        ("2026-03-14 7:00 PM", "write 2026-03-14 19:00"),
        ("2026-03-14 12:30 am", "write 2026-03-14 00:30"),
        ("14.03.2026 19:00", "write 2026-03-14 19:00"),
        ("3/4/2026 7 pm", "write 2026-04-03 19:00 or 2026-03-04 19:00"),
        ("2026-03-14 19:00 +01:00", "write 2026-03-14 19:00, if the clock on the wall showed"),
        ("2026-03-14 19:00 CET", "write 2026-03-14 19:00, if the clock on the wall showed"),
        ("2026-03-14 13:00 pm", ""),
        ("tomorrow", ""),
        ("2026-02-30 09:20", ""),
        ("2026-03-14 25:20", ""),
    ],
)
def test_a_moment_written_otherwise(text: str, remedy: str) -> None:
    with pytest.raises(UnitError) as caught:
        parse_moment(text)
    assert remedy in caught.value.remedy and bool(remedy) == bool(caught.value.remedy)


@settings(deadline=None)
@given(st.dates(datetime.date(1900, 1, 1), datetime.date(2199, 12, 31)), st.times())
def test_there_and_back(day: datetime.date, at: datetime.time) -> None:
    assert parse_date(day.isoformat()) == day
    assert parse_clock(at.strftime("%H:%M")) == at.hour * 60 + at.minute
    moment = parse_moment(f"{day.isoformat()} {at.strftime('%H:%M')}")
    assert (moment.date(), moment.hour, moment.minute) == (day, at.hour, at.minute)


TYPED = st.one_of(
    st.text(max_size=80), st.text(alphabet="0123456789-:/. TJanMarFebZ+,hpm", max_size=24)
)


@settings(deadline=None)
@given(TYPED)
def test_any_text_is_read_or_refused(text: str) -> None:
    for read in (parse_date, parse_clock, parse_moment):
        try:
            read(text)
        except UnitError as error:
            assert error.message and error.expected


@settings(deadline=None)
@given(TYPED)
def test_a_remedy_can_be_typed_as_it_stands(text: str) -> None:
    for read in (parse_date, parse_clock, parse_moment):
        try:
            read(text)
        except UnitError as error:
            if error.remedy.startswith("write 2") and " alone" not in error.remedy:
                first = error.remedy.removeprefix("write ").removesuffix("?").split(" or ")[0]
                try:
                    read(first)
                except UnitError as again:
                    # A second fault of its own, such as a day that is not.
                    assert again.message != error.message
