#!/usr/bin/env python3
"""Sources of one kind pooled, computed a second time by another method: learn_kinds.csv.

The model is section 4.1 and 4.2 of the clearance reference: source s has risk t_s ~ Beta(mu k,
(1 - mu) k); mu ~ Beta(a, b), k ~ Gamma(2, rate 0.1); a purchase says (c h t + (1 - c)(1 - h t (1 - l)))
to the power 0.5^(age / 365), h its form's share (h t at most 1). Gauss-Jacobi and Gauss-Laguerre quadrature, where
the program sums on a grid of logits.

    python3 tests/reference/learn_kinds.py        writes learn_kinds.csv beside itself

Needs numpy and scipy. The test that compares is tests/unit/core/learn/test_kind.c.
"""
import os

import numpy
import scipy
from scipy.special import roots_genlaguerre, roots_jacobi

HERE = os.path.dirname(os.path.abspath(__file__))
HALF_LIFE_D = 365.0

F = lambda age=0.0, share=1.0: (1.0, 0.0, age, share)  # found
Q = lambda missed, age=0.0, share=1.0: (0.0, missed, age, share)  # quiet

# name, (a, b) of mu, sources; each a list of purchases (cause, missed, age, share)
CASES = [
    ("one_source", (3.0, 7.0), [[F(), Q(0.3), Q(0.5, 200.0), Q(0.9)]]),
    ("two_sources", (2.1, 7.9), [[F(), F(100.0), Q(0.2)], [Q(0.4), Q(0.4, 700.0)]]),
    ("rare", (0.56, 9.44), [[Q(0.3), Q(0.1)], [Q(0.2)], [F(), Q(0.6)]]),
    ("forms", (1.2, 8.8), [[Q(0.1, 0.0, 0.4), F(30.0, 0.4)], [Q(0.1), Q(0.2, 0.0, 0.7)]]),
    ("moss", (4.0, 6.0), [[Q(0.3, 0.0, 1.5), Q(0.3), F()]]),
    ("perhaps_from_elsewhere", (0.9, 9.1), [[(0.35, 0.4, 0.0, 1.0), Q(0.5)],
                                            [(0.8, 0.1, 60.0, 0.5), Q(0.05), Q(0.05)]]),
    ("many", (3.0, 7.0), [[F()] * 6 + [Q(0.2)] * 5, [Q(0.1)] * 8, [F(), Q(0.3), Q(0.3)], []]),
]


def likelihood(t, purchases):
    out = numpy.ones_like(t)
    for cause, missed, age, share in purchases:
        own = numpy.minimum(1.0, share * t)
        one = cause * own + (1 - cause) * (1 - own * (1 - missed))
        out = out * one ** (0.5 ** (age / HALF_LIFE_D))
    return out


def by_nodes(mus, ks, purchases):
    """E(L) and E(t L) over Beta(mu k, (1 - mu) k), for each node."""
    fit, first = numpy.empty((len(mus), len(ks))), numpy.empty((len(mus), len(ks)))
    for i, mu in enumerate(mus):
        for j, k in enumerate(ks):
            x, w = roots_jacobi(40, (1 - mu) * k - 1, mu * k - 1)
            t, w = (x + 1) / 2, w / w.sum()
            heard = likelihood(t, purchases)
            fit[i, j], first[i, j] = (w * heard).sum(), (w * heard * t).sum()
    return fit, first


def main():
    ks, k_w = roots_genlaguerre(90, 1.0)
    ks, k_w = ks[ks < 60.0] / 0.1, k_w[ks < 60.0]  # the rest weighs less than 1e-24
    rows = []
    for name, (a, b), sources in CASES:
        x, mu_w = roots_jacobi(20, b - 1, a - 1)
        mus = (x + 1) / 2
        prior = numpy.outer(mu_w / mu_w.sum(), k_w / k_w.sum())
        fits = [by_nodes(mus, ks, s) for s in sources]

        def risk_of(index, own):
            others = prior.copy()
            for k, (fit, _) in enumerate(fits):
                others = others * (fit if k != index else 1.0)
            fit, first = own
            return (others * first).sum() / (others * fit).sum()

        for s, purchases in enumerate(sources):
            rows.append((name, s, "all", risk_of(s, fits[s])))
            for left_out in range(len(purchases)):
                rest = purchases[:left_out] + purchases[left_out + 1:]
                rows.append((name, s, left_out, risk_of(s, by_nodes(mus, ks, rest))))
        every = prior
        for fit, _ in fits:
            every = every * fit
        rows.append((name, len(sources), "all", (every * mus[:, None]).sum() / every.sum()))
    with open(os.path.join(HERE, "learn_kinds.csv"), "w", encoding="utf-8") as out:
        out.write("# mean risk of a source by its own purchases and the kind's; source = the number of sources:\n"
                  "# one without a record; left_out: that purchase is not counted. Cases: learn_kinds.py\n"
                  f"# package: scipy {scipy.__version__}, numpy {numpy.__version__}\n"
                  "case,source,left_out,mean\n")
        for row in rows:
            out.write("%s,%d,%s,%.9g\n" % row)


main()
