"""The calendar file beside a reader of such files, and the rule of its standard."""

from __future__ import annotations

from datetime import date, timedelta

from dateutil.rrule import rrulestr
from icalendar import Calendar

from ullage.report.calendar import calendar
from ullage.upkeep.due import Task

DAY = date(2027, 4, 1)
TASKS = (
    Task("filter_fine", "Change the filter fine", "Close the water, let off, change; then look for leaks.", 90),
    Task("proof_test", "Proof test", "Each of: " + ", ".join(f"interlock_{at}" for at in range(40)), 365),
)


def test_a_reader_finds_each_task_on_its_days() -> None:
    """A task that a calendar drops is one that nobody does (read by icalendar, recurrence by dateutil)."""
    events = Calendar.from_ical(calendar("Marram", TASKS, DAY)).walk("VEVENT")
    assert [str(event["summary"]) for event in events] == [f"Marram: {task.title}" for task in TASKS]
    for event, task in zip(events, TASKS, strict=True):
        start = event.decoded("dtstart")
        assert start == DAY + timedelta(days=task.days)
        rule = rrulestr(event["rrule"].to_ical().decode(), dtstart=start)
        assert [day.date() for day in rule[:3]] == [DAY + timedelta(days=n * task.days) for n in (1, 2, 3)]
        assert str(event["description"]) == task.what


def test_the_file_keeps_to_its_standard() -> None:
    """RFC 5545: lines end in CR LF and have 75 octets at most; a strict reader refuses the file otherwise."""
    text = calendar("Marram", TASKS, DAY)
    assert text.startswith("BEGIN:VCALENDAR\r\n")
    assert text.endswith("END:VCALENDAR\r\n")
    lines = text.split("\r\n")
    assert not [line for line in lines if "\n" in line or len(line.encode("utf8")) > 75]
    assert {"VERSION:2.0", "PRODID:-//ullage//upkeep//EN"} <= set(lines)


def test_the_same_rig_gives_the_same_file_and_the_same_names() -> None:
    """A task that gets another name with each file stands in the calendar twice, and later ten times."""
    assert calendar("Marram", TASKS, DAY) == calendar("Marram", TASKS, DAY)
    first, later = (Calendar.from_ical(calendar("Marram", TASKS, day)) for day in (DAY, DAY + timedelta(days=30)))
    names = [[str(event["uid"]) for event in book.walk("VEVENT")] for book in (first, later)]
    assert names[0] == names[1]
    assert len(set(names[0])) == len(TASKS)
