#!/usr/bin/env python3
"""The golden scenario, computed a second time: tests/golden/scenario/README.md in numbers.

Written from the design's section 4 and from section 1 of the clearance reference, not from the
program: matrix exponentials (scipy) instead of the program's power series, each pool's history
written out by hand instead of found by walking events. What it shares with the program are the
inputs: the tables in data/*.csv.

    python3 tests/reference/scenario/paper.py        writes expected.csv beside itself

Needs numpy and scipy. The test that compares is tests/golden/test_scenario.c.
"""
import csv
import datetime
import hashlib
import math
import os
import sys

import numpy
import scipy
from scipy.linalg import expm

HERE = os.path.dirname(os.path.abspath(__file__))
DATA = os.path.join(HERE, "..", "..", "..", "data")
READ = []  # the tables that were read

# ---- the tables ------------------------------------------------------------------------------


def table(name):
    path = os.path.join(DATA, name + ".csv")
    with open(path, newline="", encoding="utf-8") as file:
        text = file.read()
    if name not in READ:
        READ.append(name)
    return list(csv.DictReader(x for x in text.splitlines() if not x.startswith("#")))


class Threat:
    def __init__(self, row, stages):
        self.code = row["code"]
        self.trait = row["trait"]
        self.is_mobile = row["is_mobile"] == "1"
        self.is_root_zone = row["is_root_zone"] == "1"
        self.is_far = row["is_out_of_reach"] == "1"
        self.prior = float(row["prior"])
        self.weight = {k[2:]: float(row[k]) for k in row if k.startswith("w_")}
        self.stages = stages
        self.names = [s["stage"] for s in stages]
        self.lives = [s["lives"] for s in stages]
        self.share = [float(s["start_share"]) for s in stages]
        self.k = [int(s["substages"]) for s in stages]
        self.k[-1] = 1
        # decision 0006: founders that breed live so long, and their young begin with the first
        # stage once more; of these, so many are seen independently of each other
        life = next(r for r in table("lives") if r["threat"] == self.code)
        self.life_days, self.young = float(life["life_days"]), int(life["young"])
        self.generations = 2 if self.life_days > 0 else 1
        self.one = sum(self.k)
        self.n = self.one * self.generations
        # first substage of each stage
        self.first = [sum(self.k[:i]) for i in range(len(self.k))]
        self.stage_of = [i for i, k in enumerate(self.k) for _ in range(k)] * self.generations
        self.is_young = [i >= self.one for i in range(self.n)]
        # where the eggs that a breeding stage leaves behind begin
        self.nest = self.n - self.one
        self._expm = {}

    def passage(self, pace, temp_c, hours):
        """exp(Q t): how the mass of the substages moves on in so many hours at one temperature.
        Substage left at the rate k r; r = (min(T, upper) - threshold)+ / degree-days; a last stage
        is left at the rate 1 / life for the young, or is absorbing, and so is the young's own;
        nothing dies of itself (all mortalities in the table are 0)."""
        key = (pace, temp_c, hours)
        if key not in self._expm:
            q = numpy.zeros((self.n, self.n))
            for i in range(self.n - 1):
                s = self.stages[self.stage_of[i]]
                if self.stage_of[i] == len(self.k) - 1:
                    leave = 1.0 / self.life_days
                else:
                    low = float(s[pace + "_threshold_c"])
                    high = float(s[pace + "_upper_c"])
                    rate = max(0.0, min(temp_c, high) - low) / float(s[pace + "_degree_days"])
                    leave = self.k[self.stage_of[i]] * rate
                q[i, i] -= leave
                q[i + 1, i] += leave
            self._expm[key] = expm(q * hours / 24.0)
        return self._expm[key]

    def start(self):
        """What arrives: each stage's share, evenly over its substages."""
        a = numpy.zeros(self.n)  # founders; nothing of their young yet
        for s, share in enumerate(self.share):
            for i in range(self.k[s]):
                a[self.first[s] + i] = share / self.k[s]
        return a


def read_threats():
    by_code = {}
    for row in table("stages"):
        by_code.setdefault(row["threat"], []).append(row)
    threats = []
    for row in table("threats"):
        if row["class"] != "pest":
            continue  # pathogens have a rule of their own, a stowaway is looked for, not summed
        stages = by_code[row["code"]]
        assert all(float(s["mortality_per_day"]) == 0.0 for s in stages)
        threats.append(Threat(row, stages))
    return threats


THREATS = read_threats()


def rank(threat, scope):
    """The closest row wins: the threat's own, its trait's, root zone, all."""
    return {threat.code: 4, threat.trait: 3, "all": 1}.get(
        scope, 2 if scope == "root_zone" and threat.is_root_zone else 0)


def closest(threat, rows):
    best = max(rows, key=lambda r: rank(threat, r["scope"]), default=None)
    return best if best is not None and rank(threat, best["scope"]) > 0 else None


def prior_of(threat, kind, form):
    """prior x kind of source x form; a sealed cup from a lab is one cup, not two."""
    by_form = closest(threat, [r for r in table("forms") if r["form"] == form])
    by_kind = closest(threat, [r for r in table("source_kinds") if r["kind"] == kind])
    assert by_form["prior"] == ""  # a bag of mix would have its own; none here
    factor = 1.0 if (kind, form) == ("tissue_culture_lab", "tissue_culture") else float(
        by_kind["factor"])
    return min(1.0, threat.prior * factor * float(by_form["factor"]))


def survival_of(threat, stage, step, agent="none"):
    """One step's survival of a stage, and whether it was measured: the row that names the threat
    counts before one for all, the one that names the stage before one for all stages. No row:
    nothing was shown, 1."""
    best, is_measured, best_rank = 1.0, False, 0
    for r in table("survival"):
        by_threat = {threat.code: 4, "all": 2}.get(r["threat"], 0)
        by_stage = {threat.names[stage]: 1, "all": 0}.get(r["stage"], -9)
        is_it = (r["step"], r["agent"]) == (step, agent) and by_threat > 0
        if is_it and by_threat + by_stage > best_rank:
            best, best_rank = float(r["survival"]), by_threat + by_stage
            is_measured = r["grade"] == "measured"
    return best, is_measured


FLOOR = 0.1  # design 4.11


def kept(threat, steps):
    """An evening's steps on one lot: survivals multiply, and never below the floor, but for what a
    step was measured to remove."""
    out = []
    for s in range(len(threat.k)):
        m, floor = 1.0, FLOOR
        for step in steps:
            one, is_measured = survival_of(threat, s, *step)
            m *= one
            floor = min(floor, one) if is_measured else floor
        out.append(max(m, floor))
    return out


VISIBLE = {r["lives"]: r for r in table("visibility")}
CAP = 0.95  # decision 0002


def detect(threat, effort, devices=()):
    out = []
    for s, lives in enumerate(threat.lives):
        d = float(VISIBLE[lives][effort])
        for r in table("devices"):
            if r["device"] in devices and (r["threat"], r["stage"]) == (threat.code,
                                                                       threat.names[s]):
                d += float(r["gain"])
        out.append(min(CAP, d))
    return out


MIX = table("detectability")
EYES = [float(r["multiplier"]) for r in MIX]
WEIGHTS = {w: [float(r["weight_" + w]) for r in MIX] for w in ("low", "middle", "high")}
USES = {r["code"]: r for r in table("uses")}
ROOM = table("room")


def per_opening(threat):
    return float(closest(threat, ROOM)["per_opening"])


def per_day(threat, has_gasket):
    return 0.0 if has_gasket else float(closest(threat, ROOM)["per_day_without_gasket"])


# ---- one root's state on one carrier (reference 1.1 to 1.4) ------------------------------------

LAMBDA = 3.0  # founders, zero-truncated Poisson; and the mean of the Gamma after a find
SIZE = 1.0
EGGS = 5  # decision 0006: of a colony's many, so many count after a treatment
LEFT_YOUNG = 0.8  # decision 0005: a breeding stage that was seen has left young


class Copy:
    """a[w, i]: alive in substage i and missed so far, under eye w; D: found; at: the hour."""

    def __init__(self, threat, pace, prior, at, is_steady=False):
        self.t, self.pace, self.prior, self.at, self.is_steady = threat, pace, prior, at, is_steady
        row = numpy.zeros(threat.n) if is_steady else threat.start()
        self.a = numpy.array([row for _ in EYES])
        self.d = numpy.zeros(len(EYES))
        self.takes_in = is_steady  # the room's own goes on letting things in
        self.pending = 0  # openings since the last inflow
        self.root = object()

    def twin(self):
        """A whole copy on another carrier: same root (a move has factor 1)."""
        new = Copy.__new__(Copy)
        new.__dict__.update(self.__dict__)
        new.a, new.d = self.a.copy(), self.d.copy()
        return new

    def moved(self):
        new = self.twin()
        new.takes_in, new.pending = False, 0
        return new

    def to(self, hour, temp_c, has_gasket=True):
        """Time passes. What the room let in is counted at its end, as young as it comes."""
        hours = hour - self.at
        if hours <= 0:
            return self
        self.a = self.a @ self.t.passage(self.pace, temp_c, hours).T
        self.at = hour
        if self.takes_in:
            mean = per_day(self.t, has_gasket) * hours / 24.0 + per_opening(self.t) * self.pending
            self.pending = 0
            self.a = self.a + mean * self.t.start()
        return self

    def opened(self):
        self.pending += 1

    def treat(self, m):
        """Survivals by stage; the colony rule (design 4.7, decision 0006): a breeding stage holds
        its own eggs, five of which count, and one that lives is enough; so are the young."""
        last = len(m) - 1
        lost = sum(self.a[:, i] for i in range(self.t.n) if self.t.stage_of[i] == last)
        lost = lost * (1.0 - m[last])

        def lives(s, is_young):
            return 1.0 - (1.0 - m[s]) ** EGGS if is_young and s != last else m[s]

        self.a = self.a * numpy.array([lives(s, y) for s, y in
                                       zip(self.t.stage_of, self.t.is_young)])
        toughest = max(range(last), key=lambda s: (m[s], -s))
        self.a[:, self.t.nest + self.t.first[toughest]] += lost * lives(toughest, True)

    def look(self, d):
        for w, eye in enumerate(EYES):
            one = [min(CAP, eye * d[s]) for s in self.t.stage_of]
            q = numpy.array([1.0 - (1.0 - x) ** self.t.young if y else x
                             for x, y in zip(one, self.t.is_young)])
            self.d[w] += float(q @ self.a[w])
            self.a[w] = self.a[w] * (1.0 - q)

    def find(self, d, x):
        """x founders seen by this look, and taken away: equation (2) under each eye, the eyes
        weighed by how well they explain x now and nothing before; and the young that adults have
        left."""
        before = self.d.copy()
        self.look(d)
        b = SIZE / LAMBDA
        alive = self.a.sum(axis=1)
        weight = [w * (now - old) ** x / (b + now) ** (SIZE + x)
                  for w, now, old in zip(WEIGHTS["middle"], self.d, before)]
        left = [1.0 - ((b + now) / (b + now + al)) ** (SIZE + x) for now, al in zip(self.d, alive)]
        missed = sum(w * p for w, p in zip(weight, left)) / sum(weight)
        self.prior = 1.0 - (1.0 - missed) * (1.0 - LEFT_YOUNG)
        self.renew()

    def renew(self):
        """A new clock: the living mass is 1 again, at least half of it just laid eggs."""
        nest = self.t.nest
        for w in range(len(EYES)):
            self.a[w] /= self.a[w].sum()
            if self.a[w, nest] < 0.5:
                self.a[w] *= 0.5 / (1.0 - self.a[w, nest])
                self.a[w, nest] = 0.5
        self.d[:] = 0.0
        self.root = object()

    def chance(self, reading="middle", blamed=False):
        """P(still there | every look quiet): the larger of one founder and zt-Poisson(3)."""
        weight = WEIGHTS[reading]
        alive = self.a.sum(axis=1)
        if self.is_steady:
            likely = [w * math.exp(-d) for w, d in zip(weight, self.d)]
            return sum(x * -math.expm1(-a) for x, a in zip(likely, alive)) / sum(likely)
        p = 1.0 if blamed else self.prior
        best = 0.0
        for g in (lambda z: z, lambda z: math.expm1(LAMBDA * z) / math.expm1(LAMBDA)):
            num = sum(w * (g(1 - d) - g(1 - d - a)) for w, d, a in zip(weight, self.d, alive))
            den = 1 - p + p * sum(w * g(1 - d) for w, d in zip(weight, self.d))
            best = max(best, p * num / den)
        return best


def combine(copies, reading="middle"):
    """Independent ways in: 1 - prod(1 - P), of each root its likeliest copy."""
    by_root = {}
    for c in copies:
        p = c.chance(reading)
        by_root[c.root] = max(by_root.get(c.root, 0.0), p)
    return 1.0 - math.prod(1.0 - p for p in by_root.values())


# ---- the calendar ----------------------------------------------------------------------------

DAY_0 = datetime.date(2026, 3, 7)  # a Saturday


def h(day, hour=0):
    return 24 * day + hour


def date_of(hour):
    return (DAY_0 + datetime.timedelta(days=hour // 24)).isoformat()


def rounds_after(hour):
    """Noon of the Saturdays after today's date: 26 of them."""
    day = hour // 24
    first = day + (7 - day % 7)
    return [h(first + 7 * i, 12) for i in range(26)]


# ---- the history, by hand ----------------------------------------------------------------------

PLACE = {  # °C, a gasket, the card that hangs there, when it was hung
    "bench": (20.0, False, (), 0),
    "bin 1": (24.0, True, ("yellow_card",), h(0, 20)),
    "bin 2": (22.0, True, ("yellow_card",), h(1, 20)),
    "bin 3": (19.0, False, (), 0),
    "jar 1": (20.0, True, (), 0),
}


def temp(place):
    return PLACE[place][0]


def gasket(place):
    return PLACE[place][1]


class Lot:
    def __init__(self, name, plants, form, use, kind, arrived, steps, stays):
        self.name, self.plants, self.form, self.use, self.kind = name, plants, form, use, kind
        self.arrived, self.steps, self.stays = arrived, steps, stays


WASHED = [("strip",), ("rinse",), ("soak",)]
SOAKED = [("strip",), ("soak",), ("soak",), ("soak",)]  # a rinse would ruin it
# soak, dip, neutralise, soak after the wash: bleach earns nothing against any of these pests
DIPPED = WASHED + [("soak",), ("dip", "bleach"), ("soak",)]

A = h(0, 10), [(h(0, 10), "bench"), (h(0, 20), "bin 1")]
LATE = [(h(5, 18), "jar 1")]  # told on day 14
LOTS = {
    "pilea": Lot("pilea", 3, "potted", "plants_only", "chain_store", A[0], WASHED, A[1]),
    "maidenhair": Lot("maidenhair", 1, "potted", "plants_only", "chain_store", A[0], SOAKED, A[1]),
    "arrowhead": Lot("arrowhead", 2, "plug", "stock", "chain_store", A[0], WASHED, A[1]),
    "fig": Lot("fig", 2, "potted", "amphibian", "nursery", h(1, 10), DIPPED,
               [(h(1, 10), "bench"), (h(1, 20), "bin 2")]),
    "peperomia": Lot("peperomia", 2, "bare_root", "plants_only", "nursery", h(1, 10),
                     [("rinse",), ("soak",)], [(h(1, 10), "bench"), (h(1, 20), "bin 2")]),
    "anthurium": Lot("anthurium", 5, "tissue_culture", "amphibian", "tissue_culture_lab", h(2, 10),
                     [("rinse",)], [(h(2, 10), "bench"), (h(2, 12), "bin 3")]),
}
PURCHASES = [("pilea", "maidenhair", "arrowhead"), ("fig", "peperomia"), ("anthurium",)]
WASH_HOUR = {"chain_store": h(0, 18), "nursery": h(1, 18), "tissue_culture_lab": h(2, 11)}

FIND = h(12, 18)  # two thrips on the pilea, careful look with the card
FIND_THREAT, FIND_COUNT = "western_flower_thrips", 2
AGAIN = h(13, 18)  # pilea and arrowhead washed again
CLEANED = h(13, 20)  # bin 1, with its lots
ROUNDS = [7, 14, 21, 28, 35, 42, 49, 56, 63]
ROOTS = 28  # the round on which all were unpotted


def looks_at(place, until):
    """(hour, effort, devices) of the looks at a place before `until`."""
    out = [(h(d, 18), "roots" if d == ROOTS else "careful") for d in ROUNDS]
    if place == "bin 1":
        out.append((FIND, "careful"))
    if place == "jar 1":
        out = [x for x in out if x[0] >= h(14, 18)]
    return [(hour, effort, PLACE[place][2]) for hour, effort in sorted(out) if hour < until]


def stays_of(lot, is_late_known):
    if lot.name == "maidenhair" and is_late_known:
        return lot.stays + LATE
    return lot.stays


def shared_tub(threat):
    rows = [r for r in table("links") if r["link"] == "shared_tub"]
    return float(closest(threat, rows)["factor"])


def thinned(copy, factor):
    """What water or tools carry over of a root: the same root, the rest of it stays behind."""
    new = copy.twin()
    new.a = new.a * factor
    return new


def stand_apart(threat, pace, names, until, is_late_known):
    """What stays on its lot: a root for each lot, each lot's own steps, the temperatures where it
    stood. A tub of water links the lots of one purchase, both ways: what one had before the
    evening, the other has a part of, and then goes through its own steps."""
    lots = [LOTS[n] for n in names]
    copies = {x.name: [Copy(threat, pace, prior_of(threat, x.kind, x.form), x.arrived)]
              for x in lots}
    here = {x.name: "bench" for x in lots}
    happenings = [(WASH_HOUR[lots[0].kind], 0, names, "wash")]
    if lots[0].kind == "chain_store":
        happenings.append((AGAIN, 0, ("pilea", "arrowhead"), "wash again"))
    for lot in lots:
        stays = stays_of(lot, is_late_known)
        for i, (since, place) in enumerate(stays):
            end = stays[i + 1][0] if i + 1 < len(stays) else until
            happenings.append((since, 1, (lot.name,), place))
            happenings += [(hour, 2, (lot.name,), (effort, devices))
                           for hour, effort, devices in looks_at(place, min(end, until))
                           if hour > since]
    for hour, order, who, what in sorted(happenings, key=lambda x: (x[0], x[1])):
        if hour >= until:
            break
        for name in who:
            for c in copies[name]:
                c.to(hour, temp(here[name]))
        if order == 0 and len(who) > 1:
            before = {name: list(copies[name]) for name in who}
            for a in who:
                copies[a] += [thinned(c, shared_tub(threat))
                              for b in who if b != a for c in before[b]]
        for name in who:
            for c in copies[name]:
                if order == 0:
                    c.treat(kept(threat, LOTS[name].steps if what == "wash" else WASHED))
                elif order == 2:
                    c.look(detect(threat, *what))
            here[name] = what if order == 1 else here[name]
    for name in names:
        for c in copies[name]:
            c.to(until, temp(here[name]))
    return copies


class Fill:
    """A pool: the copies of all that its lots may carry."""

    def __init__(self, threat, pace, place, copies):
        self.t, self.pace, self.place, self.copies = threat, pace, place, copies

    def begin(self, hour):
        """The room's own way in begins with the fill; putting something in is an opening."""
        if per_opening(self.t) > 0 or per_day(self.t, gasket(self.place)) > 0:
            self.copies.append(Copy(self.t, self.pace, 0.0, hour, is_steady=True))
        return self

    def to(self, hour):
        for c in self.copies:
            c.to(hour, temp(self.place), gasket(self.place))

    def opened(self):
        for c in self.copies:
            if c.takes_in:
                c.opened()

    def look(self, hour, effort, devices):
        self.opened()
        self.to(hour)
        for c in self.copies:
            c.look(detect(self.t, effort, devices))

    def looks(self, after, until):
        for hour, effort, devices in looks_at(self.place, until):
            if hour > after:
                self.look(hour, effort, devices)
        return self


def washed_pool(threat, lots):
    """Treating n of N plants: 1 - sum (n/N)(1 - m)."""
    all_plants = sum(x.plants for x in lots)
    out = [1.0] * len(threat.k)
    for lot in lots:
        for s, m in enumerate(kept(threat, lot.steps)):
            out[s] -= lot.plants / all_plants * (1.0 - m)
    return out


def on_bench(threat, pace, names, into, hour):
    """A purchase on the bench: one root, the likeliest of its forms; washed; put away."""
    lots = [LOTS[n] for n in names]
    c = Copy(threat, pace, max(prior_of(threat, x.kind, x.form) for x in lots), lots[0].arrived)
    c.to(WASH_HOUR[lots[0].kind], temp("bench"))
    c.treat(washed_pool(threat, lots))
    c.to(hour, temp("bench"))
    fill = Fill(threat, pace, into, [c]).begin(hour)
    fill.opened()
    return fill


def store_pools(threat, pace, until, is_late_known):
    """The chain store's three lots: bin 1, and the jar when the late move is known."""
    fill = on_bench(threat, pace, PURCHASES[0], "bin 1", h(0, 20))
    jar = None
    is_found = threat.code == FIND_THREAT
    if until > h(5, 18) and is_late_known:
        fill.to(h(5, 18))
        jar = Fill(threat, pace, "jar 1", [c.moved() for c in fill.copies]).begin(h(5, 18))
        fill.opened()
        jar.opened()
    fill.looks(fill.copies[0].at, min(until, FIND))
    if until > FIND:
        if is_found:
            fill.opened()
            fill.to(FIND)
            assert len(fill.copies) == 1  # with a gasket no thrips comes in: the one suspect
            fill.copies[0].find(detect(threat, "careful", PLACE["bin 1"][2]), FIND_COUNT)
        else:
            fill.look(FIND, "careful", PLACE["bin 1"][2])
        if is_found and jar is not None:
            jar.copies[0].prior = 1.0  # that root was real: what went to the jar is of it
    if until > AGAIN:
        assert is_late_known  # all five plants of bin 1 are washed again
        fill.to(AGAIN)
        for c in fill.copies:
            c.treat(kept(threat, WASHED))
    if until > CLEANED:
        fill.to(CLEANED)
        fill = Fill(threat, pace, "bin 1", [c.moved() for c in fill.copies]).begin(CLEANED)
    fill.looks(FIND, until).to(until)
    if jar is not None:
        jar.looks(h(5, 18), until).to(until)
    return fill, jar


def state(threat, pace, name, until, is_late_known):
    """The copies on a lot's carrier at `until`."""
    lot = LOTS[name]
    if not threat.is_mobile:
        purchase = next(p for p in PURCHASES if name in p)
        return stand_apart(threat, pace, purchase, until, is_late_known)[name]
    if lot.kind == "chain_store":
        fill, jar = store_pools(threat, pace, until, is_late_known)
        return (jar if name == "maidenhair" and jar is not None else fill).copies
    names, into, hour = ((PURCHASES[1], "bin 2", h(1, 20)) if lot.kind == "nursery" else
                         (PURCHASES[2], "bin 3", h(2, 12)))
    fill = on_bench(threat, pace, names, into, hour)
    fill.looks(hour, until).to(until)
    return fill.copies


# ---- the gate ----------------------------------------------------------------------------------


def is_quick(threat):
    """From first to last stage within 30 days at 21 °C by the slow set."""
    days = 0.0
    for s in threat.stages[:-1]:
        above = min(21.0, float(s["slow_upper_c"])) - float(s["slow_threshold_c"])
        days += float(s["slow_degree_days"]) / above if above > 0 else math.inf
    return days <= 30.0


def forecast(threat, copies, place, now, devices):
    """The middle chance now and after each round ahead: careful, nothing found."""
    copies = [c.twin() for c in copies]
    out = [combine(copies)]
    for hour in rounds_after(now):
        for c in copies:
            c.pending = 1
            c.to(hour, temp(place), gasket(place))
            c.look(detect(threat, "careful", devices))
        out.append(combine(copies))
    return out


def bare(threat, legs, at, has_find):
    """What came in, with no look and no treatment, at an hour: the mass by substage. `legs` is
    where it was, from when; has_find: it is the root of the find, whose clock began anew."""
    a = threat.start()
    for i, (since, place) in enumerate(legs):
        end = min(legs[i + 1][0] if i + 1 < len(legs) else math.inf, at)
        marks = [since, end]
        if has_find and since < FIND < end:
            marks = [since, FIND, end]
        for begin, stop in zip(marks, marks[1:]):
            if has_find and begin == FIND:  # half of it new eggs
                a = a * (0.5 / (1.0 - a[threat.nest]))
                a[threat.nest] = 0.5
            if stop > begin:
                a = threat.passage("slow", temp(place), int(stop - begin)) @ a
    return a


def shown(threat, legs, effort, at, has_find):
    """The share that has reached a stage which this effort sees with at least 0.2."""
    d = detect(threat, effort)
    seen = [s for s in range(len(d)) if d[s] >= 0.2]
    return float(bare(threat, legs, at, has_find)[threat.first[seen[0]]:].sum()) if seen else 0.0


EFFORTS = ["glance", "careful", "roots"]
NEVER = math.inf


class Case:
    """A lot's question to the gate: what stands where, and what was done. legs(threat): where what
    came in has been since when, for each root with its weight."""

    def __init__(self, lot, now, place, copies, legs, looked, last_in, has_find=False):
        self.lot, self.now, self.place, self.copies, self.legs = lot, now, place, copies, legs
        self.looked, self.last_in, self.has_find = looked, last_in, has_find


def shown_of(case, threat, effort, at, has_find):
    """Over all roots that met the lot, weighed by their priors."""
    roots = case.legs(threat)
    return sum(w * shown(threat, legs, effort, at, has_find) for w, legs in roots) / sum(
        w for w, _ in roots)


def guard_of(case, threat, has_find):
    """(date, share at the last look, effort that can meet it) of one threat."""
    best = max([1] + [EFFORTS.index(e) for _, e in case.looked])
    share = 0.0
    for e in range(best + 1):
        times = [hour for hour, effort in case.looked if EFFORTS.index(effort) >= e]
        if times:
            share = max(share, shown_of(case, threat, EFFORTS[e], times[-1], has_find))
    if share >= 0.95:
        return case.now, share, None
    for e in (best, 2):  # what the looks so far can never show, a look at the roots can
        for hour in rounds_after(case.now):
            if shown_of(case, threat, EFFORTS[e], hour, has_find) >= 0.95:
                return hour, share, EFFORTS[e]
    return NEVER, share, EFFORTS[2]


def decide(case, uses=None):
    """The numbers of the gate's answer."""
    uses = uses or [case.lot.use]
    moments = [case.now] + rounds_after(case.now)
    hung = PLACE[case.place][3]
    devices = PLACE[case.place][2] if hung <= case.now else ()
    out = {"threats": {}, "sum": {u: 0.0 for u in uses}}
    ahead = {u: [0.0] * 27 for u in uses}
    quick = {u: [0.0] * 27 for u in uses}
    guards = []
    for t in THREATS:
        slow, fast = case.copies(t, "slow"), case.copies(t, "fast")
        bands = [combine(c, r) for c in (slow, fast) for r in WEIGHTS]
        prior = max(c.prior for c in slow if not c.is_steady)
        out["threats"][t.code] = {"prob": combine(slow), "prob_least": min(bands),
                                  "prob_most": max(bands), "prob_prior": prior}
        if t.is_far:
            continue  # listed apart, never in the sum
        for u in uses:
            out["sum"][u] += t.weight[u] * combine(slow)
        for k, p in enumerate(forecast(t, slow, case.place, case.now, devices)):
            for u in uses:
                ahead[u][k] += t.weight[u] * p
                quick[u][k] += t.weight[u] * p if is_quick(t) else 0.0
        if max(t.weight[u] for u in uses) * prior >= 0.005:
            date, share, effort = guard_of(case, t, case.has_find and t.code == FIND_THREAT)
            guards.append((date, -share, t.code, effort))

    def first(sums, use):
        return next((m for m, x in zip(moments, sums[use]) if x <= float(USES[use]["ceiling"])),
                    NEVER)

    binding = max(uses, key=lambda u: (first(ahead, u), out["sum"][u] / float(USES[u]["ceiling"])))
    out["use"] = binding
    out["chance"] = max(first(ahead, u) for u in uses)
    out["quick"] = max(first(quick, u) for u in uses)
    out["guard"] = max(guards) if guards else (case.now, -1.0, None, None)
    days = max(int(USES[u]["least_days"]) for u in uses)
    out["days"] = int((case.now - case.last_in) // 24)
    out["days_asked"] = days
    out["least"] = max(case.now, case.last_in + 24 * days)
    out["worst"] = max((t for t in THREATS if not t.is_far),
                       key=lambda t: t.weight[binding] * out["threats"][t.code]["prob"]).code
    out["opens"] = max(out["chance"], out["guard"][0], out["least"])
    return out


def gate(name, now, is_late_known, uses=None):
    """The gate for a lot as it stands at `now`."""
    lot = LOTS[name]
    stays = [x for x in stays_of(lot, is_late_known) if x[0] < now]
    looked = []
    for i, (since, place) in enumerate(stays):
        end = stays[i + 1][0] if i + 1 < len(stays) else now
        looked += [(hour, e) for hour, e, _ in looks_at(place, min(end, now)) if hour > since]
    is_after_find = now > FIND and stays[-1][1] == "bin 1"
    # the last way in: the find's new root; or the tub, which what stays on its neighbours shares
    shares_a_tub = any(name in p and len(p) > 1 for p in PURCHASES)
    last_in = FIND if is_after_find else WASH_HOUR[lot.kind] if shares_a_tub else lot.arrived
    return decide(Case(lot, now, stays[-1][1], lambda t, pace: state(t, pace, name, now,
                                                                     is_late_known),
                       lambda t: [(1.0, stays)], looked, last_in, is_after_find), uses)


# ---- prices: what if they went there now -------------------------------------------------------


def price_empty(names, place, now):
    """When the last of them could go from an empty box: by pests and least days."""
    purchase = names
    opens = []
    for name in names:
        lot = LOTS[name]

        def copies(t, pace):
            if not t.is_mobile:
                apart = stand_apart(t, pace, purchase, now, False)
                return apart[name]
            fill = on_bench(t, pace, purchase, place, now)
            fill.to(now)
            return fill.copies

        legs = [(lot.arrived, "bench"), (now, place)]
        case = Case(lot, now, place, copies, lambda t, own=legs: [(1.0, own)], [],
                    WASH_HOUR[lot.kind])
        opens.append(decide(case)["opens"])
    return max(opens)


def price_bin_1(now):
    """The nursery's two beside the store's three in bin 1: (theirs before, theirs after, own)."""
    store, nursery = PURCHASES[0], PURCHASES[1]

    def pooled(t, pace):
        fill = on_bench(t, pace, store, "bin 1", h(0, 20))
        fill.opened()
        fill.to(now)
        return fill.copies + [on_bench(t, pace, nursery, "bin 1", now).copies[0]]

    def case(name, copies, last_in):
        lot = LOTS[name]
        purchase = store if name in store else nursery

        def either(t, pace):
            return copies(t, pace) if t.is_mobile else stand_apart(t, pace, purchase, now,
                                                                   False)[name]

        def legs(t):
            theirs = (max(prior_of(t, LOTS[n].kind, LOTS[n].form) for n in store),
                      LOTS[store[0]].stays)
            own = (max(prior_of(t, LOTS[n].kind, LOTS[n].form) for n in nursery),
                   [(h(1, 10), "bench"), (now, "bin 1")])
            if t.is_mobile:
                return [theirs, own]
            return [theirs if name in store else own]

        return Case(lot, now, "bin 1", either, legs, [], last_in)

    before = max(gate(n, now, False)["opens"] for n in store)
    after = max(decide(case(n, pooled, now))["opens"] for n in store)
    own = max(decide(case(n, pooled, now))["opens"] for n in nursery)
    return before, after, own


# ---- the dip (chemistry reference 1.1 and 1.3; docs/models/bleach.md) ----------------------------


def recipe(label_pct, gravity, age_days, store_c, total_ml):
    cl2_per_naocl = 70.906 / 74.44
    kelvin = store_c + 273.15
    c0 = label_pct * 10.0 * gravity / 74.44  # mol/L
    mu = 2.0 * c0 + 0.20
    k = 10.0 ** (0.149 * mu + math.log10(2.083e10 * kelvin * math.exp(-1.018e5 / (8.314 * kelvin)) *
                                         math.exp(-56.5 / 8.314)))
    now_pct = label_pct / (1.0 + 1.3 * k * c0 * age_days * 86400.0)
    return {"product_ml": total_ml * 5.0 / 100.0, "water_ml": total_ml * 95.0 / 100.0,
            "strength_now_pct": now_pct,
            "chlorine_mg_per_l": now_pct * 1e4 * gravity * cl2_per_naocl * 5.0 / 100.0}


# ---- the answers -------------------------------------------------------------------------------

ROWS = []


def put(check, path, value):
    if value is True or value is False:
        value = "true" if value else "false"
    elif value is None:
        value = "null"
    elif isinstance(value, float):
        value = repr(value)
    ROWS.append((check, path, value))


def put_date(check, path, hour):
    put(check, path, None if hour == NEVER else date_of(hour))


PLANS = {  # step, how often; what the gate asks for is marked
    "pilea": ["strip!", "rinse!", "soak!", "drain", "pot_up"],
    "maidenhair": ["strip!", "soak! x 3", "drain", "pot_up"],
    "arrowhead": ["strip!", "rinse!", "soak!", "drain", "pot_up"],
    "fig": ["strip!", "rinse!", "soak!", "soak", "dip!", "neutralise", "soak!", "drain", "pot_up"],
    "peperomia": ["rinse!", "soak!", "drain", "pot_up"],
    "anthurium": ["rinse!", "drain", "pot_up"],
}
DIPS = {"pilea": "no_animals_there", "maidenhair": "no_animals_there", "arrowhead": "no_history",
        "fig": "animals", "peperomia": "no_animals_there", "anthurium": "tissue_culture"}


def put_plan(check, name):
    base = "plans/" + name
    put(check, base + "/verdict", "go")
    put(check, base + "/dip/reason", DIPS[name])
    put(check, base + "/steps/count", float(len(PLANS[name])))
    for i, step in enumerate(PLANS[name]):
        word, _, times = step.partition(" x ")
        put(check, f"{base}/steps/{i}/step", word.rstrip("!"))
        put(check, f"{base}/steps/{i}/times", float(times or 1))
        put(check, f"{base}/steps/{i}/is_called_for", word.endswith("!"))


def put_gate(check, name, day, hour, is_late_known, uses=None, held=False, steps_missing=(),
             is_looked=True, residue=None, pathogen=None):
    now = h(day, hour)
    g = gate(name, now, is_late_known, uses)
    for code, numbers in g["threats"].items():
        for key, value in numbers.items():
            put(check, f"threats/{code}/{key}", value)
    put(check, "binding_use", g["use"])
    put(check, "weighted_sum", g["sum"][g["use"]])
    put(check, "worst/threat", g["worst"])
    put_date(check, "conditions/chance/earliest_on", g["chance"])
    put(check, "conditions/guard/frac_shown", -g["guard"][1])
    put(check, "conditions/guard/threat", g["guard"][2])
    put(check, "conditions/guard/reason", g["guard"][3])
    put_date(check, "conditions/guard/earliest_on", g["guard"][0])
    put(check, "conditions/least_days/days", float(g["days"]))
    put(check, "conditions/least_days/days_asked", float(g["days_asked"]))
    put_date(check, "conditions/least_days/earliest_on", g["least"])
    put(check, "conditions/hold/is_met", not held)
    put(check, "conditions/steps/is_met", not steps_missing)
    put(check, "conditions/steps/steps_missing/count", float(len(steps_missing)))
    put(check, "conditions/release_look/is_met", is_looked)
    put(check, "conditions/residue/reason", residue)
    put(check, "conditions/pathogen/reason", pathogen)
    put_date(check, "earliest_on", NEVER if held else g["opens"])
    put_date(check, "quick_on", NEVER if held else max(g["quick"], g["least"]))
    put(check, "is_open", not held and not steps_missing and is_looked and g["opens"] <= now)


def main():
    for name in PURCHASES[0]:
        put_plan("plans-store", name)
    for name in PURCHASES[1]:
        put_plan("plans-nursery", name)
    put_plan("plans-lab", "anthurium")
    for key, value in recipe(6.0, 1.08, (DAY_0 - datetime.date(2026, 1, 6)).days + 1 + 9 / 24.0,
                             18.0, 4000.0).items():
        put("plans-nursery", "recipe/" + key, value)
    for place in ("bin 1", "bin 2", "bin 3", "jar 1"):
        put_date("prices-store", f"prices/{place}/own_on",
                 price_empty(PURCHASES[0], place, h(0, 19)))
        put("prices-store", f"prices/{place}/is_best", place == "bin 1")
    for place in ("bin 2", "bin 3", "jar 1"):
        put_date("prices-nursery", f"prices/{place}/own_on",
                 price_empty(PURCHASES[1], place, h(1, 19)))
        put("prices-nursery", f"prices/{place}/is_mixed", False)
    before, after, own = price_bin_1(h(1, 19))
    put_date("prices-nursery", "prices/bin 1/their_before_on", before)
    put_date("prices-nursery", "prices/bin 1/their_after_on", after)
    put("prices-nursery", "prices/bin 1/their_delay_days",
        float(math.ceil((after - before) / 24.0)))
    put_date("prices-nursery", "prices/bin 1/own_on", own)
    put("prices-nursery", "prices/bin 1/is_mixed", True)
    store = dict(residue="not_asked")
    put_gate("pilea-day-0", "pilea", 0, 21, False, is_looked=False, **store)
    put_gate("anthurium-day-7", "anthurium", 7, 19, False, residue="raised_clean")
    again = ("strip", "rinse", "soak")
    put_gate("pilea-day-12", "pilea", 12, 19, False, held=True, is_looked=False,
             steps_missing=again, **store)
    put_gate("maidenhair-day-12", "maidenhair", 12, 19, False, held=True, is_looked=False,
             steps_missing=("strip", "soak"), **store)
    put_gate("maidenhair-day-14", "maidenhair", 14, 17, True, is_looked=False, **store)
    put_gate("pilea-day-14", "pilea", 14, 17, True, held=True, is_looked=False, **store)
    put_gate("pilea-day-35", "pilea", 35, 19, True, held=True, **store)
    put_gate("maidenhair-day-35", "maidenhair", 35, 19, True, **store)
    put_gate("arrowhead-day-35", "arrowhead", 35, 19, True, held=True, **store)
    frogs = dict(residue="waited", pathogen="disinfected")
    put_gate("fig-day-35", "fig", 35, 19, True, **frogs)
    put_gate("peperomia-day-35", "peperomia", 35, 19, True, **store)
    put_gate("anthurium-day-35", "anthurium", 35, 19, True, residue="raised_clean")
    put_gate("fig-day-49", "fig", 49, 19, True, uses=["amphibian", "invertebrate"], **frogs)
    put_gate("fig-day-63", "fig", 63, 19, True, uses=["amphibian", "invertebrate"], **frogs)
    put_gate("pilea-day-63", "pilea", 63, 19, True, **store)
    write()


def write():
    path = os.path.join(HERE, "expected.csv")
    with open(path, "w", encoding="utf-8") as out:
        out.write("# What the golden scenario must answer. Made by paper.py beside this file; do "
                  "not edit by hand.\n")
        out.write("# source: own computation from docs/models/clearance.md, design section 4 and "
                  "data/*.csv, independent of the program\n")
        out.write(f"# with: Python {sys.version.split()[0]}, numpy {numpy.__version__}, "
                  f"scipy {scipy.__version__} (scipy.linalg.expm)\n")
        out.write("# numbers: 1e-6 of their size, for a chance at least 1e-8; texts and dates "
                  "exactly; count: of a list\n")
        for name in sorted(READ):
            with open(os.path.join(DATA, name + ".csv"), "rb") as file:
                digest = hashlib.sha256(file.read()).hexdigest()
            out.write(f"# data: {name}.csv {digest}\n")
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(("check", "path", "value"))
        writer.writerows(ROWS)
    print(f"{len(ROWS)} rows in {path}")


if __name__ == "__main__":
    main()
