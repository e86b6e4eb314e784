// SPDX-License-Identifier: GPL-3.0-or-later
// The limb to scale in the middle of the sheet, with what is known of it and what is missing; and the same in words.
import type { JSX } from "preact";
import { compute } from "./api.ts";
import { Drawing, Table, useDrawing, useLoad } from "./bones.tsx";
import type { Limb } from "./contract.ts";
import { plain } from "./rules.ts";
import { figure } from "./units.ts";

interface Sight {
    heights: { of: string; height_mm: number | null }[];
    parts_known: { [part: string]: boolean };
    missing: (string | { field?: string; text?: string; what?: string })[];
}

const wanted = (one: Sight["missing"][number]): string => (typeof one === "string" ? one : (one.text ?? one.what ?? one.field ?? ""));

export function Elevation(props: { limb: Limb }): JSX.Element {
    const { limb } = props;
    const body = { document: limb.document };
    const { svg, problem } = useDrawing("compute/limb/drawing", body);
    const sight = useLoad((signal) => compute<Sight>("limb", body, signal), JSON.stringify(limb.document));
    const person = limb.document.person;
    return (
        <Drawing
            svg={svg}
            problem={problem}
            alt={`The ${person.side} limb from the side and the front, to scale, as far as it is known`}
            twin={
                <>
                    <Table
                        caption="Heights above the floor, shoe on"
                        heads={["Of", "Height"]}
                        rows={[...(sight.value?.heights ?? [])].reverse().map((one) => [plain(one.of), figure(one.height_mm, "mm")])}
                    />
                    {sight.value && sight.value.missing.length > 0 && (
                        <>
                            <h3>Not known yet</h3>
                            <ul>
                                {sight.value.missing.map((one) => (
                                    <li key={wanted(one)}>{wanted(one)}</li>
                                ))}
                            </ul>
                        </>
                    )}
                </>
            }
        />
    );
}
