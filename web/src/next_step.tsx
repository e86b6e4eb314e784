// SPDX-License-Identifier: GPL-3.0-or-later
// The next step of a walking trial: one suggestion with its reason and what it expects, what was said last time and what came
// of it, what to rule out first, why not the others, and the brackets as bars.
import type { JSX } from "preact";
import { Press, Safety, Tick } from "./bones.tsx";
import type { Limb } from "./contract.ts";
import { to } from "./route.ts";
import { plain } from "./rules.ts";
import { mayWrite } from "./session.ts";
import { settingNames } from "./settings.tsx";
import { figure, worded, type Measure } from "./units.ts";

export interface Step {
    setting: string;
    change: number;
    from: number;
    to: number;
    unit: string;
    words: string;
    why?: string;
    why_not?: string;
    expects?: string;
    ways?: { way: string; to: number | number[]; text: string }[];
}
export interface Advice {
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

export const headlines: { [advice: string]: string } = {
    "fit-first": "Stop: put the fit right first",
    settled: "Nothing more to change: settle and sign",
    "no-gain": "Leave the settings, and look elsewhere",
    lacking: "This adapter lacks the motion",
    "check-first": "Check first, change nothing",
    "walk-again": "Walk once more as it is",
};
export const measureOf = (unit: string): Measure => (unit === "mm" ? "mm" : "deg");

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

export function Suggestion(props: { advice: Advice; limb: Limb; inOrder: string[]; onInOrder: (check: string, good: boolean) => void; onTake: (step: Step) => void }): JSX.Element {
    const { advice } = props;
    const step = advice.stop ? undefined : advice.next[0];
    const last = advice.said_and_seen[advice.said_and_seen.length - 1];
    return (
        <section class="suggestion" aria-label="Next step" aria-live="polite">
            <h2>Next step</h2>
            {last?.expected && (
                <p class="note">
                    Said last time: {worded(last.expected)}. Seen: {worded(last.seen)}. {!last.followed ? "Another choice was made." : last.came_true === null ? "" : last.came_true ? "It came true." : "It did not come true."}
                </p>
            )}
            {!step && (
                <p class={advice.advice === "fit-first" ? "stop" : "step"}>
                    <strong>{headlines[advice.advice] ?? plain(advice.advice)}</strong>
                </p>
            )}
            {advice.stop_reason && <p>{worded(advice.stop_reason)}.</p>}
            {advice.advice === "settled" && (
                <div class="keys">
                    <a class="press first" href={to("limb", props.limb.id, "settle")}>
                        Settle and sign
                    </a>
                </div>
            )}
            {advice.flags.map((flag) => (
                <p key={flag.code} class="flag">
                    △ {worded(flag.text)}
                </p>
            ))}
            {step && (
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
                    <p>{worded(step.why ?? "")}.</p>
                    <p class="note">Expected: {worded(step.expects ?? "")}</p>
                    {step.ways && (
                        <ul>
                            {step.ways.map((one) => (
                                <li key={one.way}>
                                    <strong>{[one.to].flat().map((stop) => figure(stop, measureOf(step.unit))).join(", then ")}</strong>: {one.text}
                                </li>
                            ))}
                        </ul>
                    )}
                </>
            )}
            {(advice.exclude_first.length > 0 || props.inOrder.length > 0) && !advice.stop && (
                <>
                    <h3>First rule out</h3>
                    {advice.exclude_first.map((one) => (
                        <Tick key={one.check} words={worded(one.text)} value={false} onValue={() => props.onInOrder(one.check, true)} />
                    ))}
                    {props.inOrder.map((check) => (
                        <Tick key={check} words={`${plain(check)}: in order`} value onValue={() => props.onInOrder(check, false)} />
                    ))}
                    <p class="note">Tick what was looked at and is in order.</p>
                </>
            )}
            {step && mayWrite() && (
                <div class="keys">
                    <Press kind="first" onPress={() => props.onTake(step)}>
                        Take it
                    </Press>
                </div>
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
            {advice.notes.map((line) => (
                <p key={line} class="note">
                    {worded(line)}
                </p>
            ))}
            <Brackets advice={advice} />
            <Safety words={advice.safety} />
        </section>
    );
}
