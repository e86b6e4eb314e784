#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
# Drawings of a whole limb, measured: heights, leans and load lines are read back from the SVG and held against what the
# program says in its results. People and limbs are invented. Usage: test_limb_pictures.py STANDFAST
import json
import math
import os
import subprocess
import sys
import tempfile

import svg_lines

STANDFAST = sys.argv[1]
ROOT = os.environ["TAP_ROOT"]
HAIR = 0.02  # mm of paper: three times what a hundredth of a line's place is rounded to
cases = []


def case(run):
    cases.append(run)
    return run


def standfast(*words):
    return subprocess.run([STANDFAST, *map(str, words)], capture_output=True, text=True)


def drawn(folder, command, file, *words):
    out = os.path.join(folder, "drawn.svg")
    run = standfast(command, file, *words, "--picture", out, "--json")
    assert run.returncode == 0, run.stderr
    return json.loads(run.stdout), *svg_lines.read(out)


def written(folder, document, name="limb.json"):
    path = os.path.join(folder, name)
    with open(path, "w") as file:
        json.dump(document, file)
    return path


def limb(side="left", **more):
    whole = {
        "format": "standfast-limb/1",
        "person": {"label": "invented", "side": side, "body_mass_kg": 80, "stature_mm": 1740, "sound_knee_height_mm": 480},
        "socket": {"distal_end_height_mm": 290, "flexion_deg": 5, "adduction_deg": 4},
        "pylon": {"cut_height_mm": 110, "top_height_mm": 290,
                  "rings": [{"height_mm": 110, "outer_diameter_mm": 50, "inner_diameter_mm": 38}]},
        "adapter": {"depth_mm": 30, "build_height_mm": 12, "rim_mm": 50.5},
        "foot": {"length_mm": 260, "build_height_mm": 75, "heel_height_mm": 10},
        "shoe": {"heel_mm": 20, "sole_mm": 10},
        "alignment": {"toe_out_deg": 6, "foot_forward_mm": 0, "foot_outset_mm": 0, "dorsiflexion_deg": 0, "eversion_deg": 0},
    }
    for key, value in more.items():
        whole[key] = {**whole.get(key, {}), **value} if isinstance(value, dict) else value
    return whole


def near(value, wanted, within=HAIR):
    return abs(value - wanted) <= within


# ---- the limb ----

@case
def known_heights_stand_at_their_place_and_unknown_ones_carry_no_figure(folder):
    files = [os.path.join(ROOT, "data/examples", name + ".json") for name in ("adult", "child", "heavy-adult", "two-sided")]
    files += [written(folder, limb("right", socket={"distal_end_height_mm": 340}, pylon={"cut_height_mm": 150}), "a.json")]
    files += [written(folder, limb("left", pylon={"cut_height_mm": 128, "top_height_mm": 270}), "c.json")]
    less = limb("left")
    del less["adapter"], less["person"]["sound_knee_height_mm"], less["shoe"]
    files += [written(folder, less, "b.json")]
    for file in files:
        result, title, words, lines = drawn(folder, "limb", file)
        k = svg_lines.scale(words)
        rods = [line for line in lines if len(line.spots) == 2 and near(line.start[0], line.end[0], 1e-6) and line.start[1] > line.end[1]]
        floor = max(line.start[1] for line in lines if line.width == 0.45)
        for height in result["heights"]:
            if height["height_mm"] is None:
                assert f"{height['of']}: not known" in words
            else:
                assert f"{height['of']}: {height['height_mm']:.0f} mm" in words, (height, words)
                with open(file) as source:
                    told = json.load(source)
                for name, part, field in (("cut", "pylon", "cut_height_mm"), ("socket's end", "socket", "distal_end_height_mm"),
                                          ("pylon's top", "pylon", "top_height_mm")):
                    if height["of"] == name and field in told.get(part, {}):
                        assert near(height["height_mm"], told[part][field], 1e-6), "lettered as told"
                if height["height_mm"] > 0:
                    assert any(near(floor - rod.end[1], k * height["height_mm"]) and near(rod.start[1], floor) for rod in rods), (file, height)
        dashed = [line for line in lines if line.dash == "short" and len(line.spots) == 2 and line.width == 0.13]
        assert len(dashed) == sum(height["height_mm"] is None for height in result["heights"])


@case
def the_sockets_axis_leans_as_the_goniometer_reads_on_both_sides(folder):
    for side, outward in (("left", 1), ("right", -1)):
        for settings in ({}, {"eversion_deg": 3}, {"dorsiflexion_deg": -4, "toe_out_deg": 12}):
            document = limb(side)
            document["alignment"].update(settings)
            file = written(folder, document)
            pose = json.loads(standfast("align", file, "--json").stdout)["pose_after"]
            _, _, words, lines = drawn(folder, "limb", file)
            # The socket's centre lines: the only ones that are neither level nor plumb; side view first.
            axes = [line for line in lines if line.dash == "centre" and line.start[1] - line.end[1] > 20]
            assert len(axes) == 2, len(axes)
            for line, key, sign in zip(axes, ("socket_flexion_deg", "socket_adduction_deg"), (1, outward)):
                lean = math.degrees(math.atan2(line.end[0] - line.start[0], line.start[1] - line.end[1]))
                assert near(lean, sign * pose[key], 0.1), (side, settings, key, lean, pose[key])
            floor = max(line.start[1] for line in lines if line.width == 0.45)
            assert near((floor - axes[0].start[1]) / svg_lines.scale(words), pose["height_mm"], 0.2)


@case
def side_and_body_mass_alone_give_a_drawing_that_says_what_is_missing(folder):
    for side in ("left", "right"):
        file = written(folder, {"format": "standfast-limb/1", "person": {"side": side, "body_mass_kg": 70}})
        result, title, words, lines = drawn(folder, "limb", file)
        assert len(result["missing"]) == 15 and not any(result["parts_known"].values())
        for missing in result["missing"]:
            assert missing["field"] in words and missing["text"] in words
        outlines = [line for line in lines if line.width == 0.3]
        assert outlines and all(line.dash == "short" for line in outlines), "all of it is only assumed"
        assert result["safety"] in words


@case
def what_becomes_known_is_drawn_full(folder):
    document = {"format": "standfast-limb/1", "person": {"side": "left", "body_mass_kg": 70}}
    full = []
    whole = limb("left")
    for key in ("person", "shoe", "foot", "adapter", "socket", "pylon", "alignment"):
        document[key] = whole[key]
        result, _, _, lines = drawn(folder, "limb", written(folder, document))
        full.append(sum(line.width == 0.3 and line.dash == "none" for line in lines))
    assert full == sorted(full) and full[0] == 0 and len(set(full)) >= 5, full
    assert result["missing"] == [] and all(result["parts_known"].values())


@case
def a_limb_picture_comes_whole_or_not_at_all(folder):
    file = written(folder, limb())
    for out, code in ((os.path.join(folder, "no", "limb.svg"), 5), (os.path.join(folder, "limb.gif"), 2)):
        run = standfast("limb", file, "--picture", out)
        assert run.returncode == code and run.stdout == "", (run.returncode, run.stderr)
        assert not os.path.exists(out)


# ---- alignment ----

STEPS = (
    (),
    ("--foot-outset-mm", "10"),
    ("--foot-forward-mm", "-8", "--toe-out-deg", "7"),
    ("--eversion-deg", "4", "--dorsiflexion-deg", "3", "--toe-out-deg", "-5"),
)


def at_percent(moments, percent):
    """The forces, the pressure point and the moments of a result at one share of stance."""
    i = moments["stance_percent"].index(percent)
    return {key: values[i] for key, values in moments.items()}


def load_lines(lines, after):
    """Side view at 30 and 75 %, then front view: the force's lines of one state."""
    colour, width = (svg_lines.MARK, 0.35) if after else (svg_lines.FAINT, 0.25)
    found = [line for line in lines if line.colour == colour and line.width == width and len(line.spots) == 2 and not line.round
             and line.start[1] - line.end[1] > 15]
    return [line for line in found if line.dash in ("none", "long")]


def socket_bases(lines, after):
    """Side, front and above."""
    radius, colour = (0.95, svg_lines.INK) if after else (0.7, svg_lines.FAINT)
    return [line.centre for line in lines if line.round and line.colour == colour and near(line.radius, radius, 0.003)]


@case
def load_lines_stand_where_force_pressure_point_and_pose_put_them(folder):
    for side, s in (("left", 1), ("right", -1)):
        for steps in STEPS:
            document = limb(side)
            document["person"]["body_mass_kg"] = 61 if steps else 95
            result, title, words, lines = drawn(folder, "align", written(folder, document), *steps)
            k = svg_lines.scale(words)
            assert len(load_lines(lines, False)) == (0 if not steps else 4), "a ghost only where something moved"
            for after, state in ((True, "after"), (False, "before")):
                if not after and not steps:
                    continue
                pose, moments = result["pose_" + state], result["moments_" + state]
                forces, bases = load_lines(lines, after), socket_bases(lines, after)
                assert len(forces) == 4 and len(bases) == 3, (len(forces), len(bases))
                for n, line in enumerate(forces):
                    f, front = at_percent(moments, (30, 75)[n % 2]), n >= 2
                    base, height = bases[front], line.start[1] - line.end[1]
                    assert line.dash == ("none", "long")[n % 2]
                    assert near(line.start[1] - base[1], k * pose["height_mm"]), "height of the socket base"
                    across = s * (f["cop_o_mm"] - pose["socket_o_mm"]) if front else f["cop_f_mm"] - pose["socket_f_mm"]
                    push = s * f["side_n"] if front else f["fore_aft_n"]
                    assert near(line.start[0] - base[0], k * across), (side, steps, state, n)
                    assert near(line.end[0] - line.start[0], height * push / f["vertical_n"]), (side, steps, state, n)


@case
def levers_on_the_paper_times_the_force_are_the_moments(folder):
    """On a socket formed straight the axes of socket and drawing are the same, so the picture holds the moments."""
    for side, s in (("left", 1), ("right", -1)):
        for steps in ((), ("--foot-outset-mm", "-12"), ("--foot-forward-mm", "15")):
            document = limb(side, socket={"flexion_deg": 0, "adduction_deg": 0}, alignment={"toe_out_deg": 0})
            result, _, words, lines = drawn(folder, "align", written(folder, document), *steps)
            k, bases, forces = svg_lines.scale(words), socket_bases(lines, True), load_lines(lines, True)
            for n, line in enumerate(forces):
                f, front = at_percent(result["moments_after"], (30, 75)[n % 2]), n >= 2
                dx, dy = line.end[0] - line.start[0], line.end[1] - line.start[1]
                base = bases[front]
                # Signed lever of the line about the base: + when the force passes to the right of it on the paper.
                lever = ((line.start[0] - base[0]) * -dy + (line.start[1] - base[1]) * dx) / math.hypot(dx, dy) / k / 1000
                force = math.hypot(f["vertical_n"], f["side_n" if front else "fore_aft_n"])
                wanted = f["coronal_nm"] * s if front else f["sagittal_nm"]
                assert near(lever * force, wanted, 0.25), (side, steps, n, lever * force, wanted)


@case
def from_above_the_path_lies_along_the_turned_foot(folder):
    for side, s in (("left", 1), ("right", -1)):
        result, _, words, lines = drawn(folder, "align", written(folder, limb(side)), "--toe-out-deg", "9")
        k, base = svg_lines.scale(words), socket_bases(lines, True)[2]
        m, pose = result["moments_after"], result["pose_after"]
        # The ends of the way, and its places at 30 and 75 %. (Points of a straight way may have been joined.)
        path = [line for line in lines if line.colour == svg_lines.MARK and line.width == 0.35 and len(line.spots) > 4][0]
        dots = [line.centre for line in lines if line.round and line.colour == svg_lines.MARK and near(line.radius, 0.8, 0.003)]
        at = [m["stance_percent"].index(percent) for percent in (0, 30, 75, 100)]
        for spot, i in zip((path.start, dots[0], dots[1], path.end), at):
            assert near(spot[0] - base[0], k * (m["cop_f_mm"][i] - pose["socket_f_mm"])), i
            assert near(base[1] - spot[1], k * s * (m["cop_o_mm"][i] - pose["socket_o_mm"])), i
        lean = math.degrees(math.atan2(path.start[1] - path.end[1], path.end[0] - path.start[0]))
        assert near(lean, s * pose["toe_out_deg"], 0.05), (lean, pose["toe_out_deg"])


@case
def the_curves_are_the_moments_of_the_result(folder):
    for steps in STEPS[1:]:
        result, _, _, lines = drawn(folder, "align", written(folder, limb("right")), *steps)
        points = len(result["moments_after"]["stance_percent"])
        for state, colour, width in (("after", svg_lines.SCRIBE, 0.5), ("before", svg_lines.SOFT, 0.25)):
            curves = [line for line in lines if line.colour == colour and line.width == width and len(line.spots) == points]
            assert len(curves) == 3, len(curves)
            for n, key in enumerate(("sagittal_nm", "coronal_nm", "transverse_nm")):
                spots = curves[n].spots if state == "after" else list(reversed(curves[n].spots))
                values = result["moments_" + state][key]
                both = result["moments_before"][key] + result["moments_after"][key]
                low, high = min(both + [0]), max(both + [0])
                # One scale for both states: two points of the curve fix it, the others are held to it.
                a, b = values.index(max(values)), values.index(min(values))
                per_nm = (spots[b][1] - spots[a][1]) / (values[a] - values[b])
                for spot, value, percent in zip(spots, values, result["moments_after"]["stance_percent"]):
                    assert near(spot[1], spots[a][1] + per_nm * (values[a] - value)), (key, state)
                    assert near(spot[0] - spots[0][0], (spots[-1][0] - spots[0][0]) * percent / 100)
                assert per_nm * (high - low) > 15, "the chart is used"
                scale = getattr(the_curves_are_the_moments_of_the_result, key, None) if state == "before" else None
                assert scale is None or near(scale, per_nm, 1e-2 * per_nm), "before and after on one scale"
                setattr(the_curves_are_the_moments_of_the_result, key, per_nm)


@case
def the_picture_says_what_the_result_says(folder):
    file = written(folder, limb("left", adapter={"motions": [{"setting": "toe_out_deg", "range": [-20, 20]}]}))
    result, title, words, _ = drawn(folder, "align", file, "--foot-outset-mm", "4")
    assert "foot outset 4 mm" in title and "no motion for foot outset" in words
    for percent in (30, 75):
        f = at_percent(result["moments_after"], percent)
        assert f"coronal moment at {percent} % of stance" in words and f"{f['coronal_nm']:+.1f} N.m after" in words
    comparison = result["comparison"]
    assert f"{comparison['model_nm_per_kg']:+.3f} here" in words and comparison["source"] in words and "comparison only" in words
    assert result["safety"] in words
    lean = written(folder, limb("right", alignment={"dorsiflexion_deg": 5}))
    result, _, words, _ = drawn(folder, "align", lean, "--toe-out-deg", "10")
    sole = result["sole_tilt_by_change"]
    for told in (f"outer edge up {sole['coronal_deg']:+.1f}", f"eversion {sole['undone_by']['eversion_deg']:+.1f}"):
        assert told in words, told


@case
def an_alignment_that_cannot_be_computed_leaves_no_picture(folder):
    out = os.path.join(folder, "a.svg")
    file = written(folder, {"format": "standfast-limb/1", "person": {"side": "left", "body_mass_kg": 70}})
    run = standfast("align", file, "--picture", out)
    assert run.returncode == 3 and "socket.distal_end_height_mm" in run.stderr and not os.path.exists(out)
    run = standfast("align", written(folder, limb()), "--dorsiflexion-deg", "80", "--picture", out)
    assert run.returncode == 3 and not os.path.exists(out)


# ---- advice ----

SIGNS = {  # adapter's only motion: the sign that asks for less of it, and the one that asks for more
    "foot_forward_mm": (("walking-uphill", "terminal-stance"), ("drop-off", "terminal-stance")),
    "dorsiflexion_deg": (("drop-off", "terminal-stance"), ("walking-uphill", "terminal-stance")),
    "foot_outset_mm": (("medial-thrust", "mid-stance"), ("lateral-thrust", "mid-stance")),
    "eversion_deg": (("lateral-thrust", "mid-stance"), ("medial-thrust", "mid-stance")),
    "toe_out_deg": (("too-much-toe-out", "mid-stance"), ("too-little-toe-out", "mid-stance")),
}


def trials(side, setting, signs, walks=1):
    return {
        "format": "standfast-trials/1",
        "person": {"side": side, "label": "invented"},
        "adapter": {"motions": [{"setting": setting, "range": [-30, 30]}]},
        "foot_length_mm": 250,
        "socket_base_above_clamp_mm": 180,
        "trials": [{"settings": {setting: 1}, "observations": [{"sign": sign, "phase": phase, "strength": 3}],
                    "support": "bars", "skin": "clear", "pain": 0} for sign, phase in signs[:1] * walks],
    }


def foot_axes(lines):
    """The foot's long axis from above: where it stood and where it goes."""
    found = [line for line in lines if line.dash == "centre" and line.width == 0.13 and line.end[0] - line.start[0] > 30]
    assert len(found) == 2 and found[0].colour == svg_lines.FAINT and found[1].colour == svg_lines.INK, len(found)
    return found


@case
def the_arrow_on_the_limb_points_the_way_of_the_change_on_both_sides(folder):
    for side, s in (("left", 1), ("right", -1)):
        for setting, pair in SIGNS.items():
            for sign, observation in zip((-1, 1), pair):
                file = written(folder, trials(side, setting, [observation]), "t.json")
                result, title, words, lines = drawn(folder, "advise", file)
                step = result["next"][0]
                assert step["setting"] == setting and step["change"] * sign > 0, step
                arrows = [line for line in lines if line.width == 0.9 and line.colour == svg_lines.MARK]
                assert len(arrows) == 1, len(arrows)
                (x, y), (to_x, to_y) = arrows[0].start, arrows[0].end
                above = foot_axes(lines)[0].start[1] < 60 and x > 100
                if setting == "foot_forward_mm":
                    assert (to_x - x) * sign > 4 and near(to_y, y) and x < 70
                elif setting == "foot_outset_mm":
                    assert (to_x - x) * sign * s > 4 and near(to_y, y) and 60 < x < 100
                elif setting == "dorsiflexion_deg":
                    assert (y - to_y) * sign > 4 and x < 70, "the toe rises"
                elif setting == "eversion_deg":
                    assert (y - to_y) * sign > 3 and 60 < x < 100, "the outer border rises"
                    outer = [line.centre for line in lines if line.width == 0.45][1]
                    assert (x - outer[0]) * s > 2, "it is drawn at the outer border"
                else:
                    assert (y - to_y) * sign * s > 2 and above, "the toe swings outward"


@case
def the_drawn_foot_moves_by_what_is_advised(folder):
    for side, s in (("left", 1), ("right", -1)):
        for setting in ("foot_forward_mm", "foot_outset_mm", "toe_out_deg"):
            for observation in SIGNS[setting]:
                result, _, words, lines = drawn(folder, "advise", written(folder, trials(side, setting, [observation]), "t.json"))
                k, change = svg_lines.scale(words), result["next"][0]["change"]
                was, now = foot_axes(lines)
                lean = [math.degrees(math.atan2(line.start[1] - line.end[1], line.end[0] - line.start[0])) for line in (was, now)]
                moved = (now.start[0] - was.start[0], was.start[1] - now.start[1])
                if setting == "toe_out_deg":
                    assert near((lean[1] - lean[0]) * s, change, 0.05), (lean, change)
                else:
                    wanted = (k * change, 0) if setting == "foot_forward_mm" else (0, k * change * s)
                    assert near(moved[0], wanted[0]) and near(moved[1], wanted[1]) and near(lean[0], lean[1], 0.01), (moved, wanted)


@case
def the_bars_are_the_brackets_walk_by_walk(folder):
    with open(os.path.join(ROOT, "data/trials/two-walks.json")) as file:
        document = json.load(file)
    document["trials"] += [dict(document["trials"][1]) for _ in range(6)]
    for count in (1, 2, 4, 8):
        part = {**document, "trials": document["trials"][:count]}
        result, _, _, lines = drawn(folder, "advise", written(folder, part, "t.json"))
        boxes = [line for line in lines if line.width == 0.25 and line.colour == svg_lines.INK and line.closed and len(line.spots) == 4
                 and line.start[1] > 97]
        rows = min(count, 6)
        assert len(boxes) == 5 * rows, (count, len(boxes))
        marks = [line for line in lines if line.closed and len(line.spots) == 3 and line.width == 0.3]
        for n, setting in enumerate(("toe_out_deg", "foot_forward_mm", "foot_outset_mm", "dorsiflexion_deg", "eversion_deg")):
            bracket = result["brackets"][setting]
            ends = [(box.spots[0][0], box.spots[2][0]) for box in boxes[rows * n : rows * n + rows]]
            low, high = ends[-1]
            per_unit = (high - low) / (bracket["high"] - bracket["low"])
            now = [mark.spots[0][0] for mark in marks if mark.colour == svg_lines.INK][n]
            assert near(now, low + per_unit * (bracket["now"] - bracket["low"]), 0.05), setting
            # The rows above are what the walks before had given: the same document, cut short.
            for row in range(rows - 1):
                file = written(folder, {**document, "trials": document["trials"][: count - rows + 1 + row]}, "e.json")
                early = json.loads(standfast("advise", file, "--json").stdout)["brackets"][setting]
                assert near(ends[row][0], low + per_unit * (early["low"] - bracket["low"]), 0.05), (setting, row)
                assert near(ends[row][1], low + per_unit * (early["high"] - bracket["low"]), 0.05), (setting, row)
        if result["next"]:
            step = result["next"][0]
            to = [mark.spots[0][0] for mark in marks if mark.colour == svg_lines.MARK]
            assert len(to) == 1, "one open mark"
            n = ("toe_out_deg", "foot_forward_mm", "foot_outset_mm", "dorsiflexion_deg", "eversion_deg").index(step["setting"])
            now = [mark.spots[0][0] for mark in marks if mark.colour == svg_lines.INK][n]
            assert (to[0] - now) * step["change"] > 0


@case
def a_stop_draws_no_change_and_says_why(folder):
    document = trials("left", "foot_outset_mm", [("lateral-thrust", "mid-stance")])
    document["trials"][0]["skin"] = "broken"
    result, title, words, lines = drawn(folder, "advise", written(folder, document, "t.json"))
    assert title.startswith("Stop") and result["stop_reason"] in words
    assert not [line for line in lines if line.width == 0.9 and line.colour == svg_lines.MARK]
    document = trials("left", "foot_outset_mm", [("lateral-thrust", "mid-stance")], walks=2)
    result, title, words, _ = drawn(folder, "advise", written(folder, document, "t.json"))
    assert title.startswith("Next") and result["next"][0]["why"] in words and result["next"][0]["expects"] in words
    assert "Said before" in words and result["safety"] in words


@case
def drawn_on_its_own_limb_the_advice_has_that_limbs_sizes(folder):
    for side in ("left", "right"):
        own = written(folder, limb(side, foot={"length_mm": 230}, socket={"distal_end_height_mm": 330}), "own.json")
        file = written(folder, trials(side, "foot_outset_mm", [("lateral-thrust", "mid-stance")]), "t.json")
        _, _, words, lines = drawn(folder, "advise", file, "--limb", own)
        axis, k = foot_axes(lines)[1], svg_lines.scale(words)
        assert near(math.hypot(axis.end[0] - axis.start[0], axis.end[1] - axis.start[1]), 1.11 * 230 * k, 0.05)
        outlines = [line for line in lines if line.width == 0.3 and line.colour == svg_lines.INK]
        assert outlines and all(line.dash == "none" for line in outlines), "all of it is told"
    other = written(folder, limb("left"), "own.json")
    run = standfast("advise", file, "--limb", other, "--picture", os.path.join(folder, "x.svg"))
    assert run.returncode == 3 and "right limb" in run.stderr and not os.path.exists(os.path.join(folder, "x.svg"))
    assert standfast("advise", file, "--limb", other).returncode == 2


def main():
    print(f"1..{len(cases)}")
    failed = 0
    for number, run in enumerate(cases, 1):
        name = run.__name__.replace("_", " ")
        with tempfile.TemporaryDirectory() as folder:
            try:
                run(folder)
                print(f"ok {number} - {name}")
            except (AssertionError, KeyError, IndexError, ValueError) as problem:
                failed += 1
                print(f"# {problem!r}\nnot ok {number} - {name}")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
