// SPDX-License-Identifier: GPL-3.0-or-later
// The five settings of a foot under its clamp, with thumb keys in degrees and millimetres, and the limb drawn before and after.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { compute } from "./api.ts";
import { Drawing, NumberField, Press, Table, useDrawing, useLoad } from "./bones.tsx";
import type { Json, Limb } from "./contract.ts";
import { valueAt, type Desk } from "./limb_desk.ts";
import { mayWrite } from "./session.ts";
import { figure, type Measure } from "./units.ts";

export type Settings = { [setting: string]: number };
export const settingNames: [string, string, Measure, number][] = [
    ["toe_out_deg", "Toe-out", "deg", 45],
    ["foot_forward_mm", "Foot forward", "mm", 60],
    ["foot_outset_mm", "Foot outset", "mm", 60],
    ["dorsiflexion_deg", "Dorsiflexion", "deg", 20],
    ["eversion_deg", "Eversion", "deg", 20],
];

export const settingsOf = (limb: Limb): Settings =>
    Object.fromEntries(
        settingNames.map(([name]) => {
            const value = valueAt(limb.document, ["alignment", name]);
            return [name, typeof value === "number" ? value : 0];
        }),
    );

/** Settings as they are tried. What is not tried follows the file: what another tablet wrote down is not put back by this one. */
export function useSettings(limb: Limb): { value: Settings; setValue: (next: Settings) => void; forget: () => void } {
    const [tried, setTried] = useState<Settings>({});
    const now = settingsOf(limb);
    return {
        value: { ...now, ...tried },
        setValue: (next) => setTried(Object.fromEntries(Object.entries(next).filter(([name, one]) => name in tried || one !== now[name]))),
        forget: () => setTried({}),
    };
}

/** What this adapter can move; null where the file does not say. */
function motions(limb: Limb): { [setting: string]: [number, number] } | null {
    const list = valueAt(limb.document, ["adapter", "motions"]) as { setting: string; range: [number, number] }[] | undefined;
    return Array.isArray(list) ? Object.fromEntries(list.map((one) => [one.setting, one.range])) : null;
}

export function SettingPad(props: { limb: Limb; value: Settings; onValue: (value: Settings) => void }): JSX.Element {
    const can = motions(props.limb);
    return (
        <div class="settings">
            {settingNames.map(([name, words, measure, most]) => (
                <NumberField
                    key={name}
                    words={words}
                    measure={measure}
                    value={props.value[name]}
                    low={-most}
                    high={most}
                    note={can && !can[name] ? "not a motion of this adapter" : can?.[name] ? `this adapter: ${figure(can[name][0], measure, 0)} to ${figure(can[name][1], measure, 0)}` : undefined}
                    onValue={(next) => props.onValue({ ...props.value, [name]: next ?? 0 })}
                />
            ))}
        </div>
    );
}

interface Pose {
    [key: string]: number;
}
const poseRows: [string, string, Measure][] = [
    ["socket_f_mm", "socket over the ankle, forward", "mm"],
    ["socket_o_mm", "socket over the ankle, outward", "mm"],
    ["socket_flexion_deg", "socket flexion", "deg"],
    ["socket_adduction_deg", "socket adduction", "deg"],
    ["sole_tilt_sagittal_deg", "sole, toe up", "deg"],
    ["sole_tilt_coronal_deg", "sole, outer edge up", "deg"],
    ["toe_out_deg", "toe-out", "deg"],
    ["height_mm", "height of the socket's base", "mm"],
];

/** Before and after, to scale, with the load line; its twin is the pose in figures. */
export function BeforeAfter(props: { limb: Limb; to: Settings }): JSX.Element {
    const from = settingsOf(props.limb);
    const options: { [key: string]: Json } = {};
    for (const [name] of settingNames) {
        const change = Number(((props.to[name] ?? 0) - from[name]).toFixed(3));
        if (change !== 0) options[name] = change;
    }
    const body = { document: props.limb.document, options };
    const drawn = useDrawing("compute/align/drawing", body);
    const plain = useDrawing("compute/limb/drawing", { document: props.limb.document });
    const result = useLoad((signal) => compute<{ pose_before: Pose; pose_after: Pose }>("align", body, signal), JSON.stringify(body));
    return (
        <Drawing
            svg={drawn.problem ? plain.svg : drawn.svg}
            problem={drawn.problem && plain.problem}
            alt="The limb from front and side, to scale, with the load line before and after the change"
            twin={
                result.value ? (
                    <Table
                        caption="Where the socket stands, foot flat"
                        heads={["What", "Before", "After"]}
                        rows={poseRows.map(([key, words, measure]) => [words, figure(result.value?.pose_before[key], measure), figure(result.value?.pose_after[key], measure)])}
                    />
                ) : undefined
            }
        />
    );
}

/** Foot on the clamp, and standing: try settings on the drawing, then write them down as set. */
export function SettingsView(props: { desk: Desk; limb: Limb }): JSX.Element {
    const { desk, limb } = props;
    const { value, setValue, forget } = useSettings(limb);
    const [said, setSaid] = useState("");
    const now = settingsOf(limb);
    const moved = settingNames.some(([name]) => value[name] !== now[name]);
    return (
        <div>
            <BeforeAfter limb={limb} to={value} />
            <SettingPad limb={limb} value={value} onValue={setValue} />
            {mayWrite() && (
                <div class="keys">
                    <Press
                        kind="first"
                        onPress={() => {
                            void desk.record("foot-set", value, `Foot set, ${limb.document.person.label ?? limb.id}`).then(
                                (how) => {
                                    if (how === "sent") forget();
                                    setSaid(how === "sent" ? "Written down as set." : "Kept on this device, sent when the network is back.");
                                },
                                (wrong: Error) => setSaid(wrong.message),
                            );
                        }}
                    >
                        Write down as set
                    </Press>
                    {moved && <Press onPress={forget}>Back to what is written down</Press>}
                </div>
            )}
            {said && <p role="status">{said}</p>}
        </div>
    );
}
