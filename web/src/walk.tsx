// SPDX-License-Identifier: GPL-3.0-or-later
// A walking trial: what was seen, skin, pain, support. The next step stands there after these four taps, before anything is
// saved; one suggestion with its why, and why not the others behind it.
import type { JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import { compute } from "./api.ts";
import { Choice, NumberField, Press, Safety, TextField, Tick, useLoad, Wrong } from "./bones.tsx";
import type { Json, Limb } from "./contract.ts";
import { valueAt, type Desk } from "./limb_desk.ts";
import { plain } from "./rules.ts";
import { mayWrite } from "./session.ts";
import { BeforeAfter, SettingPad, settingNames, settingsOf, useSettings, type Settings } from "./settings.tsx";
import { TapPad } from "./tap_pad.tsx";
import { figure, worded, type Measure } from "./units.ts";

interface Sign {
    sign: string;
    words: string;
    phases: string[];
}
interface Step {
    setting: string;
    change: number;
    from: number;
    to: number;
    unit: string;
    words: string;
    why?: string;
    why_not?: string;
    expects?: string;
}
interface Advice {
    advice: string;
    next: Step[];
    not_now: Step[];
    exclude_first: { check: string; family: string; text: string }[];
    stop: boolean;
    stop_reason: string | null;
    brackets: { [setting: string]: { low: number; high: number; now: number; resolution: number; unit: string; adapter_moves_it: boolean; contradiction: boolean } };
    lacking: { setting?: string; text?: string }[];
    flags: { code: string; text: string }[];
    settling_warnings: ({ text: string } | string)[];
    said_and_seen: { after_trial: number; expected: string; seen: string; followed: boolean; came_true: boolean | null }[];
    notes: string[];
    safety: string;
}

interface Draft {
    signs: { [sign: string]: number };
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
const empty: Draft = { signs: {}, skin: null, pain: null, support: null, assistant: null, witness: null, torque: null, ply: null, minutes: null, comfort: null, insensate: false, note: "" };
const order = ["standing", "initial-contact", "loading-response", "mid-stance", "terminal-stance", "pre-swing", "swing"];
const strengths = ["", "slight", "clear", "strong"];
const measureOf = (unit: string): Measure => (unit === "mm" ? "mm" : "deg");

/** A walk as `advise` reads it, out of a recorded fact or out of the draft. */
function trial(body: { [key: string]: Json }): { [key: string]: Json } {
    const keys = ["settings", "settings_after", "observations", "support", "assistant", "witness", "holding_torque_nm", "insensate", "sock_ply", "minutes_since_donning", "skin", "pain", "comfort", "by", "note", "steps_file"];
    return Object.fromEntries(keys.filter((key) => body[key] !== undefined && body[key] !== null).map((key) => [key, body[key]]));
}

function asBody(draft: Draft, signs: Sign[], settings: Settings): { [key: string]: Json } {
    const body: { [key: string]: Json } = {
        settings,
        settings_after: settings,
        observations: Object.entries(draft.signs)
            .filter(([, strength]) => strength > 0)
            .map(([sign, strength]) => ({ sign, phase: signs.find((one) => one.sign === sign)?.phases[0] ?? null, strength })),
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

export function trialsDocument(limb: Limb, extra: { [key: string]: Json }[]): { [key: string]: unknown } {
    const walks = limb.facts.filter((fact) => fact.kind === "walk" && fact.withdrawn_by === null).sort((one, other) => Date.parse(one.happened_at) - Date.parse(other.happened_at) || one.id - other.id);
    const foot = valueAt(limb.document, ["foot", "length_mm"]);
    return {
        format: "standfast-trials/1",
        person: limb.document.person,
        ...(limb.document.adapter ? { adapter: limb.document.adapter } : {}),
        ...(typeof foot === "number" ? { foot_length_mm: foot } : {}),
        permanent_fixing_done: limb.facts.some((fact) => fact.kind === "permanent-fixing" && fact.withdrawn_by === null),
        trials: [...walks.map((fact) => trial(fact.body)), ...extra.map(trial)],
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

/** What each setting may still be, narrowing from walk to walk: a bar in words' company, no curve. */
function Brackets(props: { advice: Advice }): JSX.Element {
    return (
        <table class="brackets">
            <caption>Where each setting may still lie</caption>
            <tbody>
                {settingNames.map(([name, words, measure, most]) => {
                    const one = props.advice.brackets[name];
                    if (!one) return null;
                    const reach = Math.min(most, 20);
                    const x = (value: number): number => 100 + (Math.max(-reach, Math.min(reach, value - one.now)) / reach) * 96;
                    return (
                        <tr key={name} class={one.adapter_moves_it ? "" : "fixed"}>
                            <th scope="row">
                                {words}
                                <small>
                                    {figure(one.low, measure, 0)} to {figure(one.high, measure, 0)}, now {figure(one.now, measure, 0)}
                                    {one.contradiction && "; the walks contradict each other"}
                                    {!one.adapter_moves_it && "; fixed by this adapter"}
                                </small>
                            </th>
                            <td>
                                <svg viewBox="0 0 200 20" width="200" height="20" aria-hidden="true">
                                    <line x1="2" x2="198" y1="10" y2="10" />
                                    <rect x={x(one.low)} width={Math.max(2, x(one.high) - x(one.low))} y="4" height="12" />
                                    <path d="M100 0v20" />
                                </svg>
                            </td>
                        </tr>
                    );
                })}
            </tbody>
        </table>
    );
}

function Suggestion(props: { advice: Advice; limb: Limb; settings: Settings; onTake: (step: Step) => void }): JSX.Element {
    const { advice } = props;
    const step = advice.next[0];
    const last = advice.said_and_seen[advice.said_and_seen.length - 1];
    return (
        <section class="suggestion" aria-label="Next step" aria-live="polite">
            <h2>Next step</h2>
            {last?.expected && (
                <p class="note">
                    Said last time: {worded(last.expected)}. Seen: {worded(last.seen)}. {last.came_true === null ? "" : last.came_true ? "It came true." : "It did not come true."}
                </p>
            )}
            {advice.stop && (
                <p class="stop">
                    <strong>Stop: {advice.stop_reason}</strong>
                </p>
            )}
            {advice.flags.map((flag) => (
                <p key={flag.code} class="flag">
                    △ {worded(flag.text)}
                </p>
            ))}
            {step && !advice.stop ? (
                <>
                    <p class="step">
                        <strong>
                            {step.words}: {step.change > 0 ? "+" : "−"}
                            {figure(Math.abs(step.change), measureOf(step.unit))}
                        </strong>{" "}
                        <span class="beside">
                            from {figure(step.from, measureOf(step.unit))} to {figure(step.to, measureOf(step.unit))}
                        </span>
                    </p>
                    <p>{worded(step.why ?? "")}</p>
                    <p class="note">Expected: {worded(step.expects ?? "")}</p>
                    {advice.exclude_first.length > 0 && (
                        <>
                            <h3>First rule out</h3>
                            <ul>
                                {advice.exclude_first.map((one) => (
                                    <li key={one.check}>{worded(one.text)}</li>
                                ))}
                            </ul>
                        </>
                    )}
                    {mayWrite() && (
                        <div class="keys">
                            <Press kind="first" onPress={() => props.onTake(step)}>
                                Take it
                            </Press>
                        </div>
                    )}
                </>
            ) : (
                !advice.stop && <p>{advice.advice === "settle" ? "Nothing more to change: settle and sign." : plain(advice.advice)}</p>
            )}
            {advice.not_now.length > 0 && (
                <details>
                    <summary>Why not the others</summary>
                    <ul>
                        {advice.not_now.map((one) => (
                            <li key={one.setting}>
                                {one.words}: {worded(one.why_not ?? "")}
                            </li>
                        ))}
                    </ul>
                </details>
            )}
            {advice.lacking.map((one) => (
                <p key={String(one.setting ?? one.text)} class="flag">
                    △ {one.text ? worded(one.text) : `This adapter lacks ${plain(one.setting ?? "")}.`}
                </p>
            ))}
            {advice.settling_warnings.map((one) => (
                <p key={typeof one === "string" ? one : one.text} class="note">
                    {worded(typeof one === "string" ? one : one.text)}
                </p>
            ))}
            <Brackets advice={advice} />
            <Safety words={advice.safety} />
        </section>
    );
}

export function WalkView(props: { desk: Desk; limb: Limb }): JSX.Element {
    const { desk, limb } = props;
    const signs = useLoad((signal) => compute<{ signs: Sign[] }>("signs", {}, signal), "");
    const [draft, setDraft] = useState<Draft>(empty);
    const { value: settings, setValue: setSettings, forget } = useSettings(limb);
    const [advice, setAdvice] = useState<Advice | null>(null);
    const [problem, setProblem] = useState<unknown>(null);
    const [said, setSaid] = useState("");
    const list = signs.value?.signs ?? [];
    const walks = limb.facts.filter((fact) => fact.kind === "walk" && fact.withdrawn_by === null).length;
    const seen = Object.values(draft.signs).some((strength) => strength > 0);
    const whole = seen && draft.skin !== null && draft.pain !== null && draft.support !== null;
    const body = asBody(draft, list, settings);
    const trials = trialsDocument(limb, whole ? [body] : []);
    const key = whole || walks > 0 ? JSON.stringify(trials) : "";
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
    const save = async (): Promise<void> => {
        setProblem(null);
        try {
            const how = await desk.record("walk", body, `Walk ${walks + 1}, ${limb.document.person.label ?? limb.id}`);
            setSaid(how === "sent" ? `Walk ${walks + 1} is written down.` : "Kept on this device, sent when the network is back.");
            setDraft({ ...empty, ply: draft.ply });
        } catch (wrong) {
            setProblem(wrong);
        }
    };
    const take = async (step: Step): Promise<void> => {
        setProblem(null);
        try {
            if (whole) await save();
            await desk.record("advice-taken", { advice: `${step.words} ${step.change} ${step.unit}`, choice: "taken", reason: step.why ?? "" }, "Advice taken");
            await desk.record("foot-set", { ...settings, [step.setting]: step.to }, "Foot set");
            forget();
            setSaid(`${step.words} is now ${figure(step.to, measureOf(step.unit))}. Move it with the limb off the ground; then the holding screw's torque and its witness mark.`);
        } catch (wrong) {
            setProblem(wrong);
        }
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
                        <TextField words="Note" long value={draft.note} onValue={(note) => put({ note })} />
                    </details>
                    <details>
                        <summary>Tap the footfalls</summary>
                        <TapPad side={limb.document.person.side} />
                    </details>
                    <p class="next-line" role="status">
                        {advice?.stop ? `Stop: ${advice.stop_reason ?? ""}` : step ? `Next step: ${step.words} ${step.change > 0 ? "+" : "−"}${figure(Math.abs(step.change), measureOf(step.unit))}` : ""}
                    </p>
                    <Wrong problem={problem ?? signs.problem} />
                    {said && <p role="status">{said}</p>}
                    {mayWrite() && (
                        <div class="keys">
                            <Press kind="first" off={!whole} onPress={() => void save()}>
                                Write down walk {walks + 1}
                            </Press>
                            {!whole && <span class="note">Wanted: {[!seen && "a sign (or nothing seen)", draft.skin === null && "skin", draft.pain === null && "pain", draft.support === null && "support"].filter(Boolean).join(", ")}</span>}
                        </div>
                    )}
                </div>
                <div>
                    <BeforeAfter limb={limb} to={step ? { ...settingsOf(limb), [step.setting]: step.to } : settings} />
                    {advice ? <Suggestion advice={advice} limb={limb} settings={settings} onTake={(one) => void take(one)} /> : <p class="note">A sign, skin, pain and support: then the next step stands here.</p>}
                </div>
            </div>
        </div>
    );
}
