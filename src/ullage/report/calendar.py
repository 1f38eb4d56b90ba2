"""The tasks of upkeep as an iCalendar file (RFC 5545), for any calendar that a person keeps.

There is no clock here: the first day is an argument, and every task is due for the first time one
interval after it. A task keeps its identity from file to file, so that a later file takes the place
of an earlier one where the calendar allows it.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from uuid import NAMESPACE_OID, uuid5

from ullage.upkeep.due import Task

MADE_BY = "-//ullage//upkeep//EN"
"""The PRODID that RFC 5545 asks for."""


def calendar(rig: str, tasks: tuple[Task, ...], first: date) -> str:
    """The text of the file, lines ending in CR LF.

    Parameters
    ----------
    rig : str
        Name of the rig.
    tasks : tuple of Task
    first : date
        The day from which intervals count: all that is listed was done then.
    """
    from icalendar import Calendar, Event, vRecur

    book = Calendar()
    book.add("prodid", MADE_BY)
    book.add("version", "2.0")
    for task in tasks:
        event = Event()
        event.add("uid", str(uuid5(NAMESPACE_OID, f"ullage {rig} {task.name}")))
        event.add("dtstamp", datetime.combine(first, time(), UTC))
        event.add("dtstart", first + timedelta(days=task.days))
        event.add("rrule", vRecur(freq="DAILY", interval=task.days))
        event.add("summary", f"{rig}: {task.title}")
        event.add("description", task.what)
        event.add("transp", "TRANSPARENT")
        book.add_component(event)
    text: str = book.to_ical().decode("utf8")
    return text
