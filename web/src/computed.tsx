// SPDX-License-Identifier: GPL-3.0-or-later
// One computation on this limb: its result when there is one, the fields that it still wants when there is none.
import type { ComponentChildren, JSX } from "preact";
import { compute, type Options } from "./api.ts";
import { Caveats, useLoad } from "./bones.tsx";
import type { Json, Limb } from "./contract.ts";
import type { Desk } from "./limb_desk.ts";
import { Mend } from "./mend.tsx";
import { worded } from "./units.ts";

export type Result = { [key: string]: Json };

export function Computed(props: { desk: Desk; limb: Limb; name: string; options?: Options; likely: string[]; children: (result: Result) => ComponentChildren }): JSX.Element {
    const { desk, limb, name, options } = props;
    const key = name + JSON.stringify(limb.document) + JSON.stringify(options ?? {});
    const result = useLoad((signal) => compute<Result>(name, { document: limb.document, options: options ?? {} }, signal), key);
    if (result.problem) return <Mend desk={desk} problem={result.problem} likely={props.likely} />;
    if (!result.value) return <p role="status">Computing…</p>;
    const warnings = (result.value.warnings as { code: string; text: string }[] | undefined) ?? [];
    return (
        <>
            {warnings.length > 0 && (
                <ul class="flags plain-list">
                    {warnings.map((one) => (
                        <li key={one.code + one.text}>{worded(one.text)}</li>
                    ))}
                </ul>
            )}
            {props.children(result.value)}
            <Caveats of={result.value} />
        </>
    );
}
