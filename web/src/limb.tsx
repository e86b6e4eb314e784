// SPDX-License-Identifier: GPL-3.0-or-later
// One limb: drawn to scale in the middle, its stages as a path, the next action one tap away. A stage opens on the same sheet.
import type { ComponentChildren, JSX } from "preact";
import { useState } from "preact/hooks";
import { Dialog, Guard, Press, useLoad, Wrong } from "./bones.tsx";
import { ClashDialog } from "./clash_dialog.tsx";
import type { Fact, Flag, Limb } from "./contract.ts";
import { Elevation } from "./elevation.tsx";
import { FactForm, FactList } from "./facts.tsx";
import { LastLook, needsLastLook } from "./last_look.tsx";
import { useDesk, type Desk } from "./limb_desk.ts";
import { waiting } from "./outbox.ts";
import { to } from "./route.ts";
import { dueWords } from "./follow_up.tsx";
import { plain, stageRules, type FactKind, type Rules } from "./rules.ts";
import { may, mayWrite } from "./session.ts";
import { StageNeeds, StagePath } from "./stage_path.tsx";
import { stageViews } from "./stage_views.tsx";
import { day, figure, worded } from "./units.ts";
import { Wearer } from "./wearer.tsx";

/** What stands in the title block of the sheet, as on any workshop drawing. */
function TitleBlock(props: { limb: Limb }): JSX.Element {
    const { limb } = props;
    const person = limb.document.person;
    return (
        <dl class="title-block" aria-label="Title block">
            <div>
                <dt>limb</dt>
                <dd>{person.label || limb.id}</dd>
            </div>
            <div>
                <dt>side</dt>
                <dd>{person.side}</dd>
            </div>
            <div>
                <dt>body mass</dt>
                <dd>{figure(person.body_mass_kg, "kg")}</dd>
            </div>
            <div>
                <dt>sheet lot</dt>
                <dd>{limb.document.pylon?.sheet_lot || "—"}</dd>
            </div>
            <div>
                <dt>version</dt>
                <dd>{limb.version}</dd>
            </div>
            <div class={limb.state.out_of_use ? "out" : ""}>
                <dt>use</dt>
                <dd>{limb.state.out_of_use ? "OUT OF USE" : limb.state.may_go_home ? "may go home" : limb.state.may_walk ? "may walk here, not home" : limb.state.may_be_loaded ? "may be loaded, not home" : "no body weight"}</dd>
            </div>
        </dl>
    );
}

/** Changes at a limb that is in use: they go back to standing and check-out, and are many. */
const isChange = (kind: FactKind): boolean => kind.stage === "" && kind.resets.length > 0;

/** Kinds that belong to no stage: they happen at any time. Signatures and withdrawals have keys of their own. */
const anytime = (rules: Rules): FactKind[] => rules.facts.filter((kind) => (kind.stage === "" || kind.stage === "shop") && !["signature", "withdrawal", "picture"].includes(kind.kind));

/** Any fact of a stage, at any time; the ones that cannot be undone are looked at by two people first. */
export function FactPicker(props: { desk: Desk; kinds: FactKind[]; words: string }): JSX.Element | null {
    const { desk } = props;
    const [kind, setKind] = useState<FactKind | null>(null);
    const [looked, setLooked] = useState<string | null>(null);
    const [said, setSaid] = useState("");
    const mine = props.kinds.filter((one) => may(one.record));
    if (mine.length === 0) return null;
    const leave = (): void => {
        setKind(null);
        setLooked(null);
    };
    const key = (one: FactKind): JSX.Element => (
        <Press
            key={one.kind}
            onPress={() => {
                setSaid("");
                setKind(one);
            }}
        >
            {one.title}
        </Press>
    );
    const asks = kind !== null && needsLastLook(kind.kind) && looked === null;
    return (
        <section class="record" aria-label={props.words}>
            <h3>{props.words}</h3>
            <div class="kinds">{mine.filter((one) => !isChange(one)).map(key)}</div>
            {mine.some(isChange) && (
                <details>
                    <summary>Something was changed</summary>
                    <div class="kinds">{mine.filter(isChange).map(key)}</div>
                </details>
            )}
            {said && <p role="status">{said}</p>}
            {kind && asks && <LastLook desk={desk} kind={kind} onLooked={setLooked} onLeave={leave} />}
            {kind && !asks && (
                <Dialog title={kind.title} onLeave={leave}>
                    <FactForm
                        desk={desk}
                        kind={kind}
                        fixed={looked !== null && kind.fields.some((field) => field.name === "read_by") ? { read_by: looked } : undefined}
                        hide={looked !== null ? ["read_by"] : []}
                        onLeave={leave}
                        onDone={(how) => {
                            setSaid(how === "sent" ? `${kind.title}: written down.` : `${kind.title}: kept on this device, sent when the network is back.`);
                            leave();
                        }}
                    />
                </Dialog>
            )}
        </section>
    );
}

function Withdraw(props: { desk: Desk; fact: Fact; kinds: FactKind[]; onLeave: () => void }): JSX.Element | null {
    const kind = props.kinds.find((one) => one.kind === "withdrawal");
    if (!kind) return null;
    return (
        <Dialog title="Take a fact back" onLeave={props.onLeave}>
            <p>It stays in the record, marked as withdrawn, with your reason.</p>
            <FactForm desk={props.desk} kind={kind} fixed={{ fact: props.fact.id }} hide={["fact"]} verb="Take it back" onLeave={props.onLeave} onDone={props.onLeave} />
        </Dialog>
    );
}

/** A prosthetist's signature under what somebody else wrote down. */
function useSign(desk: Desk): { act: ((fact: Fact) => void) | undefined; problem: unknown } {
    const [problem, setProblem] = useState<unknown>(null);
    if (!may(["prosthetist"])) return { act: undefined, problem: null };
    const act = (fact: Fact): void => {
        setProblem(null);
        desk.record("signature", { fact: fact.id }, "A signature").catch(setProblem);
    };
    return { act, problem };
}

/** The grave ones stand; what only has to be known is behind a fold. */
function Flags(props: { flags: Flag[] }): JSX.Element {
    const grave = props.flags.filter((flag) => flag.grave !== false);
    const rest = props.flags.filter((flag) => flag.grave === false);
    const list = (flags: Flag[]): JSX.Element => (
        <ul>
            {[...new Set(flags.map((flag) => flag.text))].map((text) => (
                <li key={text}>{worded(text)}</li>
            ))}
        </ul>
    );
    return (
        <section class="flags" aria-label="Flags">
            <h2>Flags</h2>
            {list(grave)}
            {rest.length > 0 && (
                <details open={grave.length === 0}>
                    <summary>{rest.length}{grave.length > 0 ? " more" : ""} to know</summary>
                    {list(rest)}
                </details>
            )}
        </section>
    );
}

function Overview(props: { desk: Desk; limb: Limb; rules: Rules }): JSX.Element {
    const { desk, limb, rules } = props;
    const next = limb.state.next_action;
    const [withdrawn, setWithdrawn] = useState<Fact | null>(null);
    const sign = useSign(desk);
    return (
        <>
            <div class="middle">
                <Elevation limb={limb} />
            </div>
            <aside class="beside" aria-label="What now">
                {next?.text && next.stage === null && <p class="press next">{worded(next.text ?? "")}</p>}
                {next?.stage && (
                    <a class="press first next" href={to("limb", limb.id, next.stage)}>
                        <small>Next</small>
                        {worded(next.text ?? "")}
                    </a>
                )}
                {limb.state.flags.length > 0 && <Flags flags={limb.state.flags} />}
                {limb.state.due.length > 0 && (
                    <section aria-label="Due">
                        <h2>Due</h2>
                        <ul class="due">
                            {limb.state.due.map((one) => (
                                <li key={one.what + one.date}>
                                    <strong>{day(one.date)}</strong> {dueWords(one)}
                                </li>
                            ))}
                        </ul>
                    </section>
                )}
                <FactPicker desk={desk} kinds={anytime(rules)} words="Happened at any time" />
                <section aria-label="Facts">
                    <h2>Facts</h2>
                    <FactList facts={limb.facts.slice(-12)} all={limb.facts} onSign={sign.act} kinds={rules.facts} outOfOrder={limb.state.out_of_order} empty="Nothing is written down yet." onWithdraw={mayWrite() ? setWithdrawn : undefined} />
                </section>
                <Wrong problem={sign.problem} />
                <Wearer desk={desk} limb={limb} />
                {withdrawn && <Withdraw desk={desk} fact={withdrawn} kinds={rules.facts} onLeave={() => setWithdrawn(null)} />}
            </aside>
        </>
    );
}

function StageSheet(props: { desk: Desk; limb: Limb; rules: Rules; name: string }): JSX.Element {
    const { desk, limb, rules, name } = props;
    const stage = limb.state.stages.find((one) => one.name === name) ?? null;
    const kinds = [...rules.facts.filter((kind) => kind.stage === name), ...(name === "follow-up" ? anytime(rules) : [])];
    const [withdrawn, setWithdrawn] = useState<Fact | null>(null);
    const facts = limb.facts.filter((fact) => kinds.some((kind) => kind.kind === fact.kind));
    const sign = useSign(desk);
    const View = stageViews[name];
    const own: ComponentChildren = View ? (
        <Guard>
            <View desk={desk} limb={limb} rules={rules} />
        </Guard>
    ) : null;
    if (!stage) return <div class="middle whole-width">{own ?? <p class="note">There is no such stage.</p>}</div>;
    return (
        <>
            <div class={`middle stage-${name}`}>
                {own ?? <Elevation limb={limb} />}
            </div>
            <aside class="beside" aria-label="This stage">
                <StageNeeds stage={stage} rule={rules.stages.find((one) => one.name === name) ?? null} />
                <FactPicker desk={desk} kinds={kinds.filter((kind) => !["ring", "walk"].includes(kind.kind))} words="Write down" />
                <section aria-label="Facts of this stage">
                    <h3>Written down</h3>
                    <FactList facts={facts} all={limb.facts} onSign={sign.act} kinds={rules.facts} outOfOrder={limb.state.out_of_order} empty="Nothing yet at this stage." onWithdraw={mayWrite() ? setWithdrawn : undefined} />
                    {withdrawn && <Withdraw desk={desk} fact={withdrawn} kinds={rules.facts} onLeave={() => setWithdrawn(null)} />}
                    <Wrong problem={sign.problem} />
                </section>
            </aside>
        </>
    );
}

export function LimbView(props: { id: string; part: string | null }): JSX.Element {
    const desk = useDesk(props.id, props.part ?? "");
    const rules = useLoad(() => stageRules(), "");
    const { limb } = desk;
    if (!limb || !rules.value) {
        return (
            <main id="main" class="plain">
                <Wrong problem={desk.problem ?? rules.problem} />
                {!desk.problem && !rules.problem && <p role="status">Taking the limb from its shelf…</p>}
            </main>
        );
    }
    if (!limb.document) {
        return (
            <main id="main" class="plain">
                <h1>Limb {limb.id}</h1>
                <p>The wearer's data was removed. This is what the maker keeps.</p>
                <FactList facts={limb.facts} kinds={rules.value.facts} empty="Nothing." />
            </main>
        );
    }
    const kept = waiting().filter((entry) => String(entry.limb) === String(limb.id)).length;
    return (
        <main id="main" class="limb">
            <h1 class="unseen">
                Limb {limb.document.person.label || limb.id}
                {props.part ? `: ${plain(props.part)}` : ""}
            </h1>
            <div class="left">
                <div class="wholes">
                    <a class="whole" href={to("limb", limb.id)} aria-current={props.part === null ? "page" : undefined}>
                        Limb
                    </a>
                    <a class="whole" href={to("limb", limb.id, "strength")} aria-current={props.part === "strength" ? "page" : undefined}>
                        Strength
                    </a>
                </div>
                <StagePath limb={limb} here={props.part} />
            </div>
            {props.part === null ? (
                <Overview desk={desk} limb={limb} rules={rules.value} />
            ) : (
                <StageSheet key={props.part} desk={desk} limb={limb} rules={rules.value} name={props.part} />
            )}
            {desk.said && (
                <p class="said" role="status">
                    {desk.said}
                </p>
            )}
            {kept > 0 && (
                <p class="said" role="status">
                    {kept === 1 ? "One entry of this limb waits" : `${kept} entries of this limb wait`} on this device for the network.
                </p>
            )}
            <ClashDialog desk={desk} />
            <TitleBlock limb={limb} />
        </main>
    );
}
