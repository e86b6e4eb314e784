// SPDX-License-Identifier: GPL-3.0-or-later
// Two people changed the same field of one limb: both values side by side, and the person at this page decides each.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { Choice, Dialog, Press } from "./bones.tsx";
import type { Json } from "./contract.ts";
import { label } from "./document_form.tsx";
import type { Desk } from "./limb_desk.ts";
import { said } from "./rules.ts";

export function ClashDialog(props: { desk: Desk }): JSX.Element | null {
    const { desk } = props;
    const fields = desk.clash?.fields ?? [];
    const [mine, setMine] = useState<(boolean | null)[]>([]);
    if (!desk.clash) return null;
    const chosen = fields.map((_, place) => mine[place] ?? null);
    return (
        <Dialog title="Somebody else changed this limb meanwhile" onLeave={desk.leaveClash}>
            <p>Nothing is lost. Where both of you changed the same field, say which value is right.</p>
            {fields.map((field, place) => (
                <Choice
                    key={field.path.join(".")}
                    words={label(String(field.path[field.path.length - 1]))}
                    value={chosen[place] === null ? null : chosen[place] ? "mine" : "theirs"}
                    choices={[
                        { value: "mine", words: `yours: ${said((field.mine ?? null) as Json)}` },
                        { value: "theirs", words: `theirs: ${said((field.theirs ?? null) as Json)}` },
                    ]}
                    onValue={(value) => setMine(fields.map((_, number) => (number === place ? value === "mine" : chosen[number])))}
                />
            ))}
            <div class="keys">
                <Press kind="first" off={chosen.includes(null)} onPress={() => void desk.solve(chosen.map((one) => one === true))}>
                    Save so
                </Press>
                <Press onPress={desk.leaveClash}>Leave, save nothing</Press>
            </div>
        </Dialog>
    );
}
