"""Prints every day from 2000 to 2050 with its week by ISO 8601."""

from datetime import date, timedelta

day = date(2000, 1, 1)
while day.year <= 2050:
    year, week, _ = day.isocalendar()
    print(f"{day.isoformat()} {year:04}-W{week:02}")
    day += timedelta(days=1)
