#!/usr/bin/env python3
"""A customer's complaint computed a second time, without the program's filter: complaint.csv.

One pest of three stages (egg, larva, breeding adult: the last absorbing) with Erlang substages, rates
(T - T0) / K per day and a daily mortality, as a linear chain. What came along: a purchase with a prior, Poisson
founders given any, and a hazard of the grower's own room. One treatment-free week at the grower's with one quiet look,
then the customer's: quiet glances counted back from the day of noticing, then the glance that notices. The
customer's own hazard flows in continuously (an inhomogeneous linear equation, solved exactly as one matrix
exponential of an augmented matrix; the program puts it in day by day). Bayes by hand:

    here  = sum_w w E0 (A0 - A1) s_here        there = sum_w w (E0 - E1) A1 s_there
    P(came along | noticed) = here / (here + there)

    /usr/bin/python3 tests/reference/complaint.py       writes complaint.csv beside itself

Needs numpy and scipy. The test that compares is tests/unit/core/trace/test_complaint.c. The numbers are arbitrary,
not a real pest.
"""
import os

import numpy as np
import scipy
from scipy.linalg import expm

HERE = os.path.dirname(os.path.abspath(__file__))
# substages, threshold, degree-days, mortality
STAGES = [(4, 9.0, 60.0, 0.01), (4, 10.0, 80.0, 0.02), (1, 0.0, 1.0, 0.0)]
SHARE = [0.7, 0.2, 0.1]
MULTIPLIER = [0.5, 1.0, 1.5]
WEIGHT = [0.25, 0.5, 0.25]
CAP = 0.95
LOOK = [0.05, 0.3, 0.5]  # at the grower's
GLANCE = [0.01, 0.1, 0.3]  # at the customer's
SEEN_LEAST = 0.02  # what noticed it saw each stage at least so well
COLONY = [0.3, 0.5, 0.2]
FOUNDERS = 3.0
PRIOR = 0.3
ROOM = 0.05  # founders let in by the grower's own room, all on the third day
T_HERE, T_THERE = 22.0, 21.0

N = sum(k for k, *_ in STAGES)
OF = [s for s, (k, *_) in enumerate(STAGES) for _ in range(k)]
spread = np.array([SHARE[s] / STAGES[s][0] for s in OF])


def chain(t):
    """Generator of the living: column convention, d alive / dt = Q alive."""
    q = np.zeros((N, N))
    for i, s in enumerate(OF):
        k, t0, dd, mu = STAGES[s]
        leave = 0.0 if s == len(STAGES) - 1 else k * max(t - t0, 0.0) / dd
        q[i, i] -= leave + mu
        if leave > 0.0:
            q[i + 1, i] += leave
    return q


def sees(detect, w):
    return np.array([min(CAP, MULTIPLIER[w] * detect[s]) for s in OF])


def grower(w):
    """The purchase's founder and the room's founders when the plant leaves: (alive, found) each."""
    day = lambda n: expm(chain(T_HERE) * n)
    one, room, found_one, found_room = spread.copy(), np.zeros(N), 0.0, 0.0
    one = day(3) @ one
    room = room + ROOM * spread
    one, room = day(2) @ one, day(2) @ room  # day 5: a look
    q = sees(LOOK, w)
    found_one, found_room = q @ one, q @ room
    one, room = (1 - q) * one, (1 - q) * room
    return (day(2) @ one, found_one), (day(2) @ room, found_room)


def looks(hours, every):
    return [h for h in range(hours - every, 0, -every)][::-1]


def follow(alive, found, w, hours, every):
    at = 0
    q = sees(GLANCE, w)
    for h in looks(hours, every) + [hours]:
        alive = expm(chain(T_THERE) * (h - at) / 24.0) @ alive
        at = h
        if h < hours:
            found += q @ alive
            alive = (1 - q) * alive
    return alive, found


def hazard(w, hours, every):
    """A hazard of one founder a day: alive and found at the end."""
    big = np.zeros((N + 1, N + 1))
    big[:N, :N] = chain(T_THERE)
    big[:N, N] = spread
    state, found, at = np.append(np.zeros(N), 1.0), 0.0, 0
    q = sees(GLANCE, w)
    for h in looks(hours, every) + [hours]:
        state = expm(big * (h - at) / 24.0) @ state
        at = h
        if h < hours:
            found += q @ state[:N]
            state[:N] *= 1 - q
    return state[:N], found


def noticed(alive, w, stage):
    q = sees([max(d, SEEN_LEAST) for d in GLANCE], w)
    last = len(STAGES) - 1
    fit = np.array([1.0 if stage < 0 else COLONY[stage] if s == last else float(s == stage) for s in OF])
    return q @ alive, (q * fit) @ alive


def none_purchase(x):
    return 1.0 - PRIOR + PRIOR * (np.exp(FOUNDERS * (1 - x)) - 1) / (np.exp(FOUNDERS) - 1)


def case(hours, every, per_day, stage):
    quiet = left = here = there = 0.0
    for w, weight in enumerate(WEIGHT):
        (one, found_one), (room, found_room) = grower(w)
        q_left = none_purchase(found_one) * np.exp(-found_room)
        clean = none_purchase(found_one + one.sum()) * np.exp(-found_room - room.sum())
        quiet += weight * q_left
        left += weight * (q_left - clean)
        one, found_one = follow(one, found_one, w, hours, every)
        room, found_room = follow(room, found_room, w, hours, every)
        any_one, as_one = noticed(one, w, stage)
        any_room, as_room = noticed(room, w, stage)
        a = [none_purchase(found_one), np.exp(-found_room)]
        b = [none_purchase(found_one + any_one), np.exp(-found_room - any_room)]
        drops = [a[0] - b[0], a[1] - b[1]]
        fit = (drops[0] * as_one / any_one + drops[1] * as_room / any_room) / sum(drops)
        alive, found = hazard(w, hours, every)
        any_there, as_there = noticed(alive, w, stage)
        e0, e1 = np.exp(-per_day * found), np.exp(-per_day * (found + any_there))
        here += weight * e0 * (a[0] * a[1] - b[0] * b[1]) * fit
        there += weight * (e0 - e1) * b[0] * b[1] * (as_there / any_there)
    return left / quiet, here / quiet, there / quiet, here / (here + there)


def main():
    with open(os.path.join(HERE, "complaint.csv"), "w", encoding="utf-8") as out:
        out.write("# a customer's complaint by matrix exponentials; call: tests/reference/complaint.py\n")
        out.write(f"# package: scipy {scipy.__version__}, numpy {np.__version__}\n")
        out.write("hours,look_every_h,hazard_per_day,stage,chance_left,noticed_here,noticed_there,chance_here\n")
        for hours, every in [(72, 168), (504, 168), (500, 48), (1440, 336)]:
            for per_day in [0.0002, 0.0006666666666666667, 0.01]:
                for stage in [-1, 1]:
                    row = case(hours, every, per_day, stage)
                    out.write(f"{hours},{every},{per_day:.17g},{stage}," + ",".join(f"{v:.12g}" for v in row) + "\n")


main()
