"""Reads calendars with other people's programs and prints what they understand as JSON.

calendars.py icalendar|vobject FILE    -> the events
calendars.py days FILE FIRST LAST      -> every day of every event, repeated ones unrolled
calendars.py weeks FIRST_YEAR LAST_YEAR -> the ISO week of every day
"""

import datetime
import json
import sys


def text(path):
    with open(path, encoding="utf-8", newline="") as file:
        return file.read()


def event(uid, start, end, sequence, summary, description, location):
    return {
        "uid": str(uid),
        "start": start.isoformat(),
        "end": end.isoformat(),
        "sequence": int(sequence),
        "summary": str(summary),
        "description": str(description),
        "location": str(location),
    }


def by_icalendar(path):
    import icalendar

    keys = ("SEQUENCE", "SUMMARY", "DESCRIPTION", "LOCATION")
    calendar = icalendar.Calendar.from_ical(text(path))
    return [
        event(found["UID"], found["DTSTART"].dt, found["DTEND"].dt, *(found[key] for key in keys))
        for found in calendar.walk("VEVENT")
    ]


def by_vobject(path):
    import vobject

    keys = ("uid", "dtstart", "dtend", "sequence", "summary", "description", "location")
    calendar = vobject.readOne(text(path))
    return [event(*(getattr(found, key).value for key in keys)) for found in calendar.vevent_list]


def days(path, first, last):
    import icalendar
    import recurring_ical_events

    calendar = icalendar.Calendar.from_ical(text(path))
    end = datetime.date.fromisoformat(last) + datetime.timedelta(days=1)
    found = set()
    for item in recurring_ical_events.of(calendar).between(datetime.date.fromisoformat(first), end):
        if item.get("STATUS") == "CANCELLED":
            continue
        # The end is the first moment that no longer belongs to the event.
        start, stop = item["DTSTART"].dt, item.get("DTEND", item["DTSTART"]).dt
        if isinstance(stop, datetime.datetime):
            stop -= datetime.timedelta(seconds=1)
        elif stop > start:
            stop -= datetime.timedelta(days=1)
        day, until = (moment.date() if isinstance(moment, datetime.datetime) else moment for moment in (start, stop))
        while day <= max(until, day):
            if first <= day.isoformat() <= last:
                found.add((str(item["SUMMARY"]), day.isoformat()))
            day += datetime.timedelta(days=1)
            if day > until:
                break
    return sorted(found)


def weeks(first, last):
    day = datetime.date(int(first), 1, 1)
    found = []
    while day.year <= int(last):
        year, week, _ = day.isocalendar()
        found.append([day.isoformat(), f"{year}-W{week:02}"])
        day += datetime.timedelta(days=1)
    return found


if __name__ == "__main__":
    what, *arguments = sys.argv[1:]
    ways = {"icalendar": by_icalendar, "vobject": by_vobject, "days": days, "weeks": weeks}
    print(json.dumps(ways[what](*arguments)))
