"""Reads a calendar with Debian's python3-icalendar, as a stranger would, and checks what RFC 5545 asks
for and what tests/reference/test_calendar_python.c tells it. Prints "ok" or fails."""
import datetime
import sys
from zoneinfo import ZoneInfo

import icalendar

path, want_rounds, want_cancelled, zone = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), sys.argv[4]
raw = open(path, "rb").read()

# 3.1: lines end in CRLF, have at most 75 octets without it, and are UTF-8; a fold is CRLF and a space
assert raw.endswith(b"\r\n") and raw.count(b"\n") == raw.count(b"\r\n")
for line in raw.split(b"\r\n"):
    assert len(line) <= 75, line
raw.replace(b"\r\n ", b"").decode("utf-8")

calendar = icalendar.Calendar.from_ical(raw)
assert calendar["VERSION"] == "2.0" and calendar["PRODID"] and calendar["METHOD"] == "PUBLISH"
events = calendar.walk("VEVENT")
uids = [str(event["UID"]) for event in events]
assert len(set(uids)) == len(uids), "3.8.4.7: an id is unique"
rounds = cancelled = 0
for event in events:
    for name in ("UID", "DTSTAMP", "DTSTART", "SEQUENCE", "STATUS", "SUMMARY"):
        assert name in event, name
    assert event.decoded("DTSTAMP").utcoffset() == datetime.timedelta(0), "3.8.7.2: in UTC"
    assert event["SEQUENCE"] >= 0
    start = event.decoded("DTSTART")
    alarms = event.walk("VALARM")
    for alarm in alarms:  # 3.6.6: a display alarm has action, description, trigger
        assert alarm["ACTION"] == "DISPLAY" and alarm["DESCRIPTION"] and "TRIGGER" in alarm
    if event["STATUS"] == "CANCELLED":
        cancelled += 1
        assert not alarms and event["SEQUENCE"] > 0
        continue
    if str(event["CATEGORIES"].to_ical(), "utf-8") == "round":
        rounds += 1
        assert len(alarms) == 1
        assert (start.hour, start.minute) == (18, 0), start
        if zone != "none":
            assert str(event["DTSTART"].params["TZID"]) == zone
            there = datetime.datetime(start.year, start.month, start.day, 18, tzinfo=ZoneInfo(zone))
            assert start.utcoffset() == there.utcoffset(), (start, there)
        else:
            assert start.tzinfo is None, "3.3.5, form 1: local time"
    elif not isinstance(start, datetime.datetime):
        assert event.decoded("DTEND") == start + datetime.timedelta(days=1), "3.6.1: the end is not part"
if zone != "none":
    zones = calendar.walk("VTIMEZONE")
    assert [str(one["TZID"]) for one in zones] == [zone], "3.2.19: a TZID has its rules"
    # the rules themselves, not the reader's own tables: either side of both clock changes
    rules = zones[0].to_tz()
    for year in range(2024, 2031):
        for month, day in ((1, 15), (3, 20), (4, 5), (7, 15), (10, 20), (11, 5)):
            moment = datetime.datetime(year, month, day, 18)
            own = rules.utcoffset(moment) if not hasattr(rules, "localize") else rules.localize(moment).utcoffset()
            assert own == moment.replace(tzinfo=ZoneInfo(zone)).utcoffset(), (moment, own)
assert rounds == want_rounds, (rounds, want_rounds)
assert cancelled == want_cancelled, (cancelled, want_cancelled)
print("ok")
