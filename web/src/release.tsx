// SPDX-License-Identifier: GPL-3.0-or-later
// Finish and release: mass and balance beside an intact shank, the papers, and what was said beside what was seen.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { Figure, NumberField, Table } from "./bones.tsx";
import { Computed } from "./computed.tsx";
import type { Limb } from "./contract.ts";
import type { Desk } from "./limb_desk.ts";
import { Papers } from "./papers.tsx";
import { SaidAndSeenHere } from "./said.tsx";
import { figure, unitOf, worded } from "./units.ts";

interface Mass {
    limb: { mass_kg: number; centre_below_knee_mm: number; inertia_about_knee_kgm2: number };
    intact: { mass_kg: number; centre_below_knee_mm: number } | null;
    ratio: { mass: number; inertia: number } | null;
    parts: { part: string; mass_g: number; depth_mm: number; origin: string }[];
    weighed_g: number | null;
    difference_g: number | null;
    difference_limit_g: number | null;
    reasons: (string | { text: string })[];
}

export function ReleaseView(props: { desk: Desk; limb: Limb }): JSX.Element {
    const { limb } = props;
    const finish = [...limb.facts].reverse().find((fact) => fact.kind === "finish" && fact.withdrawn_by === null);
    const [weighed, setWeighed] = useState<number | null>(typeof finish?.body.mass_g === "number" ? finish.body.mass_g : null);
    return (
        <div>
            <h2>Mass and balance</h2>
            <NumberField words="What the scale shows, shoe on" measure="g" name="weighed" step={unitOf("g") === "g" ? 10 : 0.05} value={weighed} low={1} high={20000} onValue={setWeighed} />
            <Computed {...props} name="mass" options={weighed === null ? {} : { weighed_g: weighed }} likely={["socket.mass_g", "foot.mass_g", "adapter.mass_g", "shoe.mass_g", "foot.length_mm", "pylon.material"]}>
                {(raw) => {
                    const value = raw as unknown as Mass;
                    return (
                        <>
                            <dl class="figures">
                                <Figure words="the limb, computed" value={figure(value.limb.mass_kg, "kg", 2)} beside={value.intact ? `an intact shank and foot ${figure(value.intact.mass_kg, "kg", 2)}` : ""} />
                                <Figure words="its centre below the knee" value={figure(value.limb.centre_below_knee_mm, "mm", unitOf("mm") === "in" ? 1 : 0)} beside={value.intact ? `intact ${figure(value.intact.centre_below_knee_mm, "mm", unitOf("mm") === "in" ? 1 : 0)}` : ""} />
                                {value.ratio && <Figure words="swing: inertia about the knee, of intact" value={`${(value.ratio.inertia * 100).toFixed(0)} %`} />}
                                {value.difference_g !== null && (
                                    <Figure words="weighed less computed" value={figure(value.difference_g, "g")} beside={`within ${figure(value.difference_limit_g, "g")}`} state={Math.abs(value.difference_g) > (value.difference_limit_g ?? Infinity) ? "out" : "in"} />
                                )}
                            </dl>
                            {value.reasons.length > 0 && (
                                <ul>
                                    {value.reasons.map((one) => (
                                        <li key={typeof one === "string" ? one : one.text}>{worded(typeof one === "string" ? one : one.text)}</li>
                                    ))}
                                </ul>
                            )}
                            <Table caption="The parts" heads={["Part", "Mass", "Below the knee", "Origin"]} rows={value.parts.map((one) => [one.part, figure(one.mass_g, "g"), figure(one.depth_mm, "mm", unitOf("mm") === "in" ? 1 : 0), one.origin])} />
                        </>
                    );
                }}
            </Computed>
            <Papers limb={limb} kinds={["release", "care", "traveller"]} />
            <SaidAndSeenHere limb={limb} />
        </div>
    );
}
