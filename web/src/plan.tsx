// SPDX-License-Identifier: GPL-3.0-or-later
// Plan, set-up and form: who it is for, which parts, and what of the limb's file these stages fill.
import type { JSX } from "preact";
import { Table } from "./bones.tsx";
import { Choices } from "./choices.tsx";
import { Computed } from "./computed.tsx";
import { DocumentForm } from "./document_form.tsx";
import { Elevation } from "./elevation.tsx";
import type { Limb } from "./contract.ts";
import type { Desk } from "./limb_desk.ts";
import { figure, number, unitOf, worded } from "./units.ts";

interface Pair {
    rank: number;
    foot: string;
    adapter: string;
    fitted: boolean;
    open: boolean;
    cut_height_mm: number | null;
    usable_cylinder_mm: number | null;
    limb_mass_kg: number | null;
    elastic_factor: number | null;
    max_user_mass_kg: number | null;
    gates: { part: string; gate: string; open: boolean; text: string }[];
}

function PairTable(props: { caption: string; pairs: Pair[] }): JSX.Element {
    return (
        <Table
            caption={props.caption}
            heads={["Pair", "Greatest mass", "Cut at", "Cylinder", "Limb's mass", "First yield", "Gates"]}
            rows={props.pairs.map((pair) => [
                <span>
                    {pair.fitted && "▸ "}
                    {pair.foot === "fitted" ? "the fitted foot" : pair.foot} with {pair.adapter === "fitted" ? "the fitted adapter" : pair.adapter}
                </span>,
                figure(pair.max_user_mass_kg, "kg", 0),
                figure(pair.cut_height_mm, "mm", fine()),
                figure(pair.usable_cylinder_mm, "mm", fine()),
                figure(pair.limb_mass_kg, "kg", 2),
                number(pair.elastic_factor, "none"),
                pair.open ? (
                    "open"
                ) : (
                    <span class="below">
                        shut:{" "}
                        {pair.gates
                            .filter((gate) => !gate.open)
                            .map((gate) => worded(gate.text))
                            .join("; ")}
                    </span>
                ),
            ])}
        />
    );
}

const fine = (): number => (unitOf("mm") === "in" ? 2 : 0);
const most = 6;

/** The fitted pair, then the best open ones; the rest and the shut ones behind a fold. */
function Parts(props: { desk: Desk; limb: Limb }): JSX.Element {
    return (
        <section aria-label="Foot and adapter side by side">
            <h2>Foot and adapter, side by side</h2>
            <Computed {...props} name="parts" likely={["foot.build_height_mm", "foot.length_mm", "shoe.heel_mm", "shoe.sole_mm", "person.sound_knee_height_mm", "pylon.material", "pylon.top_height_mm", "socket.distal_end_height_mm"]}>
                {(result) => {
                    const pairs = result.pairs as unknown as Pair[];
                    const first = [...pairs.filter((pair) => pair.fitted), ...pairs.filter((pair) => pair.open && !pair.fitted)].slice(0, most);
                    const rest = pairs.filter((pair) => !first.includes(pair));
                    return (
                        <>
                            <PairTable caption={String(result.list ?? "")} pairs={first} />
                            <p class="note">▸ fitted now. First yield is the factor on the upper ultimate force of this person's level.</p>
                            {rest.length > 0 && (
                                <details>
                                    <summary>{rest.length} more, the shut ones with their reasons</summary>
                                    <PairTable caption="The others" pairs={rest} />
                                </details>
                            )}
                        </>
                    );
                }}
            </Computed>
        </section>
    );
}

export function PlanView(props: { desk: Desk; limb: Limb }): JSX.Element {
    const { desk } = props;
    const twoSided = props.limb.document.person.other_side === "prosthetic";
    return (
        <div>
            <h2>The person</h2>
            <DocumentForm
                desk={desk}
                paths={[
                    ["person.body_mass_kg", "Body mass, dressed, limb on"],
                    ["person.habitual_load_kg", "What is carried as a habit"],
                    "person.activity",
                    "person.contracture_deg",
                    "person.volume",
                    "person.sex",
                    "person.birth_date",
                    "person.stature_mm",
                    ["person.sound_knee_height_mm", twoSided ? "Knee height agreed with the person" : "Sound side's knee height"],
                    "person.other_side",
                    ["person.target_difference_mm", "Wanted difference, prosthesis minus sound"],
                ]}
            />
            <h2>The parts, from their makers' sheets</h2>
            <DocumentForm
                desk={desk}
                paths={[
                    ["foot.max_user_mass_kg", "Foot: greatest body mass"],
                    ["foot.activity", "Foot: activity"],
                    ["foot.length_mm", "Foot: length"],
                    ["foot.build_height_mm", "Foot: build height"],
                    ["foot.heel_height_mm", "Foot: heel it is built for"],
                    ["foot.mass_g", "Foot: mass"],
                    ["adapter.max_user_mass_kg", "Adapter: greatest body mass"],
                    ["adapter.activity", "Adapter: activity"],
                    ["adapter.depth_mm", "Adapter: grip depth"],
                    ["adapter.build_height_mm", "Adapter: build height"],
                    ["adapter.shank_mm", "Adapter: shank"],
                    ["adapter.rim_mm", "Adapter: rim"],
                    ["adapter.permanent_fixing", "Adapter: permanent fixing"],
                    ["adapter.rotation_hold", "Adapter: rotation held by"],
                    ["shoe.heel_mm", "Shoe: heel"],
                    ["shoe.sole_mm", "Shoe: sole under the ball"],
                ]}
            />
            <Parts {...props} />
            <Choices limb={props.limb} />
        </div>
    );
}

export function SetUpView(props: { desk: Desk; limb: Limb }): JSX.Element {
    return (
        <div>
            <Elevation limb={props.limb} />
            <h2>What forming fixes for good</h2>
            <DocumentForm
                desk={props.desk}
                paths={[
                    ["socket.flexion_deg", "Socket flexion, its top forward"],
                    ["socket.adduction_deg", "Socket adduction, its top outward"],
                    "person.contracture_deg",
                    ["socket.distal_end_height_mm", "Socket base above the floor, shoe on"],
                    "socket.suspension",
                    ["socket.suspension_max_user_mass_kg", "Suspension: greatest body mass"],
                ]}
            />
        </div>
    );
}

export function FormView(props: { desk: Desk; limb: Limb }): JSX.Element {
    return (
        <div>
            <Elevation limb={props.limb} />
            <h2>The pylon</h2>
            <DocumentForm
                desk={props.desk}
                paths={[
                    ["pylon.material", "Material of the sheet"],
                    ["pylon.sheet_lot", "Sheet lot"],
                    ["pylon.expected_wall_mm", "Wall expected after forming"],
                    ["pylon.top_height_mm", "Pylon runs out into the socket at"],
                    ["pylon.cut_height_mm", "Cut at"],
                    ["socket.mass_g", "Socket: mass"],
                ]}
            />
        </div>
    );
}
