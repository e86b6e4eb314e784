// SPDX-License-Identifier: GPL-3.0-or-later
// The limb's papers as PDF, on the paper of the country.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { Choice } from "./bones.tsx";
import type { Limb } from "./contract.ts";
import { units } from "./units.ts";

const words: { [kind: string]: string } = {
    wrap: "Before you drill: the strip to wrap round, 1 : 1",
    release: "Release page",
    care: "Care sheet",
    traveller: "Traveller",
};

export function Papers(props: { limb: Limb; kinds: string[] }): JSX.Element {
    const [paper, setPaper] = useState(units() === "inch" ? "letter" : "a4");
    return (
        <section class="papers" aria-label="Papers">
            <h2>Papers</h2>
            <Choice
                words="Paper"
                value={paper}
                choices={[
                    { value: "a4", words: "A4" },
                    { value: "letter", words: "Letter" },
                ]}
                onValue={setPaper}
            />
            <div class="keys">
                {props.kinds.map((kind) => (
                    <a key={kind} class="press" target="_blank" rel="noopener" href={`/api/limbs/${encodeURIComponent(props.limb.id)}/report.pdf?kind=${kind}&paper=${paper}&units=${units()}`}>
                        {words[kind] ?? kind}
                    </a>
                ))}
            </div>
            {props.kinds.includes("wrap") && <p class="note">Print it at 100 %, and measure the 100 mm bar on it before it is used.</p>}
        </section>
    );
}
