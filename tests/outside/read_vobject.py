"""Reads a calendar with the package vobject, strictly: prints a JSON list of its events."""

import json
import sys

import vobject

with open(sys.argv[1], encoding="utf-8", newline="") as file:
    calendar = vobject.readOne(file.read(), validate=True)
events = [
    {
        "uid": event.uid.value,
        "start": event.dtstart.value.isoformat(),
        "end": event.dtend.value.isoformat(),
        "summary": event.summary.value,
        "description": event.description.value,
        "sequence": int(event.sequence.value),
        "status": event.status.value,
        "categories": event.categories.value,
    }
    for event in calendar.vevent_list
]
print(json.dumps(events))
