// SPDX-License-Identifier: GPL-3.0-or-later
// A walking trial: what was seen, skin, pain, support. The next step stands there after these four taps, before anything is
// saved; one suggestion with its why, and why not the others behind it.
import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import { compute } from "./api.ts";
import { Choice, NumberField, Press, TextField, Tick, useLoad, Wrong } from "./bones.tsx";
import type { Json, Limb } from "./contract.ts";
import { valueAt, type Desk } from "./limb_desk.ts";
import { headlines, measureOf, Suggestion, type Advice, type Step } from "./next_step.tsx";
import { plain } from "./rules.ts";
import { mayWrite } from "./session.ts";
import { BeforeAfter, SettingPad, settingsOf, useSettings, type Settings } from "./settings.tsx";
import { TapPad } from "./tap_pad.tsx";
import { figure } from "./units.ts";

interface Sign {
    sign: string;
    words: string;
    phases: string[];
    speaks_of: { plane: string | null };
}
type Where = { phase?: string; side?: string };
interface Draft {
    signs: { [sign: string]: number };
    where: { [sign: string]: Where };
    after: Settings | null;
    skin: string | null;
    pain: number | null;
    support: string | null;
    assistant: boolean | null;
    witness: string | null;
    torque: number | null;
    ply: number | null;
    minutes: number | null;
    comfort: number | null;
    insensate: boolean;
    note: string;
}
const empty: Draft = { signs: {}, where: {}, after: null, skin: null, pain: null, support: null, assistant: null, witness: null, torque: null, ply: null, minutes: null, comfort: null, insensate: false, note: "" };
const order = ["standing", "initial-contact", "loading-response", "mid-stance", "terminal-stance", "pre-swing", "swing"];
const strengths = ["", "slight", "clear", "strong"];

/** A walk as `advise` reads it, out of a recorded fact or out of the draft. */
function trial(body: { [key: string]: Json }): { [key: string]: Json } {
    const keys = ["settings", "settings_after", "observations", "support", "assistant", "witness", "holding_torque_nm", "insensate", "sock_ply", "minutes_since_donning", "skin", "pain", "comfort", "by", "note", "steps_file"];
    return { observations: [], ...Object.fromEntries(keys.filter((key) => body[key] !== undefined && body[key] !== null).map((key) => [key, body[key]])) };
}

function asBody(draft: Draft, signs: Sign[], settings: Settings): { [key: string]: Json } {
    const body: { [key: string]: Json } = {
        settings,
        settings_after: draft.after ?? settings,
        observations: Object.entries(draft.signs)
            .filter(([, strength]) => strength > 0)
            .map(([sign, strength]) => ({ sign, phase: draft.where[sign]?.phase ?? signs.find((one) => one.sign === sign)?.phases[0] ?? null, strength, side: draft.where[sign]?.side ?? "prosthetic" })),
        skin: draft.skin,
        pain: draft.pain,
        support: draft.support,
        insensate: draft.insensate,
    };
    if (draft.assistant !== null) body.assistant = draft.assistant;
    if (draft.witness !== null) body.witness = draft.witness;
    if (draft.torque !== null) body.holding_torque_nm = draft.torque;
    if (draft.ply !== null) body.sock_ply = draft.ply;
    if (draft.minutes !== null) body.minutes_since_donning = draft.minutes;
    if (draft.comfort !== null) body.comfort = draft.comfort;
    if (draft.note !== "") body.note = draft.note;
    return body;
}

/** What the advice is told beside the walks. */
interface Told {
    excluded: string[];
    long_worn_misalignment: boolean;
}

function trialsDocument(limb: Limb, extra: { [key: string]: Json }[], told: Told): { [key: string]: unknown } {
    const walks = limb.facts.filter((fact) => fact.kind === "walk" && fact.withdrawn_by === null).sort((one, other) => Date.parse(one.happened_at) - Date.parse(other.happened_at) || one.id - other.id);
    const foot = valueAt(limb.document, ["foot", "length_mm"]);
    return {
        format: "standfast-trials/1",
        ...told,
        person: limb.document.person,
        ...(limb.document.adapter ? { adapter: limb.document.adapter } : {}),
        ...(typeof foot === "number" ? { foot_length_mm: foot } : {}),
        permanent_fixing_done: limb.facts.some((fact) => fact.kind === "permanent-fixing" && fact.withdrawn_by === null),
        trials: [...walks.map((fact) => fact.body), ...extra].map(trial),
    };
}

function Signs(props: { signs: Sign[]; value: { [sign: string]: number }; onValue: (value: { [sign: string]: number }) => void }): JSX.Element {
    const phases = order.filter((phase) => props.signs.some((one) => one.phases[0] === phase));
    return (
        <section class="signs" aria-label="Signs seen">
            <h2>Seen</h2>
            <p class="note">Tap a sign; again for clear, strong, and off.</p>
            {phases.map((phase) => (
                <div key={phase} class="phase" role="group" aria-label={plain(phase)}>
                    <h3>{plain(phase)}</h3>
                    <div class="kinds">
                        {props.signs
                            .filter((one) => one.phases[0] === phase)
                            .map((one) => {
                                const strength = props.value[one.sign] ?? 0;
                                const next = (strength + 1) % 4;
                                return (
                                    <button key={one.sign} type="button" class={`press sign s${strength}`} title={one.words} aria-pressed={strength > 0} onClick={() => props.onValue({ ...props.value, [one.sign]: next })}>
                                        <span>{plain(one.sign)}</span>
                                        {strength > 0 && <small>{strengths[strength]}</small>}
                                    </button>
                                );
                            })}
                    </div>
                </div>
            ))}
        </section>
    );
}

/** Where each tapped sign was seen: in another phase than the usual one, or on the sound side. */
function SeenWhere(props: { signs: Sign[]; draft: Draft; onValue: (where: { [sign: string]: Where }) => void }): JSX.Element | null {
    const { draft } = props;
    const tapped = props.signs.filter((one) => (draft.signs[one.sign] ?? 0) > 0 && one.sign !== "nothing-seen");
    if (tapped.length === 0) return null;
    const put = (sign: string, part: Where): void => props.onValue({ ...draft.where, [sign]: { ...draft.where[sign], ...part } });
    const choices = (words: string[]): { value: string; words: string }[] => words.map((value) => ({ value, words: plain(value) }));
    return (
        <details>
            <summary>Phase and side of what was seen</summary>
            <p class="note">A sign of the sound side is written down; it moves no setting of this limb.</p>
            {tapped.map((one) => (
                <div key={one.sign}>
                    {one.phases.length > 1 && <Choice words={`${plain(one.sign)}: phase`} value={draft.where[one.sign]?.phase ?? one.phases[0]} choices={choices(one.phases)} onValue={(phase) => put(one.sign, { phase })} />}
                    <Choice words={`${plain(one.sign)}: side`} value={draft.where[one.sign]?.side ?? "prosthetic"} choices={choices(["prosthetic", "sound"])} onValue={(side) => put(one.sign, { side })} />
                </div>
            ))}
        </details>
    );
}

export function WalkView(props: { desk: Desk; limb: Limb }): JSX.Element {
    const { desk, limb } = props;
    const signs = useLoad((signal) => compute<{ signs: Sign[] }>("signs", {}, signal), "");
    const [draft, setDraft] = useState<Draft>(empty);
    const { value: settings, setValue: setSettings, forget } = useSettings(limb);
    const [told, setTold] = useState<Told>({ excluded: [], long_worn_misalignment: false });
    const [advice, setAdvice] = useState<Advice | null>(null);
    const [problem, setProblem] = useState<unknown>(null);
    const [said, setSaid] = useState("");
    const list = signs.value?.signs ?? [];
    const walks = limb.facts.filter((fact) => fact.kind === "walk" && fact.withdrawn_by === null).length;
    const seen = Object.values(draft.signs).some((strength) => strength > 0);
    const whole = seen && draft.skin !== null && draft.pain !== null && draft.support !== null;
    const body = asBody(draft, list, settings);
    const trials = trialsDocument(limb, whole ? [body] : [], told);
    const key = list.length > 0 && (whole || walks > 0) ? JSON.stringify(trials) : "";
    useEffect(() => {
        if (key === "") return setAdvice(null);
        const quit = new AbortController();
        compute<Advice>("advise", { trials }, quit.signal).then(
            (next) => {
                if (quit.signal.aborted) return;
                setAdvice(next);
                setProblem(null);
            },
            (wrong) => !quit.signal.aborted && setProblem(wrong),
        );
        return () => quit.abort();
    }, [key]);
    const [busy, setBusy] = useState(false);
    /** One thing at a time: a second tap while the first is on its way writes nothing twice. */
    const once = (work: () => Promise<void>): void => {
        if (busy) return;
        setBusy(true);
        setProblem(null);
        work().catch(setProblem).finally(() => setBusy(false));
    };
    const save = async (): Promise<void> => {
        const found = told.excluded.length > 0 ? [`In order: ${told.excluded.map(plain).join(", ")}.`] : [];
        const note = [draft.note, ...found].filter((line) => line !== "").join(" ");
        const how = await desk.record("walk", note === "" ? body : { ...body, note }, `Walk ${walks + 1}, ${limb.document.person.label ?? limb.id}`);
        setSaid(how === "sent" ? `Walk ${walks + 1} is written down.` : "Kept on this device, sent when the network is back.");
        // What slipped stands where it slipped to.
        if (draft.after) {
            await desk.record("foot-set", draft.after, "Foot set");
            forget();
        }
        setDraft({ ...empty, ply: draft.ply });
    };
    const take = async (step: Step): Promise<void> => {
        const from = draft.after ?? settings;
        if (whole) await save();
        await desk.record("advice-taken", { advice: `${step.words} ${step.change} ${step.unit}`, choice: "taken", reason: step.why ?? "" }, "Advice taken");
        await desk.record("foot-set", { ...from, [step.setting]: step.to }, "Foot set");
        forget();
        setSaid(`${step.words} is now ${figure(step.to, measureOf(step.unit))}. Move it with the limb off the ground; then the holding screw's torque and its witness mark.`);
    };
    const step = advice && !advice.stop ? advice.next[0] : undefined;
    const put = (part: Partial<Draft>): void => setDraft({ ...draft, ...part });
    return (
        <div class="walk">
            <div class="walk-two">
                <div>
                    <Signs signs={list} value={draft.signs} onValue={(value) => put({ signs: value })} />
                    <Choice words="Skin" required value={draft.skin} choices={[["clear", "clear"], ["fades", "fades in 10 min"], ["stays", "stays"], ["broken", "broken"]].map(([value, words]) => ({ value, words }))} onValue={(skin) => put({ skin })} />
                    <Choice words="Pain, 0 to 10" required value={draft.pain === null ? null : String(draft.pain)} choices={Array.from({ length: 11 }, (_, value) => ({ value: String(value), words: String(value) }))} onValue={(pain) => put({ pain: Number(pain) })} />
                    <Choice words="Support" required value={draft.support} choices={["bars", "stick", "free"].map((value) => ({ value, words: value }))} onValue={(support) => put({ support })} />
                    <SeenWhere signs={list} draft={draft} onValue={(where) => put({ where })} />
                    <details>
                        <summary>Settings, assistant, holding screw, sock, note</summary>
                        <Choice words="With an assistant" value={draft.assistant === null ? null : draft.assistant ? "yes" : "no"} choices={["yes", "no"].map((value) => ({ value, words: value }))} onValue={(value) => put({ assistant: value === "yes" })} />
                        <Choice words="Witness mark" value={draft.witness} choices={["unbroken", "broken"].map((value) => ({ value, words: value }))} onValue={(witness) => put({ witness })} />
                        <NumberField words="Torque of the holding screw" measure="nm" step={0.1} value={draft.torque} low={0} high={200} onValue={(torque) => put({ torque })} />
                        <NumberField words="Sock ply" measure="none" value={draft.ply} low={0} high={40} onValue={(ply) => put({ ply })} />
                        <NumberField words="Minutes since donning" measure="none" step={5} value={draft.minutes} low={0} high={1440} onValue={(minutes) => put({ minutes })} />
                        <NumberField words="Comfort, 0 to 10" measure="none" value={draft.comfort} low={0} high={10} onValue={(comfort) => put({ comfort })} />
                        <Tick words="Does not feel the skin" value={draft.insensate} onValue={(insensate) => put({ insensate })} />
                        <p class="note">Settings of this walk</p>
                        <SettingPad limb={limb} value={settings} onValue={setSettings} />
                        <Tick words="Something slipped on this walk" value={draft.after !== null} onValue={(slipped) => put({ after: slipped ? settings : null })} />
                        {draft.after && (
                            <section aria-label="Settings after this walk">
                                <p class="note">Settings after this walk</p>
                                <SettingPad limb={limb} value={draft.after} onValue={(after) => put({ after })} />
                            </section>
                        )}
                        <Tick words="Comes from years on a misaligned limb" value={told.long_worn_misalignment} onValue={(long) => setTold({ ...told, long_worn_misalignment: long })} />
                        <TextField words="Note" long value={draft.note} onValue={(note) => put({ note })} />
                    </details>
                    <details>
                        <summary>Tap the footfalls</summary>
                        <TapPad side={limb.document.person.side} />
                    </details>
                    <p class="next-line" role="status">
                        {advice && !step ? `${headlines[advice.advice] ?? ""}.` : step ? `Next step: ${step.words} ${step.change > 0 ? "+" : "−"}${figure(Math.abs(step.change), measureOf(step.unit))}` : ""}
                    </p>
                    <Wrong problem={problem ?? signs.problem} />
                    {said && <p role="status">{said}</p>}
                    {mayWrite() && (
                        <div class="keys">
                            <Press kind="first" off={!whole || busy} onPress={() => once(save)}>
                                Write down walk {walks + 1}
                            </Press>
                            {!whole && <span class="note">Wanted: {[!seen && "a sign (or nothing seen)", draft.skin === null && "skin", draft.pain === null && "pain", draft.support === null && "support"].filter(Boolean).join(", ")}</span>}
                        </div>
                    )}
                </div>
                <div>
                    <BeforeAfter limb={limb} to={step ? { ...settingsOf(limb), [step.setting]: step.to } : settings} />
                    {advice ? <Suggestion advice={advice} limb={limb} inOrder={told.excluded} onInOrder={(check, good) => setTold({ ...told, excluded: good ? [...told.excluded, check] : told.excluded.filter((one) => one !== check) })} onTake={(one) => once(() => take(one))} /> : <p class="note">A sign, skin, pain and support: then the next step stands here.</p>}
                </div>
            </div>
        </div>
    );
}
