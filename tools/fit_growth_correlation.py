#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Fits how the z-score of a child's stature hangs together over the ages, and writes it as JSON.

Usage: fit_growth_correlation.py COHORT.csv LMS.csv OUT.json [--leave-out K] [--score]

COHORT.csv: id,sex,age_years,height_cm (sex 1 male, 2 female). LMS.csv: Sex,Agemos,L,M,S,...
--leave-out K   fits without every fifth child (those at place K, K + 5, ... of each sex): for a held-out test
--score         prints five-fold cross-validated scores for several spreads of tempo and freedoms of the tail

The method is in docs/theory/growth.md. In short: a child's clock runs faster or slower than that of others by a
factor exp(b); on that clock the z-scores of the reference have a mean and a covariance, which mix the cohort's own
with a smooth family fitted to it by maximum likelihood.
"""
import argparse
import collections
import json

import numpy as np
from scipy.optimize import minimize
from scipy.special import logsumexp
from scipy.stats import chi2, norm

AGES = np.concatenate([np.arange(2, 8), np.arange(8, 18.01, 0.5)])  # years on the child's own clock
KNOTS = np.array([2, 5, 8, 10, 11, 12, 13, 14, 15, 16, 18.0])       # where the amplitudes of the family may bend
TEMPO_SD = 0.06
TAIL_FREEDOM = 5
WIDTH_FACTOR = 1.1
READING_FACTORS = [0.2, 0.5, 1.0, 2.0]
READING_WEIGHTS = [0.75, 0.12, 0.08, 0.05]
FAMILY_WEIGHT = 30.0  # children that the smooth family counts for beside the cohort's own covariance
FIT_READING_CM = 0.1  # error taken for the cohort's readings while their clocks are set
FAST_YEARS = 3.0      # memory of the rough part
TEMPO_STEPS = 9


def read_lms(path):
    rows = collections.defaultdict(list)
    for line in open(path):
        if line[0].isdigit():
            cell = line.split(",")
            rows[int(cell[0])].append([float(x) for x in cell[1:5]])
    return {sex: np.array(r) for sex, r in rows.items()}


def read_cohort(path):
    kids = collections.OrderedDict()
    for line in open(path):
        if line[0].isdigit():
            child, sex, age, height = line.split(",")
            if float(age) >= 2:
                kids.setdefault((int(sex), int(child)), []).append((float(age), float(height)))
    return collections.OrderedDict((k, np.array(v)) for k, v in kids.items())


class Reference:
    def __init__(self, table):
        self.table = table

    def lms(self, age):
        months = np.clip(np.asarray(age, float) * 12, self.table[0, 0], self.table[-1, 0])
        return [np.interp(months, self.table[:, 0], self.table[:, i]) for i in (1, 2, 3)]

    def z(self, age, cm):
        l, m, s = self.lms(age)
        return ((cm / m) ** l - 1) / (l * s)

    def cm(self, age, z):
        l, m, s = self.lms(age)
        return m * np.maximum(1 + l * s * z, 1e-9) ** (1 / l)

    def z_per_cm(self, age, z):
        l, m, s = self.lms(age)
        return (self.cm(age, z) / m) ** (l - 1) / (m * s)


def weights(age):
    return np.array([np.interp(age, AGES, e) for e in np.eye(len(AGES))]).T


# ---- the smooth family: a steady part, a smooth part and a rough part, both with amplitudes that change with age ------

K = len(KNOTS)


def family(p):
    d = np.abs(np.subtract.outer(AGES, AGES))
    amplitude = lambda q: np.exp(np.interp(AGES, KNOTS, q))
    a, b = amplitude(p[1 : 1 + K]), amplitude(p[1 + K : 1 + 2 * K])
    r = np.sqrt(5) * d / np.exp(p[1 + 2 * K])
    return np.exp(2 * p[0]) + np.outer(a, a) * (1 + r + r * r / 3) * np.exp(-r) + np.outer(b, b) * np.exp(-d / FAST_YEARS)


def fit_family(reference, z):
    mean = z.mean(0)
    s = (z - mean).T @ (z - mean) / len(z)
    reading = reference.z_per_cm(AGES, mean)
    step = np.diff(KNOTS)

    def loss(p):
        k = family(p) + np.diag((reading * np.exp(p[-1])) ** 2)
        try:
            c = np.linalg.cholesky(k)
        except np.linalg.LinAlgError:
            return 1e9
        ci = np.linalg.inv(c)
        rough = np.sum(np.diff(p[1 : 1 + K]) ** 2 / step) + np.sum(np.diff(p[1 + K : 1 + 2 * K]) ** 2 / step)
        return len(z) * (np.log(np.diag(c)).sum() + 0.5 * np.sum(ci * (ci @ s))) + rough + 2 * (p[-1] - np.log(0.1)) ** 2

    start = np.concatenate([[np.log(0.8)], np.full(K, np.log(0.4)), np.full(K, np.log(0.1)), [np.log(2.5), np.log(0.1)]])
    fit = minimize(loss, start, method="L-BFGS-B", options=dict(maxiter=300))
    return mean, family(fit.x), s


def log_likelihood(reference, b, ages, cm, mean, k):
    tau = ages * np.exp(b)
    z = reference.z(tau, cm)
    slope = reference.z_per_cm(tau, z)
    w = weights(tau)
    c = np.linalg.cholesky(w @ k @ w.T + np.diag((slope * FIT_READING_CM) ** 2))
    a = np.linalg.solve(c, z - w @ mean)
    return -np.log(np.diag(c)).sum() - 0.5 * a @ a + np.log(slope).sum()


def fit_sex(reference, children, tempo_sd, rounds=6):
    clock = np.zeros(len(children))
    trial = np.linspace(-2.5, 2.5, 41) * tempo_sd
    for turn in range(rounds):
        z = np.array([reference.z(AGES, np.interp(AGES * np.exp(-b), v[:, 0], v[:, 1])) for b, v in zip(clock, children)])
        mean, smooth, own = fit_family(reference, z)
        if turn == rounds - 1:
            break
        for i, v in enumerate(children):
            score = [log_likelihood(reference, b, v[:, 0], v[:, 1], mean, smooth) - 0.5 * (b / tempo_sd) ** 2 for b in trial]
            clock[i] = trial[int(np.argmax(score))]
        clock -= clock.mean()
    n = len(children)
    return mean, (n * own + FAMILY_WEIGHT * smooth) / (n + FAMILY_WEIGHT), clock


# ---- forecast, for the scores ------------------------------------------------------------------------------------------


def tail_scales(freedom, steps=5):
    return np.sqrt(freedom / chi2.ppf(1 - (np.arange(steps) + 0.5) / steps, freedom))


def forecast(reference, mean, k, ages, cm, at, reading_cm, tempo_sd, freedom):
    k = k * WIDTH_FACTOR**2
    out = []
    scales = tail_scales(freedom)
    for b in np.linspace(-2.5, 2.5, TEMPO_STEPS) * tempo_sd:
        tau, to = ages * np.exp(b), np.array([at * np.exp(b)])
        z = reference.z(tau, cm)
        slope = reference.z_per_cm(tau, z)
        w, wt = weights(tau), weights(to)
        for factor, prior in zip(READING_FACTORS, READING_WEIGHTS):
            c = np.linalg.cholesky(w @ k @ w.T + np.diag((slope * reading_cm * factor) ** 2))
            a, q = np.linalg.solve(c, z - w @ mean), np.linalg.solve(c, (wt @ k @ w.T)[0])
            zt = (wt @ mean)[0] + q @ a
            st = reference.z_per_cm(to, np.array([zt]))[0]
            sd = np.sqrt(((wt @ k @ wt.T)[0, 0] - q @ q) / st**2 + (reading_cm * factor) ** 2)
            base = -np.log(np.diag(c)).sum() + np.log(slope).sum() - 0.5 * (b / tempo_sd) ** 2 + np.log(prior)
            for scale in scales:
                weight = base - len(z) * np.log(scale) - 0.5 * a @ a / scale**2
                out.append((weight, reference.cm(to, np.array([zt]))[0], sd * scale))
    o = np.array(out)
    return np.exp(o[:, 0] - logsumexp(o[:, 0])), o[:, 1], o[:, 2]


def value(v, age):
    j = np.where(np.abs(v[:, 0] - age) < 1e-6)[0]
    return v[j[0], 1] if len(j) else None


def score(references, kids, tempo_sd, freedoms, reading_cm=0.3):
    """Three yearly readings, the last at 5 to 15; a reading half a year and a year later; five folds of children."""
    print(f"tempo_sd {tempo_sd}")
    sums = collections.defaultdict(list)
    for sex in (1, 2):
        children = [v for (s, _), v in kids.items() if s == sex]
        for fold in range(5):
            mean, k, _ = fit_sex(references[sex], [v for i, v in enumerate(children) if i % 5 != fold], tempo_sd)
            for v in children[fold::5]:
                for last in np.arange(5, 15.01, 0.5):
                    ages = np.array([last - 2, last - 1, last])
                    cm = [value(v, a) for a in ages]
                    for horizon in (0.5, 1.0):
                        truth = value(v, last + horizon)
                        if truth is None or None in cm:
                            continue
                        for freedom in freedoms:
                            w, h, sd = forecast(references[sex], mean, k, ages, np.array(cm), last + horizon, reading_cm, tempo_sd, freedom)
                            p = w @ norm.cdf((truth - h) / sd)
                            sums[freedom, horizon].append((w @ h - truth, abs(p - 0.5) < 0.45, np.log(w @ (norm.pdf((truth - h) / sd) / sd))))
    for (freedom, horizon), rows in sorted(sums.items()):
        r = np.array(rows)
        print(f"  freedom {freedom:4} horizon {horizon} y: n {len(r)}, rmse {np.sqrt(np.mean(r[:, 0] ** 2)):.3f} cm, "
              f"90 % interval holds {100 * r[:, 1].mean():.1f} %, log score {r[:, 2].mean():.4f}", flush=True)


def rounded(x, digits=6):
    return [round(float(v), digits) for v in x]


def main():
    ask = argparse.ArgumentParser()
    ask.add_argument("cohort"), ask.add_argument("lms"), ask.add_argument("out")
    ask.add_argument("--leave-out", type=int), ask.add_argument("--score", action="store_true")
    args = ask.parse_args()
    table, kids = read_lms(args.lms), read_cohort(args.cohort)
    references = {sex: Reference(table[sex]) for sex in (1, 2)}
    if args.score:
        for tempo_sd in (0.04, 0.05, 0.06, 0.07):
            score(references, kids, tempo_sd, (5, 8, 1000))
    result = {
        "origin": "Fitted by tools/fit_growth_correlation.py on heights of children born 1928-29 in Berkeley (Tuddenham and Snyder "
        "1954; half of the cohort, from the object berkeley of the R package sitar 1.5.0, GPL version 2 or later), as "
        "z-scores of the CDC 2000 stature-for-age reference.",
        "children_left_out": "none" if args.leave_out is None else f"place {args.leave_out} of every five of each sex",
        "ages_years": rounded(AGES),
        "tempo_sd": TEMPO_SD,
        "tempo_steps": TEMPO_STEPS,
        "tail_freedom": TAIL_FREEDOM,
        "tail_scales": rounded(tail_scales(TAIL_FREEDOM)),
        "width_factor": WIDTH_FACTOR,
        "reading_factors": READING_FACTORS,
        "reading_weights": READING_WEIGHTS,
        "judgement": "tempo_sd, width_factor and the reading factors were chosen by cross-validation within the cohort; "
        "tail_freedom is a judgement (docs/theory/growth.md).",
    }
    for sex, name in ((1, "male"), (2, "female")):
        children = [v for (s, _), v in kids.items() if s == sex]
        if args.leave_out is not None:
            children = [v for i, v in enumerate(children) if i % 5 != args.leave_out]
        mean, k, clock = fit_sex(references[sex], children, TEMPO_SD)
        sd = np.sqrt(np.diag(k))
        result[name] = {
            "children": len(children),
            "tempo_sd_seen": round(float(clock.std()), 4),
            "mean_z": rounded(mean),
            "sd_z": rounded(sd),
            "correlation": [rounded(row) for row in k / np.outer(sd, sd)],
        }
    text = json.dumps(result, indent=1)
    # one row of numbers a line
    import re
    text = re.sub(r"\[\s+([-0-9.e,\s]+?)\s+\]", lambda m: "[" + " ".join(m.group(1).split()) + "]", text)
    with open(args.out, "w", encoding="utf-8") as out:
        out.write(text + "\n")


if __name__ == "__main__":
    main()
