// SPDX-License-Identifier: GPL-3.0-or-later
// Where to saw: the mark from the knee line down, long first, the budget of errors and what a short limb would cost.
import type { JSX } from "preact";
import { Figure, Table } from "./bones.tsx";
import { Computed } from "./computed.tsx";
import type { Limb } from "./contract.ts";
import { Elevation } from "./elevation.tsx";
import type { Desk } from "./limb_desk.ts";
import { figure, number, unitOf } from "./units.ts";

interface Length {
    knee_level_mm: number;
    cut_height_mm: number;
    cut_below_knee_level_mm: number;
    leave_long_mm: number;
    first_cut_below_knee_level_mm: number;
    tolerance_mm: number;
    chance_short: number;
    chance_short_after_trim: number;
    short_limit_mm: number;
    recut_left_mm: number | null;
    two_sided: boolean;
    spacer: { total_mm: number; pieces_mm: number[]; needs_signature: boolean } | null;
    budget: { item: string; sd_mm: number; share_percent: number; origin: string }[];
}

const fine = (): number => (unitOf("mm") === "in" ? 2 : 0);

export function CutView(props: { desk: Desk; limb: Limb }): JSX.Element {
    return (
        <Computed {...props} name="length" likely={["person.sound_knee_height_mm", "shoe.heel_mm", "foot.build_height_mm", "adapter.build_height_mm", "person.target_difference_mm", "foot.compression_mm"]}>
            {(raw) => {
                const value = raw as unknown as Length;
                return (
                    <>
                        <div class="mark-here">
                            <p>
                                Mark the pylon, along it from the knee line down:
                                <strong>{figure(value.first_cut_below_knee_level_mm, "mm", fine())}</strong>
                                first cut, {figure(value.leave_long_mm, "mm", fine())} long
                            </p>
                            <p>
                                and after standing:
                                <strong>{figure(value.cut_below_knee_level_mm, "mm", fine())}</strong>
                                the cut is then {figure(value.cut_height_mm, "mm", fine())} above the floor
                            </p>
                        </div>
                        <dl class="figures">
                            <Figure words="knee level above the floor" value={figure(value.knee_level_mm, "mm", fine())} />
                            <Figure words="doubt, one standard deviation" value={figure(value.tolerance_mm, "mm")} />
                            <Figure words={`more than ${figure(value.short_limit_mm, "mm", fine())} short`} value={`${(value.chance_short * 100).toFixed(0)} %`} beside={`after the trim ${(value.chance_short_after_trim * 100).toFixed(0)} %`} />
                            <Figure words="cylinder left for a re-cut" value={figure(value.recut_left_mm, "mm", fine())} />
                        </dl>
                        {value.two_sided && <p>Both sides are prosthetic: the height is agreed with the person, no side is the measure of the other.</p>}
                        {value.spacer && (
                            <p>
                                Should it end short, {value.spacer.pieces_mm.map((piece) => figure(piece, "mm")).join(" and ")} of spacer mends it{value.spacer.needs_signature ? ", signed" : ""}.
                            </p>
                        )}
                        <Elevation limb={props.limb} />
                        <Table
                            caption="Where the doubt comes from"
                            heads={["What", "Standard deviation", "Share", "Origin"]}
                            rows={value.budget.map((one) => [one.item, figure(one.sd_mm, "mm"), `${number(one.share_percent, "none", 0)}\u00a0%`, one.origin])}
                        />
                    </>
                );
            }}
        </Computed>
    );
}
