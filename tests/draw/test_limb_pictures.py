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
