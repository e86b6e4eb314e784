#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""A second way to the torsion constant, for the checks of tests/section/test_torsion.c: run it by hand.

Nothing is shared with the program: Prandtl's stress function instead of the warping function, straight three-node
triangles (Delaunay) instead of curved nine-node elements, shapes straight from their formulas instead of outlines.
The stress function is zero on the outer edge and an unknown constant on every other edge; an unjoined line belongs to
the edge that it starts from. Where the warping function gives a torsion constant that is too large on every mesh, this
one gives one that is too small (but for the chords of the edges, of second order). Meshes are refined three times and
carried to nothing by Richardson's rule with the observed order. Needs numpy and scipy.
"""
import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve
from scipy.spatial import Delaunay

GROOVE = 4.7  # rad


def outer(a):
    return 22.5 * (1 + 0.01 * np.cos(2 * a))


def inner(a):
    away = np.angle(np.exp(1j * (a - GROOVE)))
    return 17 + 0.5 * np.cos(a) - 0.3 * np.sin(a) + 0.9 * np.exp(-0.5 * (away / 0.09) ** 2)


def graded(low, high, places, base, growth=0.25):
    """Breaks from low to high, finer towards each (place, size); every place within is a break."""
    fixed = sorted({low, high} | {p for p, _ in places if low < p < high})

    def size(x):
        return min([base] + [s + growth * abs(x - p) for p, s in places])
    breaks = [low]
    for a, b in zip(fixed, fixed[1:]):
        steps = [a]
        while steps[-1] < b:
            steps.append(steps[-1] + 0.5 * size(steps[-1] + 0.25 * size(steps[-1])))
        parts = max(1, (len(steps) - 1) // 2)
        grid = np.interp(np.linspace(0, len(steps) - 1, parts + 1), np.arange(len(steps)), steps)
        breaks += list(a + (grid[1:] - a) * (b - a) / (grid[-1] - a))
    return np.array(breaks)


class Points:
    """Nodes with the edge each belongs to: 0 none, 1 outer, 2 inner (with the line), 3... voids."""

    def __init__(self, line, voids, level):
        base = 0.6 / level  # mm
        angles = [(np.arctan2(y, x) % (2 * np.pi), radius / 3 / level / np.hypot(x, y)) for x, y, radius in voids]
        angles = [(a if a >= GROOVE else a + 2 * np.pi, size) for a, size in angles]
        if 0 < line < 1:
            angles += [(GROOVE, 0.001 / level), (GROOVE + 2 * np.pi, 0.001 / level)]
        self.turn = graded(GROOVE, GROOVE + 2 * np.pi, angles, base / 20)[:-1]
        share = graded(0.0, 1.0, [(line, 0.004 / level)] if 0 < line < 1 else [], base / 5.5)
        a, s = (v.ravel() for v in np.meshgrid(self.turn, share, indexing="ij"))
        r = inner(a) + s * (outer(a) - inner(a))
        self.x, self.y = r * np.cos(a), r * np.sin(a)
        self.edge = np.where(s > 1 - 1e-12, 1, np.where(s < 1e-12, 2, 0))
        if line > 0:
            self.edge[(np.abs(a - GROOVE) < 1e-9) & (s <= line + 1e-12) & (self.edge == 0)] = 2
        if line >= 1:
            self.edge[self.edge == 2] = 1
        step = np.roll(self.turn, -1) - self.turn
        self.area = {2: 0.5 * np.sum(inner(self.turn) * np.roll(inner(self.turn), -1) * np.sin(step))}
        for k, hole in enumerate(voids):
            self.add_void(hole, 3 + k, level, base)

    def add_void(self, hole, number, level, base):
        """Rings of points round the void in place of the lattice there."""
        vx, vy, radius = hole
        count = 24 * level
        gap, shells = 2 * np.pi * radius / count, [radius]
        first = gap
        while gap < base / 2 and len(shells) < 6:
            shells.append(shells[-1] + gap)
            gap *= 1.15
        keep = (np.hypot(self.x - vx, self.y - vy) > shells[-1] + 0.6 * first) | (self.edge > 0)
        self.x, self.y, self.edge = self.x[keep], self.y[keep], self.edge[keep]
        for m, shell in enumerate(shells):
            a = 2 * np.pi * (np.arange(count) + 0.5 * (m % 2)) / count
            self.x = np.concatenate([self.x, vx + shell * np.cos(a)])
            self.y = np.concatenate([self.y, vy + shell * np.sin(a)])
            self.edge = np.concatenate([self.edge, np.full(count, 0 if m else number)])
        self.area[number] = 0.5 * radius ** 2 * count * np.sin(2 * np.pi / count)

    def triangles(self):
        tri = Delaunay(np.column_stack([self.x, self.y])).simplices
        x, y, edges = self.x[tri].mean(1), self.y[tri].mean(1), self.edge[tri]
        within = (edges[:, 0] < 3) | np.any(edges != edges[:, :1], axis=1)
        angle, radius = np.arctan2(y, x), np.hypot(x, y)
        within &= (radius > chord(inner, angle, self.turn)) & (radius < chord(outer, angle, self.turn))
        return tri[within]


def solve(line=0.0, voids=(), level=1):
    """K in mm^4 and the number of unknowns. line: share of the wall at the groove, 1 = through. voids: (x, y, radius)."""
    points = Points(line, voids, level)
    tri = points.triangles()
    x, y = points.x[tri], points.y[tri]
    b = np.stack([y[:, 1] - y[:, 2], y[:, 2] - y[:, 0], y[:, 0] - y[:, 1]], 1)
    c = np.stack([x[:, 2] - x[:, 1], x[:, 0] - x[:, 2], x[:, 1] - x[:, 0]], 1)
    area = np.abs(0.5 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0]))
    good = area > 1e-14
    tri, b, c, area = tri[good], b[good], c[good], area[good]
    local = (b[:, :, None] * b[:, None, :] + c[:, :, None] * c[:, None, :]) / (4 * area[:, None, None])
    free = int((points.edge == 0).sum())
    number = np.where(points.edge == 0, np.cumsum(points.edge == 0) - 1, -1)
    heads = sorted(set(points.edge) - {0, 1})
    for k, edge in enumerate(heads):
        number[points.edge == edge] = free + k
    n = free + len(heads)
    rows, cols = np.repeat(number[tri], 3, axis=1).ravel(), np.tile(number[tri], (1, 3)).ravel()
    use = (rows >= 0) & (cols >= 0)
    matrix = coo_matrix((local.ravel()[use], (rows[use], cols[use])), (n, n)).tocsc()
    load = np.zeros(n)
    nodes = number[tri].ravel()
    np.add.at(load, nodes[nodes >= 0], np.repeat(2 * area / 3, 3)[nodes >= 0])
    for k, edge in enumerate(heads):
        load[free + k] += 2 * points.area[edge]
    return float(load @ spsolve(matrix, load)), n


def chord(edge, angle, turn):
    """Radius of the polygon with corners at `turn` on the edge."""
    order = np.sort(turn % (2 * np.pi))
    k = np.searchsorted(order, angle % (2 * np.pi)) % len(order)
    a0, a1 = order[k - 1], order[k]
    p, q = edge(a0), edge(a1)
    x0, y0, x1, y1 = p * np.cos(a0), p * np.sin(a0), q * np.cos(a1), q * np.sin(a1)
    return (x0 * y1 - x1 * y0) / (np.cos(angle) * (y1 - y0) - np.sin(angle) * (x1 - x0))


def main():
    one = [(20 * np.cos(1.0), 20 * np.sin(1.0), 0.6)]
    three = one + [(18.3 * np.cos(2.5), 18.3 * np.sin(2.5), 0.4), (20.5 * np.cos(5.6), 20.5 * np.sin(5.6), 0.9)]
    cases = [("plain", dict()), ("line over 0.3 of the wall", dict(line=0.3)), ("line over 0.6", dict(line=0.6)),
             ("line over 0.9", dict(line=0.9)), ("line through", dict(line=1.0)), ("one void", dict(voids=one)),
             ("three voids", dict(voids=three)), ("three voids, line over 0.6", dict(voids=three, line=0.6))]
    for name, case in cases:
        k = [solve(level=level, **case) for level in (1, 2, 4)]
        v = [one_k for one_k, _ in k]
        rate = (v[1] - v[0]) / (v[2] - v[1])
        best = v[2] + (v[2] - v[1]) / (max(rate, 1.5) - 1)
        print("%-28s %s  order %.2f  ->  %.1f mm^4 (+-%.1f)" % (
            name, "  ".join("%.1f (%d)" % pair for pair in k), np.log2(abs(rate)), best, abs(best - v[2])))


if __name__ == "__main__":
    main()
