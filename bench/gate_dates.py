#!/usr/bin/env python3
"""Prints when the gate opens, in days since arrival, by temperature, source, effort and use.
usage: bench/gate_dates.py PROGRAM   (build/dev/fernlock). One potted plant, cleaned as planned,
alone in a closed bin with a yellow card, looked at each Sunday with nothing found. `chance` is the
ceiling alone, `guard` the time to show (by a look at the roots where only that would do)."""
import datetime
import json
import subprocess
import sys
import tempfile

USES = ["plants_only", "reptile", "invertebrate", "amphibian", "stock"]
START = datetime.date(2026, 3, 1)


def fernlock(program, room, *words):
    done = subprocess.run([program, "--room", room, "--now", "2026-03-01T11:00:00Z", *words],
                          capture_output=True, text=True, timeout=60, check=False)
    if done.returncode > 1:
        raise SystemExit(done.stderr)
    return done.stdout


def days(civil):
    return "never" if not civil else str((datetime.date.fromisoformat(civil) - START).days)


def row(program, temp_c, kind, form, effort):
    with tempfile.TemporaryDirectory() as folder:
        room = folder + "/room"
        fernlock(program, room, "init", "--round", "sunday", "--effort", effort)
        fernlock(program, room, "place", "add", "bench", "--kind", "bench")
        fernlock(program, room, "place", "add", "bin", "--kind", "bin", "--gasket", "--temp-c", str(temp_c))
        fernlock(program, room, "source", "add", "source", "--kind", kind)
        fernlock(program, room, "arrive", "--source", "source", "--place", "bench",
                 f"1x Pilea cadierei:{form}:plants_only")
        fernlock(program, room, "prep", "--done")
        fernlock(program, room, "place", "Pilea", "--in", "bin", "--anyway")
        fernlock(program, room, "card", "bin", "yellow_card")
        cells = []
        for use in USES:
            gate = json.loads(fernlock(program, room, "gate", "Pilea", "--for", use, "--json"))
            by = {c["kind"]: c for c in gate["conditions"]}
            cells.append(f'{days(by["chance"]["earliest_on"])} / {days(by["guard"]["earliest_on"])}')
        print(f"| {temp_c} °C, {effort}, {kind.replace('_', ' ')}, {form.replace('_', ' ')} | " + " | ".join(cells) + " |")


def main():
    print("| chance / guard, days | " + " | ".join(u.replace("_", " ") for u in USES) + " |")
    print("|---" * (len(USES) + 1) + "|")
    for temp_c in (18, 21, 23, 25):
        row(sys.argv[1], temp_c, "chain_store", "potted", "careful")
    for kind, form in (("nursery", "potted"), ("trade", "potted"), ("trade", "unrooted_cutting"),
                       ("tissue_culture_lab", "tissue_culture")):
        row(sys.argv[1], 23, kind, form, "careful")
    row(sys.argv[1], 23, "chain_store", "potted", "glance")


main()
