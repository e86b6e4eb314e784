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


def graded(low, high, places, base, least, growth=0.25):
    """Breaks from low to high, finer towards each (place, size)."""
    fixed = sorted({low, high} | {p for p, _ in places if low < p < high})
    def size(x):
        return min([base] + [max(least, s) + growth * abs(x - p) for p, s in places])
    breaks = [low]
    for a, b in zip(fixed, fixed[1:]):
        x, steps = a, [a]
        while x < b:
            x += 0.5 * size(x + 0.25 * size(x))
            steps.append(x)
        parts = max(1, (len(steps) - 1) // 2)
        total = np.linspace(0, len(steps) - 1, parts + 1)
        grid = np.interp(total, np.arange(len(steps)), steps)
        breaks += list(a + (grid[1:] - a) * (b - a) / (grid[-1] - a))
    return np.array(breaks)


def solve(line=0.0, voids=(), level=1):
    """K in mm^4. line: share of the wall at the groove, 1 = through. voids: (x, y, radius) in mm."""
    base = 0.6 / level
    tips, angles = [], []
    if 0 < line < 1:
        tips = [(line, 0.004 / level)]
        angles = [(GROOVE, 0.02 / level / 20)]
    for x, y, radius in voids:
        angles.append((np.arctan2(y, x) % (2 * np.pi), radius / 3 / level / np.hypot(x, y)))
    turn = graded(GROOVE, GROOVE + 2 * np.pi, [(a if a >= GROOVE else a + 2 * np.pi, s) for a, s in angles]
                  + [(a + 2 * np.pi if a == GROOVE else a, s) for a, s in angles if a == GROOVE], base / 20, 0)[:-1]
    wide = graded(0.0, 1.0, tips, base / 5.5, 0)
    a, s = np.meshgrid(turn, wide, indexing="ij")
    r = inner(a) + s * (outer(a) - inner(a))
    x, y = (r * np.cos(a)).ravel(), (r * np.sin(a)).ravel()
    s, on_line = s.ravel(), (np.abs(a - GROOVE) < 1e-9).ravel()
    # group of each node: 0 free, 1 outer edge, 2 inner edge (with the line), 3... voids
    group = np.where(s > 1 - 1e-12, 1, np.where(s < 1e-12, 2, 0))
    group[on_line & (s <= line + 1e-12) & (line > 0) & (group == 0)] = 2
    if line >= 1:
        group[group == 2] = 1
    corner = np.pi * 2 * np.arange(len(turn)) / len(turn)
    area_inner = 0.5 * np.sum(inner(turn) * np.roll(inner(turn), -1) * np.sin(np.roll(turn, -1) - turn))
    areas = {2: area_inner}
    for k, (vx, vy, radius) in enumerate(voids):
        count = int(np.ceil(2 * np.pi * 3 * level))  # chords as long as the elements about
        count = max(count, 24 * level)
        step = 2 * np.pi * radius / count
        far = np.hypot(x - vx, y - vy)
        keep = (far > radius + 0.6 * step) | (group > 0)
        x, y, group = x[keep], y[keep], group[keep]
        shell = []
        rad, gap = radius, step
        while gap < base / 2 and rad < radius + 1.0 and k >= 0:
            shell.append(rad)
            rad += gap
            gap *= 1.15
        corner = 2 * np.pi * np.arange(count) / count
        for m, rad in enumerate(shell[:6]):
            keep = (np.hypot(x - vx, y - vy) > rad + 0.6 * step) | (group > 0)
            x, y, group = x[keep], y[keep], group[keep]
        for m, rad in enumerate(shell[:6]):
            turned = corner + (0.5 * (m % 2)) * 2 * np.pi / count
            x = np.concatenate([x, vx + rad * np.cos(turned)])
            y = np.concatenate([y, vy + rad * np.sin(turned)])
            group = np.concatenate([group, np.full(count, 3 + k if m == 0 else 0)])
        areas[3 + k] = 0.5 * radius ** 2 * count * np.sin(2 * np.pi / count)
    tri = Delaunay(np.column_stack([x, y])).simplices
    mx, my = x[tri].mean(1), y[tri].mean(1)
    edge_groups = group[tri]
    inside = np.ones(len(tri), bool)
    for g in [1, 2] + [3 + k for k in range(len(voids))]:
        inside &= ~np.all(edge_groups == g, axis=1) | (g == 1) | (g == 2)
    ang = np.arctan2(my, mx)
    inside &= np.hypot(mx, my) > chord(inner, ang, turn)
    inside &= np.hypot(mx, my) < chord(outer, ang, turn)
    tri = tri[inside]
    x1, y1 = x[tri], y[tri]
    b = np.stack([y1[:, 1] - y1[:, 2], y1[:, 2] - y1[:, 0], y1[:, 0] - y1[:, 1]], 1)
    c = np.stack([x1[:, 2] - x1[:, 1], x1[:, 0] - x1[:, 2], x1[:, 1] - x1[:, 0]], 1)
    area = 0.5 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0])
    area = np.abs(area)
    good = area > 1e-14
    tri, b, c, area = tri[good], b[good], c[good], area[good]
    local = (b[:, :, None] * b[:, None, :] + c[:, :, None] * c[:, None, :]) / (4 * area[:, None, None])
    free = np.cumsum(group == 0) - 1
    heads = {g: int((group == 0).sum()) + k for k, g in enumerate(sorted(set(group) - {0, 1}))}
    dof = np.where(group == 0, free, -1)
    for g, number in heads.items():
        dof[group == g] = number
    n = int((group == 0).sum()) + len(heads)
    rows = np.repeat(dof[tri], 3, axis=1).ravel()
    cols = np.tile(dof[tri], (1, 3)).ravel()
    use = (rows >= 0) & (cols >= 0)
    matrix = coo_matrix((local.ravel()[use], (rows[use], cols[use])), (n, n)).tocsc()
    load = np.zeros(n)
    nodes = dof[tri].ravel()
    np.add.at(load, nodes[nodes >= 0], np.repeat(2 * area / 3, 3)[nodes >= 0])
    for g, number in heads.items():
        load[number] += 2 * areas[g]
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
