#!/usr/bin/env python3
"""Makes zips that an import must refuse, from a good export, with python's own zipfile.

    hostile_zips.py GOOD.zip FOLDER

Also FOLDER/minimal.zip, which must be taken: journal, room.json and blobs, nothing else.

Prints a line for each: its file name, a tab, and a text that the refusal must hold. What is tried
follows the usual list for unpackers: names that leave the folder, names that are there twice,
encryption, zip bombs (CWE-22, CWE-409), and entries that were changed.
"""
import hashlib
import json
import os
import struct
import sys
import warnings
import zipfile

warnings.simplefilter("ignore")  # python warns of names that are there twice
good, folder = sys.argv[1:3]
source = zipfile.ZipFile(good)
entries = [(name, source.read(name)) for name in source.namelist()]


def write(name, what, wanted):
    path = os.path.join(folder, name + ".zip")
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as out:
        for entry, content in what:
            out.writestr(entry, content)
    print("%s.zip\t%s" % (name, wanted))
    return path


def replaced(changes):
    return [(name, changes.get(name, content)) for name, content in entries
            if changes.get(name, content) is not None]


def with_journal(journal):
    """A journal whose hash and count room.json agrees with."""
    card = json.loads(source.read("room.json"))
    card["journal_sha256"] = hashlib.sha256(journal).hexdigest()
    card["events"] = journal.count(b"\n")
    return replaced({"journal.jsonl": journal, "room.json": json.dumps(card).encode(),
                     "recorded.jsonl": None})


for label, name in (("up", "../evil"), ("deep", "blobs/../../evil"), ("root", "/etc/evil"),
                    ("back", "blobs\\..\\evil"), ("drive", "C:evil"), ("bell", "a\abell")):
    write("name-" + label, entries + [(name, b"x")], "would be unpacked outside")
write("name-long", entries + [("x" * 300, b"x")], "too long a name")
write("twice", entries + [("journal.jsonl", b"{}\n")], "two entries of one name")
write("many", [("n%d" % i, b"") for i in range(100001)], "more than 100000 entries")
write("bomb", entries + [("blobs/" + "0" * 64, bytes(300 << 20))], "would unpack to far more")
write("blob-big", entries + [("blobs/" + "0" * 64, os.urandom(3 << 20) + bytes(32 << 20))],
      "is bigger than it may be")
write("no-journal", replaced({"journal.jsonl": None}), "has no entry \"journal.jsonl\"")
write("no-room", replaced({"room.json": None}), "has no entry \"room.json\"")
write("empty", [], "has no entry \"room.json\"")
write("room-garbage", replaced({"room.json": b"{"}), "line 1")
card = json.loads(source.read("room.json"))
for key, value, wanted in (("format", 2, "use a newer one"), ("format", "1", "format"),
                           ("tz_offset_min", 5000, "tz_offset_min"),
                           ("tz_offset_min", 1.5, "whole number"),
                           ("blobs", 7, "room.json says 7"),
                           ("journal_sha256", "0" * 64, "was changed after the export")):
    changed = dict(card, **{key: value})
    write("room-%s-%s" % (key, str(value)[:4].replace(".", "_")),
          replaced({"room.json": json.dumps(changed).encode()}), wanted)

journal = source.read("journal.jsonl")
lines = journal.split(b"\n")[:-1]
write("journal-cut", replaced({"journal.jsonl": journal[:-10]}), "was changed after the export")
write("journal-spaced", with_journal(journal.replace(b'{"body"', b'{ "body"', 1)), "canonical form")
write("journal-garbage", with_journal(lines[0] + b"\nnonsense\n"), "journal.jsonl line 2")
write("journal-twice", with_journal(journal + lines[0] + b"\n"), "the id of an event before it")
write("journal-turned", with_journal(b"\n".join(reversed(lines)) + b"\n"), "nothing before it brought")
write("journal-blank", with_journal(lines[0] + b"\n\n"), "journal.jsonl line 2")
demo = json.loads(next(line for line in lines if b'"room_set"' in line))
demo["body"]["is_demo"] = True
demo["id"] = "00000000-0000-4000-8000-00000000abcd"
text = json.dumps(demo, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()
write("journal-demo", with_journal(journal + text + b"\n"), "demo data in a room that is no demo")
moments = source.read("recorded.jsonl").split(b"\n")
write("moments-turned", replaced({"recorded.jsonl": b"\n".join(reversed(moments))}),
      "recorded.jsonl line 1")
write("moments-short", replaced({"recorded.jsonl": moments[0] + b"\n"}), "recorded.jsonl line 2")
blob = next(name for name in source.namelist() if name.startswith("blobs/"))
write("blob-changed", replaced({blob: b"other bytes"}), "was changed after the export")
write("blob-gone", replaced({blob: None}), "files in blobs/, room.json says")

# bytes that python would not write
raw = open(good, "rb").read()


def patched(name, data, wanted):
    with open(os.path.join(folder, name + ".zip"), "wb") as out:
        out.write(data)
    print("%s.zip\t%s" % (name, wanted))


def flag_encrypted(data):
    data = bytearray(data)
    at = data.find(b"PK\x01\x02")
    local = struct.unpack_from("<I", data, at + 42)[0]
    data[at + 8] |= 1
    data[local + 6] |= 1
    return bytes(data)


def grow(data, entry):
    """The directory says that an entry is one byte longer than it is."""
    data = bytearray(data)
    for mark, offset in ((b"PK\x01\x02", 24), (b"PK\x03\x04", 22)):
        at = data.find(mark)
        while at >= 0:
            start = at + (46 if mark == b"PK\x01\x02" else 30)
            if data[start:start + len(entry)] == entry:
                size = struct.unpack_from("<I", data, at + offset)[0]
                struct.pack_into("<I", data, at + offset, size + 1)
            at = data.find(mark, at + 4)
    return bytes(data)


write("blobs-gone", [(name, json.dumps(dict(card, blobs=0)) if name == "room.json" else content)
                     for name, content in entries if not name.startswith("blobs/")],
      "not in the room file")
patched("encrypted", flag_encrypted(raw), "is encrypted")
patched("grown", grow(raw, b"journal.jsonl"), "")
patched("cut", raw[:len(raw) // 2], "no whole zip file")
patched("text", b"this is no zip file at all, but it is long enough to be taken for one" * 10,
        "no whole zip file")
patched("nothing", b"", "no whole zip file")

with zipfile.ZipFile(os.path.join(folder, "minimal.zip"), "w") as out:
    out.writestr("journal.jsonl", journal)
    out.writestr("room.json", json.dumps(card))
    for name, content in entries:
        if name.startswith("blobs/"):
            out.writestr(name, content)
