// SPDX-License-Identifier: GPL-3.0-or-later
// Rings beside one another at one scale, so that an eye can compare them: the shop's last ones, and those of one limb.
import type { JSX } from "preact";
import { get } from "./api.ts";
import { DecisionMark, Drawing, Table, useDrawing, useLoad, Wrong } from "./bones.tsx";
import type { Limb } from "./contract.ts";
import { to } from "./route.ts";
import { day, figure, unitOf } from "./units.ts";

interface BoardRing {
    limb: number;
    label: string | null;
    ring_number: string;
    measured_at: string;
    decision: string | null;
    wall_median_mm: number | null;
    wall_min_off_seam_mm: number | null;
    groove_depth_mm: number | null;
    seam_unjoined_depth_mm: number | null;
    drawn: boolean;
}

const digits = (): number => (unitOf("mm") === "in" ? 3 : 2);

function RingTable(props: { caption: string; rings: BoardRing[] }): JSX.Element {
    return (
        <Table
            caption={props.caption}
            heads={["Limb", "Ring", "Measured", "Decision", "Median wall", "Least off the seam", "Groove", "Not joined"]}
            rows={props.rings.map((one) => [
                <a href={to("limb", one.limb, "ring")}>{one.label ?? one.limb}</a>,
                one.ring_number,
                day(one.measured_at),
                <DecisionMark decision={one.decision} />,
                figure(one.wall_median_mm, "mm", digits()),
                figure(one.wall_min_off_seam_mm, "mm", digits()),
                figure(one.groove_depth_mm, "mm", digits()),
                figure(one.seam_unjoined_depth_mm, "mm", digits()),
            ])}
        />
    );
}

/** The rings that the shop measured last. */
export function RingBoard(): JSX.Element {
    const rings = useLoad((signal) => get<{ rings: BoardRing[] }>("rings", signal), "");
    const board = useDrawing("rings/board.svg", undefined);
    const list = rings.value?.rings ?? [];
    return (
        <main id="main" class="plain">
            <h1>Ring board</h1>
            <p class="note">The rings measured last, at one scale, seams at the bottom. Each as it was measured last.</p>
            <Wrong problem={rings.problem} />
            {rings.value && list.length === 0 && <p class="note">No ring is measured yet.</p>}
            {list.length > 0 && (
                <>
                    <Drawing svg={board.svg} problem={board.problem} wide alt={`${list.filter((one) => one.drawn).length} rings beside one another at one scale, each with its decision`} twin={<RingTable caption="The rings of the picture, in its order" rings={list.filter((one) => one.drawn)} />} />
                    <RingTable caption="Rings measured last" rings={list} />
                </>
            )}
        </main>
    );
}

/** Earlier rings of the limb beside the present one. */
export function RingsOfLimb(props: { limb: Limb; count: number }): JSX.Element | null {
    const board = useDrawing(props.count > 1 ? `limbs/${encodeURIComponent(props.limb.id)}/ring-board.svg` : null, undefined);
    if (props.count < 2) return null;
    const rings = props.limb.rings.filter((one) => !one.withdrawn);
    return (
        <section aria-label="Rings of this limb beside one another">
            <h2>Rings of this limb</h2>
            <Drawing
                svg={board.svg}
                problem={board.problem}
                alt="The limb's rings beside one another at one scale, each with its decision, last measured first"
                twin={<Table caption="Rings of this limb" heads={["Ring", "Height", "Decision"]} rows={rings.map((one) => [one.ring_number ?? String(one.n + 1), figure(one.height_mm, "mm"), <DecisionMark decision={one.decision} />])} />}
            />
        </section>
    );
}
