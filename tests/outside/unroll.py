"""Unrolls a calendar with the package recurring-ical-events: unroll.py FILE FIRST LAST; prints a JSON list of
every event's title and each day it falls on, in the time zone it was written in. Cancelled events are left out."""

import json
import sys
from datetime import date, datetime, timedelta

import icalendar
import recurring_ical_events

path, first, last = sys.argv[1], *map(date.fromisoformat, sys.argv[2:])
with open(path, "rb") as file:
    calendar = icalendar.Calendar.from_ical(file.read())
found = set()
for event in recurring_ical_events.of(calendar).between(first, last + timedelta(days=1)):
    if event.get("STATUS") == "CANCELLED":
        continue
    # The end is exclusive; an event without length still falls on the day of its start.
    start, end = event.start, event.end
    end = max(start, end - timedelta(**{"seconds" if isinstance(end, datetime) else "days": 1}))
    day, end = (moment.date() if isinstance(moment, datetime) else moment for moment in (start, end))
    while day <= end:
        if first <= day <= last:
            found.add((str(event["SUMMARY"]), day.isoformat()))
        day += timedelta(days=1)
print(json.dumps(sorted(found)))
