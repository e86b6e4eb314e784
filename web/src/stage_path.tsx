// SPDX-License-Identifier: GPL-3.0-or-later
// The stages as a path down the side of the sheet: what is done, what is open, what is shut. And one stage's own needs.
import type { JSX } from "preact";
import { StateMark } from "./bones.tsx";
import type { Limb, Stage } from "./contract.ts";
import { to } from "./route.ts";
import { type StageRule } from "./rules.ts";
import { worded } from "./units.ts";

export function StagePath(props: { limb: Limb; here: string | null }): JSX.Element {
    const { limb } = props;
    const next = limb.state.next_action?.stage;
    return (
        <nav class="path" aria-label="Stages of this limb">
            <ol>
                {limb.state.stages.map((stage) => {
                    const left = stage.needs.filter((need) => !need.met).length;
                    return (
                        <li key={stage.name} class={`${stage.state} ${stage.name === next ? "next" : ""}`}>
                            <a href={to("limb", limb.id, stage.name)} aria-current={stage.name === props.here ? "step" : undefined}>
                                <StateMark state={stage.state} bare />
                                <span class="title">{stage.title}</span>
                                <span class="left">
                                    {stage.name === next ? "next" : stage.state === "done" ? "" : stage.state === "again" ? "again" : left > 0 ? `needs ${left}` : ""}
                                </span>
                            </a>
                        </li>
                    );
                })}
            </ol>
        </nav>
    );
}

function Want(props: { need: Stage["needs"][number] }): JSX.Element {
    const { need } = props;
    return (
        <li class={need.met ? "met" : "unmet"}>
            <span aria-hidden="true">{need.met ? "✓" : "○"}</span>
            <span>
                <span class="unseen">{need.met ? "met: " : "still needed: "}</span>
                {worded(need.text)}
                {!need.met && need.why && need.why !== need.text && <small> {worded(need.why)}</small>}
            </span>
        </li>
    );
}

/** What one stage still needs; a shut one says why, and what opens it. */
export function StageNeeds(props: { stage: Stage; rule: StageRule | null }): JSX.Element {
    const { stage, rule } = props;
    const met = stage.needs.filter((need) => need.met);
    return (
        <section class={`needs ${stage.state}`} aria-label="What this stage needs">
            <h2>
                <StateMark state={stage.state} /> {stage.title}
            </h2>
            {rule?.asks && <p class="asks">{worded(rule.asks)}</p>}
            {stage.state === "shut" && (
                <div class="gate" role="note">
                    <p>
                        <strong>Shut: {worded(stage.why_shut ?? "something before it is missing")}.</strong>
                    </p>
                    {stage.opens_by && <p>It opens by: {worded(stage.opens_by)}.</p>}
                </div>
            )}
            <ul class="wants">
                {stage.needs
                    .filter((need) => !need.met)
                    .map((need) => (
                        <Want key={need.text} need={need} />
                    ))}
            </ul>
            {met.length > 0 && (
                <details>
                    <summary>{met.length === 1 ? "One is met" : `${met.length} are met`}</summary>
                    <ul class="wants">
                        {met.map((need) => (
                            <Want key={need.text} need={need} />
                        ))}
                    </ul>
                </details>
            )}
            {rule && (
                <details>
                    <summary>Small print</summary>
                    <ul>
                        {rule.small_print.map((line) => (
                            <li key={line}>{worded(line)}</li>
                        ))}
                    </ul>
                    {rule.undoing && <p>Undoing it: {rule.undoing}</p>}
                </details>
            )}
        </section>
    );
}
