// SPDX-License-Identifier: GPL-3.0-or-later
// The wearer's own data: taken along whole, or taken out. And a second limb of the same person.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { call } from "./api.ts";
import { Press, Tick, Wrong } from "./bones.tsx";
import type { Limb } from "./contract.ts";
import type { Desk } from "./limb_desk.ts";
import { to } from "./route.ts";
import { may, mayWrite } from "./session.ts";

export function Wearer(props: { desk: Desk; limb: Limb }): JSX.Element | null {
    const { desk, limb } = props;
    const [sure, setSure] = useState(false);
    const [problem, setProblem] = useState<unknown>(null);
    const [said, setSaid] = useState("");
    const exports = may(["prosthetist", "admin"]);
    const removes = may(["admin"]);
    if (limb.wearer === null || (!exports && !mayWrite())) return null;
    const remove = async (): Promise<void> => {
        setProblem(null);
        try {
            await call("POST", `wearers/${limb.wearer}/remove`, { confirm: "remove" });
            setSaid("The person's data is out of the record.");
            desk.again();
        } catch (wrong) {
            setProblem(wrong);
        }
    };
    return (
        <details class="wearer">
            <summary>The person's data, another limb</summary>
            <div class="keys">
                {mayWrite() && (
                    <a class="press" href={to("new", limb.wearer)}>
                        Another limb of this person
                    </a>
                )}
                {exports && (
                    <a class="press" href={`/api/limbs/${limb.id}/export`} download>
                        Take this limb along
                    </a>
                )}
                {exports && (
                    <a class="press" href={`/api/wearers/${limb.wearer}/export`} download>
                        Take all of the person along
                    </a>
                )}
            </div>
            {removes && (
                <>
                    <Tick words="Take the person's data out: name, birth, body and free words go for good; what a maker must keep stays under a pseudonym" value={sure} onValue={setSure} />
                    <Press kind="grave" off={!sure} onPress={() => void remove()}>
                        Take it out
                    </Press>
                </>
            )}
            {said && <p role="status">{said}</p>}
            <Wrong problem={problem} />
        </details>
    );
}
