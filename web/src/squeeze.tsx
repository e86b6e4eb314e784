// SPDX-License-Identifier: GPL-3.0-or-later
// How this ring was pressed across a diameter: the proof of its seam, which the ring is then judged with.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { call, compute } from "./api.ts";
import { Choice, NumberField, Press, useLoad, Wrong } from "./bones.tsx";
import type { Limb, RingAnswer, RingResult, RingRow } from "./contract.ts";
import { figure, worded } from "./units.ts";

type Outcome = "held" | "whitened" | "cracked";
interface Pressing {
    load_n: number | null;
    closing_mm: number | null;
    seam_to_load_deg: 0 | 90;
    outcome: Outcome | null;
}
const none = (seam_to_load_deg: 0 | 90): Pressing => ({ load_n: null, closing_mm: null, seam_to_load_deg, outcome: null });
const told = (one: Pressing): object => ({ load_n: one.load_n, seam_to_load_deg: one.seam_to_load_deg, outcome: one.outcome, ...(one.closing_mm !== null && { closing_mm: one.closing_mm }) });
const whole = (one: Pressing): boolean => one.load_n !== null && one.outcome !== null;

/** The load that proves the seam in this direction, once it is known how long the ring is. */
function Wanted(props: { limb: Limb; picture: string; axial: number; seam: 0 | 90 }): JSX.Element | null {
    const material = props.limb.document.pylon?.material;
    const squeeze = { ring: { image: props.picture }, axial_length_mm: props.axial, ...(typeof material === "string" && { material }) };
    const result = useLoad((signal) => compute<{ directions: { seam_to_load_deg: number; proof_load_n: number | null }[] }>("squeeze", { squeeze, options: {} }, signal), JSON.stringify(squeeze));
    const load = result.value?.directions.find((one) => Math.round(one.seam_to_load_deg) === props.seam)?.proof_load_n;
    return load ? <p role="status">{figure(load, "n")} prove the seam this way.</p> : null;
}

function PressingFields(props: { value: Pressing; onValue: (value: Pressing) => void }): JSX.Element {
    const { value, onValue } = props;
    return (
        <>
            <Choice
                words="Where the seam lay"
                value={String(value.seam_to_load_deg)}
                choices={[
                    { value: "0", words: "under the load line" },
                    { value: "90", words: "a quarter turn beside" },
                ]}
                onValue={(word) => onValue({ ...value, seam_to_load_deg: word === "90" ? 90 : 0 })}
            />
            <div class="row">
                <NumberField words="Load held" name="load_n" required value={value.load_n} low={1} high={20000} onValue={(load_n) => onValue({ ...value, load_n })} />
                <NumberField words="Closing under it" name="closing_mm" step={0.1} value={value.closing_mm} low={0.01} high={60} onValue={(closing_mm) => onValue({ ...value, closing_mm })} />
            </div>
            <Choice
                words="What the seam showed"
                required
                value={value.outcome}
                choices={[
                    { value: "held", words: "held" },
                    { value: "whitened", words: "whitened" },
                    { value: "cracked", words: "cracked" },
                ]}
                onValue={(outcome: Outcome) => onValue({ ...value, outcome })}
            />
        </>
    );
}

export function SqueezeProof(props: { limb: Limb; ring: RingRow; result: RingResult; onAnswer: (answer: RingAnswer) => void }): JSX.Element {
    const { limb, ring, result } = props;
    const [axial, setAxial] = useState<number | null>(null);
    const [first, setFirst] = useState<Pressing>(none(0));
    const [second, setSecond] = useState<Pressing | null>(null);
    const [busy, setBusy] = useState(false);
    const [problem, setProblem] = useState<unknown>(null);
    const ready = axial !== null && whole(first) && (second === null || whole(second));
    const send = async (): Promise<void> => {
        setBusy(true);
        setProblem(null);
        try {
            const squeeze = { axial_length_mm: axial, ...told(first), ...(second && { second: told(second) }) };
            props.onAnswer(await call<RingAnswer>("POST", `limbs/${encodeURIComponent(limb.id)}/rings/${ring.n}/squeeze`, { squeeze }, { patience: 120000 }));
        } catch (wrong) {
            setProblem(wrong);
        } finally {
            setBusy(false);
        }
    };
    const asked = result.decision === "measure-again";
    return (
        <details class="squeeze" open={asked}>
            <summary>Squeeze proof of the seam{asked ? " (asked for)" : ""}</summary>
            <form
                class="fact"
                noValidate
                onSubmit={(event) => {
                    event.preventDefault();
                    if (ready && !busy) void send();
                }}
            >
                <p>Press the ring across a diameter between two flat plates, seam under the load line.</p>
                <NumberField words="Length of the ring along the pylon" name="axial_length_mm" required value={axial} low={2} high={200} onValue={setAxial} />
                {axial !== null && ring.picture && <Wanted limb={limb} picture={ring.picture} axial={axial} seam={first.seam_to_load_deg} />}
                <PressingFields value={first} onValue={setFirst} />
                {second ? (
                    <fieldset class="group">
                        <legend>Second pressing</legend>
                        <PressingFields value={second} onValue={setSecond} />
                        <Press onPress={() => setSecond(null)}>Take out</Press>
                    </fieldset>
                ) : (
                    <Press onPress={() => setSecond(none(first.seam_to_load_deg === 0 ? 90 : 0))}>Pressed a second way</Press>
                )}
                <Wrong problem={problem} />
                {busy && <p role="status">Working it out…</p>}
                <div class="keys">
                    <button type="submit" class="press first" disabled={!ready || busy}>
                        Write the proof down
                    </button>
                </div>
            </form>
        </details>
    );
}

/** What the decision rests on, with what the squeeze showed. */
export function Evidence(props: { result: RingResult }): JSX.Element | null {
    const { evidence, reasons } = props.result;
    const proof = reasons.find((one) => one.code === "squeeze-proof");
    return evidence ? (
        <p class="evidence">
            Evidence: {evidence.replace("squeeze", "squeeze proof").split("+").join(" and ")}. {proof && worded(proof.text)}
        </p>
    ) : null;
}
