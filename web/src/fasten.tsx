// SPDX-License-Identifier: GPL-3.0-or-later
// Fasten and drill: the screw map with its distances, the torque card, the ways out if it must move, the vent.
import type { JSX } from "preact";
import { Drawing, Figure, Table, useDrawing } from "./bones.tsx";
import { Computed } from "./computed.tsx";
import type { Limb } from "./contract.ts";
import type { Desk } from "./limb_desk.ts";
import { plain } from "./rules.ts";
import { Papers } from "./papers.tsx";
import { figure, torqueThrice, units, worded } from "./units.ts";

interface Distance {
    value: number | null;
    limit: number | null;
    holds: boolean | null;
    text: string;
}
interface Hole {
    index: number;
    state: string;
    angle_deg: number;
    height_mm: number;
    diameter_mm: number;
    edge: Distance;
    seam: Distance;
    spacing: Distance;
    grip: Distance;
}
interface Fasten {
    fixing: string | null;
    torque: { nm: number } | null;
    torque_limit: string | null;
    doubt: { preload_middle_n: number | null; thread_strength_n: number | null };
    holes: Hole[];
    proposal: { screws: number; angles_deg: number[]; height_mm: number; diameter_mm: number } | null;
    rescues: { rescue: string; possible: boolean; margin: number | null; unit: string | null; text: string }[];
}
interface Vent {
    allowed: boolean;
    reason: string | null;
    diameter_mm: number | null;
    place: { angle_deg: number | null; height_mm: number | null; seam_distance_mm: number | null } | null;
    how: string[];
    second_moment_lost_percent: number | null;
}

function Gap(props: { one: Distance }): JSX.Element {
    const { one } = props;
    if (one.value === null) return <>—</>;
    return (
        <span class={one.holds === false ? "below" : ""} title={one.text}>
            {figure(one.value, "mm")}
            {one.limit !== null && <small> of {figure(one.limit, "mm")}</small>}
        </span>
    );
}

const directions = ["outward", "outward front", "forward", "inward front", "inward", "inward back", "posterior", "outward back"];
const place = (angle: number | null): string => (angle === null ? "limb angle not known" : `${angle.toFixed(0)}° (${directions[Math.round((((angle % 360) + 360) % 360) / 45) % 8]})`);

function ScrewMap(props: { limb: Limb }): JSX.Element | null {
    const { svg, problem } = useDrawing("compute/fasten/drawing", { document: props.limb.document, options: { units: units() } });
    return problem ? null : <Drawing svg={svg} alt="Screw places round the pylon, rolled out: seam, edge, old holes and forbidden arcs" />;
}

export function FastenView(props: { desk: Desk; limb: Limb }): JSX.Element {
    return (
        <div>
            <Computed {...props} name="fasten" likely={["adapter.permanent_fixing", "adapter.permanent_torque_nm", "adapter.screw_diameter_mm", "adapter.depth_mm", "pylon.cut_height_mm", "pylon.top_height_mm", "adapter.shank_mm", "adapter.rim_mm"]}>
                {(raw) => {
                    const value = raw as unknown as Fasten;
                    return (
                        <>
                            <dl class="figures">
                                <Figure words="permanent fixing" value={value.fixing ? plain(value.fixing) : "not named"} />
                                {value.torque && <Figure words="torque, by the adapter maker's sheet" value={figure(value.torque.nm, "nm", 1)} beside={torqueThrice(value.torque.nm)} />}
                            </dl>
                            {value.torque_limit && <p class="note">Limit: {value.torque_limit}.</p>}
                            <ScrewMap limb={props.limb} />
                            {value.proposal && (
                                <p>
                                    Places that keep every distance: {value.proposal.screws} screws of {figure(value.proposal.diameter_mm, "mm")} at {figure(value.proposal.height_mm, "mm")} above the floor,{" "}
                                    {value.proposal.angles_deg.map(place).join(" and ")}.
                                </p>
                            )}
                            {value.holes.length > 0 && (
                                <Table
                                    caption="Holes there are and are planned, with what each is from edge, seam and the next"
                                    heads={["Hole", "Place", "Edge", "Seam", "Next", "Grip"]}
                                    rows={value.holes.map((hole) => [
                                        `${hole.index + 1} ${plain(hole.state)} ${figure(hole.diameter_mm, "mm")}`,
                                        `${place(hole.angle_deg)}, ${figure(hole.height_mm, "mm")}`,
                                        <Gap one={hole.edge} />,
                                        <Gap one={hole.seam} />,
                                        <Gap one={hole.spacing} />,
                                        <Gap one={hole.grip} />,
                                    ])}
                                />
                            )}
                            <h2>If it must move afterwards</h2>
                            <ul>
                                {value.rescues.map((one) => (
                                    <li key={one.rescue}>
                                        <strong>
                                            {plain(one.rescue)}: {one.possible ? "possible" : "not possible"}
                                        </strong>{" "}
                                        {worded(one.text)}
                                    </li>
                                ))}
                            </ul>
                        </>
                    );
                }}
            </Computed>
            <Papers limb={props.limb} kinds={["wrap"]} />
            <h2>Vent</h2>
            <Computed {...props} name="vent" likely={["socket.suspension", "socket.pumped_volume_ml", "socket.pump_time_s"]}>
                {(raw) => {
                    const value = raw as unknown as Vent;
                    if (!value.allowed) return <p class="gate">No vent: {value.reason}.</p>;
                    return (
                        <>
                            <dl class="figures">
                                <Figure words="vent" value={figure(value.diameter_mm, "mm")} beside={value.place ? `at ${place(value.place.angle_deg)}, ${figure(value.place.height_mm, "mm")} above the floor` : ""} />
                                <Figure words="second moment lost there" value={figure(value.second_moment_lost_percent, "percent")} />
                            </dl>
                            <ul>
                                {value.how.map((line) => (
                                    <li key={line}>{line}</li>
                                ))}
                            </ul>
                        </>
                    );
                }}
            </Computed>
        </div>
    );
}
