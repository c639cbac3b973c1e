"""The same record as bench/clear.c with scipy: matrix exponentials hour by hour, and LSODA.

Prints how long each takes and how far the C answer (read from standard input) is from them.
Written from the model's equations (docs/models/clearance.md), not from the C code.
"""
import math
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp
from scipy.linalg import expm

DAYS = 42
SUBSTAGES = (16, 16, 16)
THRESHOLD_C = (10.0, 9.0, 10.5)
DEGREE_DAYS = (60.0, 80.0, 55.0)
UPPER_C = 30.0
SURVIVAL = np.repeat((0.9, 0.1, 0.6, 0.05), (16, 16, 16, 1))
DETECT = np.repeat((0.005, 0.125, 0.0125, 0.175), (16, 16, 16, 1))


def temperature(hour):
    return 20.0 + 12.0 * math.sin(2.0 * math.pi * ((hour + 0.5) / 24.0 - 0.25)) + hour * 1e-4


def generator(temp_c):
    rates = []
    for k, threshold, need in zip(SUBSTAGES, THRESHOLD_C, DEGREE_DAYS):
        rates += [k * max(0.0, min(temp_c, UPPER_C) - threshold) / need] * k
    q = np.zeros((len(rates) + 1, len(rates) + 1))
    for i, rate in enumerate(rates):
        q[i, i] -= rate
        q[i + 1, i] += rate
    return q


def by_expm(q, alive):
    return expm(q / 24.0) @ alive


def by_lsoda(q, alive):
    return solve_ivp(lambda _, y: q @ y, (0.0, 1.0 / 24.0), alive, method="LSODA", rtol=1e-11,
                     atol=1e-15).y[:, -1]


def run(hour_step):
    alive = np.zeros(sum(SUBSTAGES) + 1)
    alive[0] = 1.0
    found = dead = 0.0
    for day in range(DAYS):
        if day in (0, 7):
            dead += ((1.0 - SURVIVAL) * alive).sum()
            alive = alive * SURVIVAL
        if day in (7, 14, 21, 28, 35):
            found += (DETECT * alive).sum()
            alive = alive * (1.0 - DETECT)
        for hour in range(24):
            alive = hour_step(generator(temperature(24 * day + hour)), alive)
    return alive.sum(), found, dead


def main():
    lines = [line for line in sys.stdin if line.startswith("C ")]
    print("".join(lines), end="")
    words = dict(word.split("=") for word in lines[0].split()[1:])
    ours = [float(words[key]) for key in ("alive", "found", "dead")]
    best_ms = float(words["best_ms"])
    for name, step in (("expm", by_expm), ("LSODA", by_lsoda)):
        start = time.perf_counter()
        masses = run(step)
        took_ms = (time.perf_counter() - start) * 1e3
        off = max(abs(a - b) for a, b in zip(ours, masses))
        print(f"scipy {name} ms={took_ms:.0f} times_as_long={took_ms / best_ms:.0f} "
              f"C_off_by={off:.1e}")
        if off > 1e-8:
            sys.exit("the answers differ by more than 1e-8")


main()
