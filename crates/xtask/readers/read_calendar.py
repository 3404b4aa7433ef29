"""Opens calendars of visits with readers that are not ours.

    read_calendar.py WEATHER.csv PLANTED FOLDER [FIELD_NAME FOLDER]...

Each FOLDER holds calendar.ics and calendar.csv. The calendar is read by the packages icalendar and vobject, which
must agree with each other and with the table; the lines are measured against RFC 5545, section 3.1. In the
first FOLDER growing degrees are summed again from WEATHER.csv. Exit code 1 when a check fails.
"""

import csv
import re
import sys
from datetime import date, datetime, timedelta
from pathlib import Path

import icalendar
import vobject
from read_maps import Report

ONE_DAY = timedelta(days=1)


def main(weather, planted, first, *others):
    report = Report()
    read_folder(report, Path(first), "North Bench")
    check_degrees(report, Path(first), sums(weather, date.fromisoformat(planted)))
    for name, folder in zip(others[::2], others[1::2]):
        read_folder(report, Path(folder), name)
    print(f"{report.passed} passed, {report.failed} failed")
    return 1 if report.failed else 0


def read_folder(report, folder, name):
    report.place = str(folder / "calendar.ics")
    data = (folder / "calendar.ics").read_bytes()
    table = rows(folder)
    check_lines(report, data)
    calendar = icalendar.Calendar.from_ical(data)
    report.check("icalendar finds no fault", not calendar.errors, calendar.errors)
    report.check("version 2.0", calendar["VERSION"] == "2.0", calendar["VERSION"])
    report.check("says who made it", "loosedepth" in calendar["PRODID"], calendar["PRODID"])
    # icalendar leaves what is escaped in NAME (RFC 7986) as it stands.
    called = re.sub(r"\\([\\;,])", r"\1", str(calendar["NAME"]))
    report.check("named as the field", called == f"{name}: visits", called)
    events = calendar.walk("VEVENT")
    found = [read_event(report, event, name) for event in events]
    ids = {str(event["UID"]) for event in events}
    report.check("each event has its own UID", len(ids) == len(events), len(ids))
    check_table(report, found, table)
    check_other_reader(report, data, events)


def check_lines(report, data):
    """RFC 5545, section 3.1."""
    lines = data.split(b"\r\n")
    report.check("ends with a line's end", lines[-1] == b"")
    report.check("no line ends otherwise", not any(b"\r" in line or b"\n" in line for line in lines))
    longest = max(len(line) for line in lines)
    report.check("no line is longer than 75 octets", longest <= 75, longest)
    report.check("no character is cut", all(is_text(line) for line in lines))
    report.check("long lines are folded", any(line.startswith(b" ") for line in lines))


def is_text(line):
    try:
        line.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def read_event(report, event, name):
    """The event's first and last day, whether it was made, and its summary."""
    report.check("icalendar finds no fault in the event", not event.errors, event.errors)
    start, end = event["DTSTART"].dt, event["DTEND"].dt
    is_day = type(start) is date and type(end) is date and end > start
    report.check("of whole days, in order", is_day, [start, end])
    report.check("stamped in UTC", event["DTSTAMP"].dt.utcoffset() == timedelta(0))
    report.check("nobody is busy", event["TRANSP"] == "TRANSPARENT")
    report.check("is named", event["SUMMARY"].startswith(f"{name}: "), event["SUMMARY"])
    is_planned = event["STATUS"] == "TENTATIVE"
    if is_planned and "visit" in event["SUMMARY"]:
        words = event["DESCRIPTION"]
        says = all(part in words for part in ["moist", "Cautions:", "Any day from"])
        report.check("says what to do and what to mind", says, words)
    return start, end - ONE_DAY, event["STATUS"], str(event["SUMMARY"])


def check_table(report, found, table):
    visits = [row for row in table if row["visit"]]
    days = [row["date"] for row in visits]
    in_calendar = [start.isoformat() for start, _, _, summary in found if ": visit " in summary]
    report.check("the visits are those of the table", in_calendar == days, [in_calendar, days])
    kinds = ["CONFIRMED" if row["status"] == "made" else "TENTATIVE" for row in visits]
    status = [status for _, _, status, summary in found if ": visit " in summary]
    report.check("made ones are confirmed", status == kinds, status)
    for row in visits:
        if row["status"] == "planned" and not row["why"].startswith("overdue"):
            report.check("is planned within its window", row["earliest"] <= row["date"] <= row["latest"], row)
    stages = [[row["earliest"], row["latest"]] for row in table if not row["visit"]]
    spans = [[start.isoformat(), last.isoformat()] for start, last, _, summary in found if ": visit " not in summary]
    report.check("the stage is that of the table", spans == stages, [spans, stages])


def check_other_reader(report, data, events):
    """vobject must find the same events."""
    other = vobject.readOne(data.decode("utf-8"))
    report.check("vobject finds it valid", other.validate())
    theirs = [
        (str(one.uid.value), one.dtstart.value, one.dtend.value, one.summary.value, one.description.value)
        for one in other.vevent_list
    ]
    names = ["SUMMARY", "DESCRIPTION"]
    ours = [
        (str(one["UID"]), one["DTSTART"].dt, one["DTEND"].dt, *(str(one[name]) for name in names)) for one in events
    ]
    report.check("vobject and icalendar read the same", theirs == ours, theirs[:1])
    report.check("of the same days", not any(isinstance(one[1], datetime) for one in theirs))


def rows(folder):
    with open(folder / "calendar.csv", encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def sums(weather, planted):
    """Growing degrees 86/50 °F at the end of each day since planting."""
    with open(weather, encoding="utf-8", newline="") as file:
        days = {date.fromisoformat(row["date"]): row for row in csv.DictReader(file)}
    total, found = 0.0, {}
    for day in sorted(day for day in days if day > planted):
        high, low = (min(max(float(days[day][name]), 50.0), 86.0) for name in ["tmax_f", "tmin_f"])
        total += (high + low) / 2 - 50
        found[day.isoformat()] = total
    return found


def check_degrees(report, folder, expected):
    report.place = str(folder / "calendar.csv")
    checked = 0
    for row in rows(folder):
        day = row["date"] or row["latest"]
        if row["degrees_are"] in ["measured", "after today"] and day in expected:
            report.near(f"growing degrees on {day}", float(row["growing_degrees_f"]), expected[day], 0.051)
            checked += 1
    report.check("several sums were checked", checked > 3, checked)


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
