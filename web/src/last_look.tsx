// SPDX-License-Identifier: GPL-3.0-or-later
// The last look before form, saw and drill: full screen, the three facts that matter read aloud, two sets of initials.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { Dialog, Press, TextField } from "./bones.tsx";
import type { LimbDocument } from "./contract.ts";
import { valueAt, type Desk } from "./limb_desk.ts";
import { plain, type FactKind } from "./rules.ts";
import { current } from "./session.ts";
import { figure } from "./units.ts";

type Line = [string, string];
const at = (document: LimbDocument, path: string): unknown => valueAt(document, path.split("."));
const amount = (document: LimbDocument, path: string): number | null => {
    const value = at(document, path);
    return typeof value === "number" ? value : null;
};
const word = (document: LimbDocument, path: string): string => {
    const value = at(document, path);
    return typeof value === "string" && value !== "" ? plain(value) : "not written down";
};

const facts: { [kind: string]: { before: string; lines: (document: LimbDocument) => Line[] } } = {
    forming: {
        before: "the sheet is drawn down",
        lines: (limb) => [
            ["Whose and which side", `${limb.person.label ?? "no mark"}, ${limb.person.side}`],
            ["Socket flexion and adduction, frozen", `${figure(amount(limb, "socket.flexion_deg"), "deg")} and ${figure(amount(limb, "socket.adduction_deg"), "deg")}`],
            ["Sheet", `${word(limb, "pylon.material")}, lot ${word(limb, "pylon.sheet_lot")}`],
        ],
    },
    cut: {
        before: "the saw touches the pylon",
        lines: (limb) => [
            ["Whose and which side", `${limb.person.label ?? "no mark"}, ${limb.person.side}`],
            ["Sole and heel of this shoe", `${figure(amount(limb, "shoe.sole_mm"), "mm")} and ${figure(amount(limb, "shoe.heel_mm"), "mm")}`],
            ["Cut at, above the floor", figure(amount(limb, "pylon.cut_height_mm"), "mm")],
        ],
    },
    "permanent-fixing": {
        before: "the drill touches the pylon",
        lines: (limb) => [
            ["Whose and which side", `${limb.person.label ?? "no mark"}, ${limb.person.side}`],
            ["Settled toe-out", figure(amount(limb, "alignment.toe_out_deg"), "deg")],
            ["Fixing and torque", `${word(limb, "adapter.permanent_fixing")}, ${figure(amount(limb, "adapter.permanent_torque_nm"), "nm")}`],
        ],
    },
    vent: {
        before: "the drill touches the socket",
        lines: (limb) => [
            ["Whose and which side", `${limb.person.label ?? "no mark"}, ${limb.person.side}`],
            ["Suspension", word(limb, "socket.suspension")],
            ["The limb", "is off, and nothing is in it"],
        ],
    },
};
facts.hole = { ...facts.vent, before: "the drill touches the pylon" };

export const needsLastLook = (kind: string): boolean => kind in facts;

export function LastLook(props: { desk: Desk; kind: FactKind; onLooked: (initials: string) => void; onLeave: () => void }): JSX.Element | null {
    const [mine, setMine] = useState(current()?.person.initials ?? "");
    const [other, setOther] = useState("");
    const document = props.desk.limb?.document;
    const look = facts[props.kind.kind];
    if (!document || !look) return null;
    const two = mine.trim() !== "" && other.trim() !== "" && mine.trim().toUpperCase() !== other.trim().toUpperCase();
    return (
        <Dialog title={`Last look, before ${look.before}`} onLeave={props.onLeave} full>
            <p>Read these three aloud, to somebody who looks at the limb.</p>
            <dl class="aloud">
                {look.lines(document).map(([what, value]) => (
                    <div key={what}>
                        <dt>{what}</dt>
                        <dd>{value}</dd>
                    </div>
                ))}
            </dl>
            <div class="row">
                <TextField words="Initials of the reader" value={mine} onValue={setMine} max={4} />
                <TextField words="Initials of the listener" value={other} onValue={setOther} max={4} />
            </div>
            <div class="keys">
                <Press kind="first" off={!two} onPress={() => props.onLooked(`${mine.trim()}, ${other.trim()}`)}>
                    It is so
                </Press>
                <Press onPress={() => props.onLooked("not read aloud")}>It was done already, without a last look</Press>
                <Press kind="grave" onPress={props.onLeave}>
                    Stop
                </Press>
            </div>
        </Dialog>
    );
}
