"""Reads a calendar with the package icalendar: prints a JSON list of its events."""

import json
import sys

import icalendar

with open(sys.argv[1], "rb") as file:
    calendar = icalendar.Calendar.from_ical(file.read())
if calendar.errors or any(event.errors for event in calendar.walk("VEVENT")):
    sys.exit("the calendar has errors")
events = [
    {
        "uid": str(event["UID"]),
        "start": event.decoded("DTSTART").isoformat(),
        "end": event.decoded("DTEND").isoformat(),
        "summary": str(event["SUMMARY"]),
        "description": str(event["DESCRIPTION"]),
        "sequence": int(event["SEQUENCE"]),
        "status": str(event["STATUS"]),
        "categories": [str(category) for category in event["CATEGORIES"].cats],
    }
    for event in calendar.walk("VEVENT")
]
print(json.dumps(events))
