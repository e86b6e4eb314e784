// SPDX-License-Identifier: GPL-3.0-or-later
// A computation that was refused: why, and just the fields that it wants, to be filled in on the spot.
import type { JSX } from "preact";
import { Refusal } from "./api.ts";
import { Wrong } from "./bones.tsx";
import { DocumentForm, fieldAt } from "./document_form.tsx";
import type { Desk } from "./limb_desk.ts";
import { mayWrite } from "./session.ts";

/** Asks for just the fields that the refusal names. */
export function Mend(props: { desk: Desk; problem: unknown; likely: string[] }): JSX.Element {
    const { problem, desk } = props;
    const named =
        problem instanceof Refusal
            ? [problem.field, ...problem.problems.map((one) => one.field)].map((field) => field.replace(/^document\./, "")).filter((field) => field !== "" && fieldAt(field) !== null)
            : [];
    const paths = [...new Set([...named, ...props.likely])].filter((path) => {
        const field = fieldAt(path);
        return field !== null && field.type !== "any";
    });
    return (
        <div class="mend">
            <Wrong problem={problem} />
            {problem instanceof Refusal && mayWrite() && <DocumentForm desk={desk} paths={paths} verb="Save and compute" />}
        </div>
    );
}
