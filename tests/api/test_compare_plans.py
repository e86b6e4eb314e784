#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Choices side by side before anything is formed: plans through the server are the command's, a foot and an adapter of the
list stand under each, and what is wrong is named."""
import copy
import json
import pathlib
import sys
import tempfile

sys.dont_write_bytecode = True
from api_client import ROOT, Cases, Server, command, is_error

cases = Cases()
case = cases.case
PLANS = [json.loads((ROOT / "data/plans" / name).read_text()) for name in ("thin-sheet.json", "thick-sheet.json")]
STARTER = json.loads((ROOT / "data/parts.json").read_text())
KEYS = ("outer_mm", "wall_mm", "free_length_mm", "pylon_mass_g", "proof_factor", "elastic_factor", "collapse_factor")


def close(one, other):
    return all(abs(one[key] - other[key]) <= 1e-9 * abs(other[key]) for key in KEYS)


def ask(client, plans, **more):
    return client.post("/api/compute/compare", dict({"documents": plans, "options": {"samples": 400, "seed": 7}}, **more))


with tempfile.TemporaryDirectory() as folder, Server() as running:
    client = running.staff(running.first_admin())["technician"]
    files = [pathlib.Path(folder, "%d.json" % i) for i in range(2)]
    for file, plan in zip(files, PLANS):
        file.write_text(json.dumps(plan))
    wanted = command("strength", str(files[0]), "--compare", str(files[1]), "--samples", "400", "--seed", "7")
    got = ask(client, PLANS)
    case("plans through the server are the command's", got.status == 200 and len(got["choices"]) == 2 and
         all(close(a, b) and a["elastic_band"] == b["elastic_band"] for a, b in zip(got["choices"], wanted["choices"])),
         (got, wanted["choices"]))
    case("and it is said that nothing is formed yet", sum("nothing is formed" in line for line in got["assumptions"]) == 2, got)

    foot, adapter = STARTER["feet"][2], STARTER["adapters"][0]  # the low foot
    fitted = ask(client, PLANS, fit=[None, {"foot": foot["name"], "adapter": adapter["name"]}])
    by_hand = copy.deepcopy(PLANS[1])
    limb = by_hand["limb"]
    limb["foot"], limb["adapter"] = foot["foot"], adapter["adapter"]
    # As the pylon is cut for this foot and adapter: heel, foot less its recess and what it gives, spacers, adapter.
    limb["pylon"]["cut_height_mm"] = (limb["shoe"]["heel_mm"] + foot["foot"]["build_height_mm"] - foot["foot"].get("compression_mm", 0) -
                                      foot["foot"].get("recess_mm", 0) + adapter["adapter"]["build_height_mm"] +
                                      sum(spacer["thickness_mm"] for spacer in limb.get("spacers", [])))
    same = ask(client, [PLANS[0], by_hand])
    case("a foot and an adapter of the list stand under a choice as if they were typed in", fitted.status == 200 and
         close(fitted["choices"][1], same["choices"][1]) and close(fitted["choices"][0], got["choices"][0]) and
         abs(fitted["choices"][1]["free_length_mm"] - got["choices"][1]["free_length_mm"]) > 1, (fitted, same))
    own = copy.deepcopy(STARTER)
    own["feet"][2]["name"] = "our own low foot"
    mine = ask(client, PLANS, fit=[None, {"foot": "our own low foot", "adapter": adapter["name"]}], parts=own)
    case("so do those of the shop's own list", mine.status == 200 and close(mine["choices"][1], fitted["choices"][1]), mine)
    missing = ask(client, PLANS, fit=[{"foot": "none such"}])
    case("a part that is not in the list is named", is_error(missing, 422) and "none such" in missing["error"]["what"], missing)

    alone = {key: value for key, value in PLANS[0].items() if key != "limb"}
    case("a plan for nobody is refused", is_error(ask(client, [alone, PLANS[1]]), 422) and "limb" in ask(client, [alone, PLANS[1]])["error"]["what"])
    file_card = dict(PLANS[0], material="../secret.json")
    case("a card that is a file is refused", is_error(ask(client, [file_card, PLANS[1]]), 422), ask(client, [file_card, PLANS[1]]))
    wrong = dict(PLANS[0], sheet_mm=90)
    case("a plan that is none is named", is_error(ask(client, [PLANS[1], wrong]), 422) and
         "sheet_mm" in ask(client, [PLANS[1], wrong])["error"]["what"], ask(client, [PLANS[1], wrong]))
    formed = ask(client, [PLANS[0], dict(PLANS[1]["limb"], pylon=dict(PLANS[1]["limb"]["pylon"], rings=[
        {"height_mm": 112, "outer_diameter_mm": 50, "inner_diameter_mm": 38}]))])
    case("a plan and a formed limb stand beside each other", formed.status == 200 and len(formed["choices"]) == 2, formed)
cases.end()
