#!/usr/bin/env python3
"""Reads an export with python's own zipfile, csv, json, hashlib and sqlite3, and compares it with
the room it came from. Ends with 0 and a line of counts, or says what differs.

    export_reader.py FILE.zip ROOM.sqlite [--bom]
"""
import csv
import hashlib
import io
import json
import sqlite3
import sys
import uuid
import zipfile

bom = "--bom" in sys.argv
archive = zipfile.ZipFile(sys.argv[1])
room = sqlite3.connect("file:%s?mode=ro" % sys.argv[2], uri=True)


def fail(text):
    print(text)
    sys.exit(1)


def check(claim, text):
    if not claim:
        fail(text)


def rows_of(name):
    """Every row of a table as a dict; RFC 4180 is checked on the way."""
    raw = archive.read("tables/%s.csv" % name)
    check(raw.startswith(b"\xef\xbb\xbf") == bom, "%s: byte order mark" % name)
    text = raw.decode("utf-8-sig" if bom else "utf-8")
    check(text.endswith("\r\n"), "%s: the last row has no CRLF" % name)
    # outside quotes a line break is CRLF (RFC 4180, 2.1); a quoted field may hold any (2.6)
    outside = "".join(text.split('"')[0::2])
    check("\n" not in outside.replace("\r\n", "") and "\r" not in outside.replace("\r\n", ""),
          "%s: a bare CR or LF" % name)
    table = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    check(len(set(table[0])) == len(table[0]), "%s: two columns of one name" % name)
    for number, row in enumerate(table):
        check(len(row) == len(table[0]), "%s: row %d has %d fields" % (name, number, len(row)))
        for field in row:
            dangerous = field[:1] in "=+@\t\r" and field != ""
            if field[:1] == "-":
                try:
                    float(field)
                except ValueError:
                    dangerous = True
            check(not dangerous, "%s: %r would run as a formula" % (name, field))
    return [dict(zip(table[0], row)) for row in table[1:]]


def plain(field):
    """Without the apostrophe of the formula guard."""
    return field[1:] if field[:1] == "'" and field[1:2] in "=+-@\t\r" else field


def ids(sql):
    return sorted(str(uuid.UUID(bytes=row[0])) for row in room.execute(sql))


check(archive.testzip() is None, "a checksum of the zip is wrong")
check(len(set(archive.namelist())) == len(archive.namelist()), "an entry is there twice")

# the journal, byte for byte
stored = [row for row in room.execute(
    "SELECT id, CAST(canonical AS BLOB), recorded_s, kind FROM journal ORDER BY position")]
journal = archive.read("journal.jsonl")
check(journal == b"".join(row[1] + b"\n" for row in stored), "journal.jsonl is not the journal")
events = [json.loads(line) for line in journal.decode("utf-8").split("\n")[:-1]]
card = json.loads(archive.read("room.json"))
check(card["journal_sha256"] == hashlib.sha256(journal).hexdigest(), "journal_sha256")
check(card["events"] == len(stored), "room.json: events")
zone = room.execute("SELECT value FROM setting WHERE name = 'tz_offset_min'").fetchone()[0]
check(card["tz_offset_min"] == int(zone), "room.json: tz_offset_min")
moments = [json.loads(line) for line in archive.read("recorded.jsonl").splitlines()]
for moment, row in zip(moments, stored):
    check(uuid.UUID(moment["event"]).bytes == row[0], "recorded.jsonl: another event")
    at = room.execute("SELECT strftime('%s', ?)", (moment["recorded_at"],)).fetchone()[0]
    check(int(at) == row[2], "recorded.jsonl: another moment")
check(len(moments) == len(stored), "recorded.jsonl: not as many lines")

# blobs
blobs = {row[0].hex(): row[1] for row in room.execute("SELECT sha256, content FROM blob")}
names = [name for name in archive.namelist() if name.startswith("blobs/")]
check(len(names) == len(blobs) == card["blobs"], "not as many blobs")
for name in names:
    content = archive.read(name)
    check(hashlib.sha256(content).hexdigest() == name[6:], name + " has another hash")
    check(content == blobs[name[6:]], name + " has other bytes")

# every schema is JSON and says which dialect; every kind of the journal has one
for kind in {row[3] for row in stored}:
    schema = json.loads(archive.read("schema/%s.json" % kind))
    check(schema["$schema"] == "https://json-schema.org/draft/2020-12/schema", kind)

# the tables against the live tables and the events
tables = {}
for name in archive.namelist():
    if name.startswith("tables/"):
        tables[name[7:-4]] = rows_of(name[7:-4])
check([row["event"] for row in tables["events"]] ==
      [str(uuid.UUID(bytes=row[0])) for row in stored], "events.csv")
check(sorted(row["lot"] for row in tables["lots"]) == ids("SELECT lot FROM lot_now"), "lots.csv")
for name, table in (("stays", "stay"), ("fills", "fill"), ("holds", "place_hold"),
                    ("findings", "finding_now"), ("conflicts", "conflict")):
    count = room.execute("SELECT count(*) FROM " + table).fetchone()[0]
    check(len(tables[name]) == count, "%s.csv has %d rows, not %d" % (name, len(tables[name]), count))
for row in tables["lots"]:
    stored_row = room.execute("SELECT count, count_born, form, use FROM lot_now WHERE lot = ?",
                              (uuid.UUID(row["lot"]).bytes,)).fetchone()
    check((int(row["count"]), int(row["count_born"]), row["form"], row["use"]) == stored_row,
          "lots.csv: " + row["lot"])
voided = {e["body"]["event"] for e in events if e["kind"] == "event_voided"}
check({row["event"] for row in tables["events"] if row["voided_by"]} == voided,
      "events.csv: what was voided")
live = [e for e in events if e["id"] not in voided]
for kind, name, key in (("source_set", "sources", "source"), ("plant_set", "plants", "plant"),
                        ("place_set", "places", "place"), ("bottle_opened", "bottles", "bottle")):
    last = {e["body"][key]: e["body"] for e in live if e["kind"] == kind}
    check({row[key] for row in tables[name]} == set(last), name + ".csv: other ids")
    for row in tables[name]:
        told = last[row[key]].get("name", "")
        check(plain(row["name"]) == told, "%s.csv: %r, not %r" % (name, row["name"], told))
looks = [e for e in live if e["kind"] == "look_done"]
check(len(tables["looks"]) == len(looks), "looks.csv")
notes = {e["id"]: e.get("note", "") for e in events}
for row in tables["events"]:
    check(plain(row["note"]) == notes[row["event"]], "events.csv: %r" % row["note"])
steps = sum(len(s["lots"]) for e in live if e["kind"] == "step_done" for s in e["body"]["steps"])
steps += sum(len(e["body"]["step"]["lots"]) for e in live if e["kind"] == "step_started")
check(len(tables["steps"]) == steps, "steps.csv: %d rows, not %d" % (len(tables["steps"]), steps))
print("%d events, %d blobs, %d lots" % (len(stored), len(blobs), len(tables["lots"])))
