// SPDX-License-Identifier: GPL-3.0-or-later
// Fields of the limb's file, their ranges and words taken from its schema: what the server would refuse cannot be typed here.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import schema from "../../docs/limb.schema.json";
import { Press, Wrong } from "./bones.tsx";
import type { Json, LimbDocument } from "./contract.ts";
import { FactEntry } from "./facts.tsx";
import { valueAt, type Change, type Desk } from "./limb_desk.ts";
import { plain, type FactField } from "./rules.ts";
import { mayWrite } from "./session.ts";

interface Node {
    type?: string | string[];
    enum?: (string | null)[];
    minimum?: number;
    maximum?: number;
    format?: string;
    properties?: { [key: string]: Node };
    items?: Node | Node[];
    required?: string[];
    maxItems?: number;
}

const units = /_(mm4|mm2|mm|kg|g|nm|n|mpa|deg|c|s|min|percent|ml)$/;
export const label = (key: string): string => plain(key.replace(units, ""));

/** The schema's node as a field of a form. */
function asField(name: string, node: Node, required: boolean): FactField {
    const types = Array.isArray(node.type) ? node.type : [node.type ?? ""];
    const unit = units.exec(name)?.[1] ?? null;
    const base = { name, words: label(name), unit, low: node.minimum ?? null, high: node.maximum ?? null, required, into: null, choices: [], fields: [] };
    if (node.enum) return { ...base, type: "word", choices: node.enum.filter((word): word is string => word !== null) };
    if (types.includes("number") || types.includes("integer")) return { ...base, type: "number" };
    if (types.includes("boolean")) return { ...base, type: "flag" };
    if (types.includes("array") && node.items && !Array.isArray(node.items) && node.items.properties) {
        const below = node.items;
        return { ...base, type: "list", fields: Object.entries(below.properties ?? {}).map(([key, one]) => asField(key, one, below.required?.includes(key) ?? false)) };
    }
    if (types.includes("string")) return { ...base, type: node.format === "date" ? "date" : "text" };
    return { ...base, type: "any" };
}

/** The cards of data/materials. */
const materialCards = ["pp-copolymer", "pp-homopolymer"];

export function fieldAt(path: string): FactField | null {
    let node = schema as unknown as Node;
    let required = false;
    const names = path.split(".");
    for (const name of names) {
        required = node.required?.includes(name) ?? false;
        const below = node.properties?.[name];
        if (!below) return null;
        node = below;
    }
    const field = asField(names[names.length - 1], node, required);
    // A card's name is chosen, not remembered.
    return path === "pylon.material" ? { ...field, type: "word", choices: materialCards } : field;
}

export function DocumentField(props: { path: string; value: Json | undefined; words?: string; onValue: (value: Json | undefined) => void }): JSX.Element | null {
    const field = fieldAt(props.path);
    if (!field) return null;
    return <FactEntry field={props.words ? { ...field, words: props.words } : field} value={props.value} onValue={props.onValue} />;
}

/** Some fields of the file as a form; only what was touched is saved. */
export function DocumentForm(props: { desk: Desk; paths: (string | [string, string])[]; verb?: string; onSaved?: () => void; onTry?: (document: LimbDocument) => void }): JSX.Element | null {
    const { desk } = props;
    const [touched, setTouched] = useState<{ [path: string]: Json | undefined }>({});
    const [done, setDone] = useState(false);
    const document = desk.limb?.document;
    if (!document) return null;
    const changes: Change[] = Object.entries(touched).map(([path, value]) => ({ path: path.split("."), value }));
    return (
        <form
            class="fact" noValidate
            onSubmit={(event) => {
                event.preventDefault();
                void desk.save(changes).then((good) => {
                    if (!good) return;
                    // What was typed while the answer was on its way stays to be saved.
                    setTouched((now) => Object.fromEntries(Object.entries(now).filter(([path, value]) => !(path in touched) || value !== touched[path])));
                    setDone(true);
                    props.onSaved?.();
                });
            }}
        >
            {props.paths.map((entry) => {
                const [path, words] = typeof entry === "string" ? [entry, undefined] : entry;
                const stored = valueAt(document, path.split("."));
                return (
                    <DocumentField
                        key={path}
                        path={path}
                        words={words}
                        value={path in touched ? touched[path] : ((stored ?? undefined) as Json | undefined)}
                        onValue={(value) => {
                            setTouched((now) => ({ ...now, [path]: value }));
                            setDone(false);
                        }}
                    />
                );
            })}
            <Wrong problem={desk.problem} />
            {desk.said && <p role="status">{desk.said}</p>}
            {done && !desk.said && <p role="status">Saved.</p>}
            <div class="keys">
                <button type="submit" class="press first" disabled={changes.length === 0 || desk.saving || !mayWrite()}>
                    {props.verb ?? "Save"}
                </button>
                {changes.length > 0 && <Press onPress={() => setTouched({})}>Leave as it was</Press>}
            </div>
        </form>
    );
}
