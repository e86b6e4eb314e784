// SPDX-License-Identifier: GPL-3.0-or-later
// The ring: a picture and one tap make a decision; two tapped pen marks say how it lay. Caliper readings as fall-back.
import type { JSX } from "preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { call, get } from "./api.ts";
import { Choice, DecisionMark, Drawing, Figure, NumberField, Press, Safety, Table, useDrawing, useLoad, Wrong } from "./bones.tsx";
import { CaliperForm } from "./caliper.tsx";
import type { Limb, RingAnswer, RingOutline, RingResult, RingRow } from "./contract.ts";
import type { Desk } from "./limb_desk.ts";
import { faceOf } from "./pen_marks.ts";
import { RingsOfLimb } from "./ring_board.tsx";
import { RingPicture, type Mark } from "./ring_picture.tsx";
import { mayWrite } from "./session.ts";
import { Evidence, SqueezeProof } from "./squeeze.tsx";
import { figure, number, unitOf, worded, type Measure } from "./units.ts";

type User = "adult" | "child";

/** Under 18 by the day it is formed: which limits hold. Null when no birth date is known. */
function userOf(limb: Limb): User | null {
    const born = limb.document.person.birth_date;
    if (!born) return null;
    const grown = new Date(`${born}T12:00:00`);
    grown.setFullYear(grown.getFullYear() + 18);
    return grown > new Date() ? "child" : "adult";
}

const rows: [string, string, Measure][] = [
    ["wall_min_off_seam_mm", "least wall off the seam", "mm"],
    ["wall_min_mm", "least wall", "mm"],
    ["wall_median_mm", "median wall", "mm"],
    ["groove_depth_mm", "groove along the seam", "mm"],
    ["seam_unjoined_depth_mm", "not joined", "mm"],
    ["void_area_mm2", "voids", "mm2"],
    ["outer_diameter_mean_mm", "outer diameter, mean", "mm"],
    ["inner_diameter_mean_mm", "inner diameter, mean", "mm"],
    ["inscribed_diameter_mm", "largest circle in the bore", "mm"],
    ["circumscribed_diameter_mm", "least circle round it", "mm"],
    ["ovality_percent", "ovality", "percent"],
    ["area_mm2", "area", "mm2"],
    ["i_min_mm4", "least second moment", "mm4"],
    ["torsion_constant_mm4", "torsion constant", "mm4"],
];

const half = (result: RingResult, key: string): number | null => {
    const doubt = result.uncertainty?.[key];
    return doubt ? Math.hypot(doubt.edge ?? 0, doubt.scale ?? 0) : null;
};

export function RingFigures(props: { result: RingResult }): JSX.Element {
    const { result } = props;
    const digits = (measure: Measure): number | undefined => (measure === "mm" ? (unitOf("mm") === "in" ? 4 : 2) : measure === "mm2" && unitOf("mm2") === "mm²" ? 1 : undefined);
    return (
        <Table
            caption="Figures of the ring, 95 % half widths beside"
            heads={["Figure", "Value", "±"]}
            rows={rows.map(([key, words, measure]) => {
                const doubt = half(result, key);
                return [words, figure(result[key] as number | null, measure, digits(measure)), doubt === null ? "—" : number(doubt, measure, digits(measure))];
            })}
        />
    );
}

/** The word first, over everything else. */
function Headline(props: { result: RingResult }): JSX.Element {
    const { result } = props;
    return (
        <section class="verdict" aria-label="Decision" aria-live="polite">
            <DecisionMark decision={result.decision} large />
            {result.body_weight ? (
                <p class="words">{result.decision_words}</p>
            ) : (
                <p class="stop">
                    <strong>No body weight on this limb, not even between bars.</strong>
                </p>
            )}
            <Evidence result={result} />
        </section>
    );
}

function ReasonList(props: { reasons: RingResult["reasons"] }): JSX.Element {
    const measure = (unit: string | null): Measure => (unit === "mm" ? "mm" : "none");
    return (
        <ul class="reasons">
            {props.reasons.map((reason) => (
                <li key={reason.code + reason.text}>
                    <DecisionMark decision={reason.decision} /> {worded(reason.text)}
                    {reason.unit === "mm" && unitOf("mm") === "in" && reason.value !== null && (
                        <span class="beside">
                            {figure(reason.value, measure(reason.unit))}
                            {reason.limit !== null && ` against ${figure(reason.limit, measure(reason.unit))}`}
                        </span>
                    )}
                </li>
            ))}
        </ul>
    );
}

/** What speaks against it first; what lies within its limit behind a fold. */
function Reasons(props: { result: RingResult }): JSX.Element {
    const { result } = props;
    const against = result.reasons.filter((reason) => reason.decision !== "accept");
    const within = result.reasons.filter((reason) => reason.decision === "accept");
    return (
        <section class="why" aria-label="Reasons">
            {against.length > 0 && <ReasonList reasons={against} />}
            {within.length > 0 && (
                <details open={against.length === 0}>
                    <summary>{within.length} within their limits</summary>
                    <ReasonList reasons={within} />
                </details>
            )}
            {result.causes.length > 0 && (
                <>
                    <h2>Likely causes</h2>
                    <ul>
                        {result.causes.map((cause) => (
                            <li key={cause.code}>
                                {worded(cause.text)} <span class="note">{cause.likelihood}</span>
                            </li>
                        ))}
                    </ul>
                </>
            )}
            {result.sharpen.length > 0 && (
                <details>
                    <summary>What would sharpen the decision</summary>
                    <ul>
                        {result.sharpen.map((line) => (
                            <li key={line}>{line}</li>
                        ))}
                    </ul>
                </details>
            )}
            <Safety words={result.safety} />
        </section>
    );
}

/** Takes the picture: by drop, from the tablet's camera or the scanner's folder. */
function Take(props: { limb: Limb; desk: Desk; onRing: (answer: RingAnswer) => void }): JSX.Element {
    const { limb } = props;
    const [picture, setPicture] = useState<{ name: string; hash: string } | null>(null);
    const [busy, setBusy] = useState("");
    const [problem, setProblem] = useState<unknown>(null);
    const [over, setOver] = useState(false);
    const [more, setMore] = useState<{ height_mm: number | null; dpi: number | null }>({ height_mm: null, dpi: null });
    const known = userOf(limb);
    const upload = async (file: File | undefined): Promise<void> => {
        if (!file) return;
        setProblem(null);
        setPicture(null);
        setBusy(`Taking in ${file.name}…`);
        try {
            const answer = await call<{ picture: string }>("POST", `limbs/${encodeURIComponent(limb.id)}/pictures`, file, { patience: 120000 });
            setPicture({ name: file.name, hash: answer.picture });
        } catch (wrong) {
            setProblem(wrong);
        } finally {
            setBusy("");
        }
    };
    const decide = async (user: User): Promise<void> => {
        if (!picture) return;
        setProblem(null);
        setBusy("Measuring…");
        try {
            const body = { picture: picture.hash, user, ...(more.height_mm !== null && { height_mm: more.height_mm }), ...(more.dpi !== null && { dpi: more.dpi }) };
            props.onRing(await call<RingAnswer>("POST", `limbs/${encodeURIComponent(limb.id)}/rings`, body, { patience: 120000 }));
        } catch (wrong) {
            setProblem(wrong);
        } finally {
            setBusy("");
        }
    };
    return (
        <section class="take" aria-label="A new ring">
            <label
                class={`drop ${over ? "over" : ""}`}
                onDragOver={(event) => {
                    event.preventDefault();
                    setOver(true);
                }}
                onDragLeave={() => setOver(false)}
                onDrop={(event) => {
                    event.preventDefault();
                    setOver(false);
                    void upload(event.dataTransfer?.files[0]);
                }}
            >
                <input type="file" accept="image/png,image/jpeg,image/tiff,.png,.jpg,.jpeg,.tif,.tiff" onChange={(event) => void upload(event.currentTarget.files?.[0])} />
                <span>
                    {picture ? (
                        <>
                            <strong>{picture.name}</strong> is here
                        </>
                    ) : (
                        <>
                            <strong>Scan of the ring</strong>: drop it here, or tap to choose or take one
                        </>
                    )}
                </span>
            </label>
            <div class="keys" role="group" aria-label="Whose ring: adult or child">
                {(["adult", "child"] as User[]).map((user) => (
                    <Press key={user} kind={known === null || known === user ? "first" : "plain"} off={picture === null || busy !== ""} onPress={() => void decide(user)}>
                        {user === "adult" ? "Adult" : "Child"}
                        {known === user ? " (by birth date)" : ""}
                    </Press>
                ))}
            </div>
            {busy && <p role="status">{busy}</p>}
            <Wrong problem={problem} />
            <details>
                <summary>Where it was sawn, and a picture without its resolution</summary>
                <div class="row">
                    <NumberField words="Height of the ring above the floor" name="height_mm" value={more.height_mm} low={-100} high={700} onValue={(height_mm) => setMore({ ...more, height_mm })} />
                    <NumberField words="Resolution, dots per inch" measure="none" value={more.dpi} low={50} high={4800} onValue={(dpi) => setMore({ ...more, dpi })} />
                </div>
            </details>
            <details>
                <summary>No picture: caliper readings</summary>
                <CaliperForm
                    onTable={async (csv, user) => {
                        props.onRing(await call<RingAnswer>("POST", `limbs/${encodeURIComponent(limb.id)}/rings`, { caliper_csv: csv, user, ...(more.height_mm !== null && { height_mm: more.height_mm }) }));
                    }}
                    user={known ?? "adult"}
                />
            </details>
        </section>
    );
}

/** One ring as it was found: picture with its edges, marks to tap, decision, the drawn sheet. */
function One(props: { limb: Limb; ring: RingRow; desk: Desk; fresh: RingResult | null; said: string; onSaid: (words: string) => void; onAnswer: (answer: RingAnswer) => void }): JSX.Element {
    const { limb, ring } = props;
    const base = `limbs/${encodeURIComponent(limb.id)}/rings/${ring.n}`;
    const stored = limb.facts.find((fact) => fact.id === ring.fact);
    const result = props.fresh ?? ((stored?.body.result as unknown as RingResult | undefined) ?? null);
    const outline = useLoad((signal) => get<RingOutline>(`${base}/outline`, signal), `${limb.id}/${ring.n}`);
    const sheet = useDrawing(`${base}/sheet.svg`, undefined);
    const [mark, setMark] = useState<Mark | null>(null);
    const [posterior, setPosterior] = useState<number | null>(null);
    const [typedIn, setTypedIn] = useState<{ posterior: number | null; face: "limb-side" | "foot-side" | null }>({ posterior: null, face: null });
    const { said, onSaid: setSaid } = props;
    const [problem, setProblem] = useState<unknown>(null);
    const tell = async (posterior_deg: number, face: string): Promise<void> => {
        setProblem(null);
        try {
            props.onAnswer(await call<RingAnswer>("PUT", base, { posterior_deg, face }, { version: limb.version }));
            setSaid(`Posterior at ${posterior_deg.toFixed(0)}° in the picture, ${face === "limb-side" ? "the face toward the limb" : "the face toward the foot"} lay on the glass.`);
        } catch (wrong) {
            setProblem(wrong);
        }
    };
    const tapped = (angle: number): void => {
        if (mark === "posterior") {
            setPosterior(angle);
            setMark("outward");
        } else if (mark === "outward" && posterior !== null) {
            const { face, off_deg } = faceOf(limb.document.person.side, posterior, angle);
            if (off_deg > 35) {
                setSaid(`The two marks are ${(90 + off_deg).toFixed(0)}° or ${(90 - off_deg).toFixed(0)}° apart; a quarter turn is wanted. Tap the posterior line again.`);
                setPosterior(null);
                setMark("posterior");
                return;
            }
            setMark(null);
            void tell(Math.round(posterior * 10) / 10, face);
        }
    };
    return (
        <>
            {result && <Headline result={result} />}
            <div class="ring-places">
                {ring.picture ? (
                    <div class="picture">
                        <RingPicture address={`/api/pictures/${ring.picture}/view.png`} outline={outline.value} marking={mark} posterior={posterior ?? ring.posterior_deg ?? null} onTap={tapped}>
                            {mayWrite() && (
                                <Press
                                    kind={ring.posterior_deg === null || ring.posterior_deg === undefined ? "first" : "plain"}
                                    pressed={mark !== null}
                                    onPress={() => {
                                        setSaid("");
                                        setPosterior(null);
                                        setMark(mark === null ? "posterior" : null);
                                    }}
                                >
                                    {mark === null ? "Tap the two pen marks" : mark === "posterior" ? "Tap the posterior line" : "Now the outward dot"}
                                </Press>
                            )}
                        </RingPicture>
                        {said && <p role="status">{said}</p>}
                        <Wrong problem={problem} />
                        <details>
                            <summary>Type the marks instead</summary>
                            <NumberField words="Posterior line, counter-clockwise from the right of the picture" measure="deg" value={typedIn.posterior} low={-360} high={360} onValue={(next) => setTypedIn({ ...typedIn, posterior: next })} />
                            <Choice
                                words="Face on the glass"
                                value={typedIn.face}
                                choices={[
                                    { value: "limb-side", words: "toward the limb" },
                                    { value: "foot-side", words: "toward the foot" },
                                ]}
                                onValue={(face) => setTypedIn({ ...typedIn, face })}
                            />
                            <Press off={typedIn.posterior === null || typedIn.face === null || !mayWrite()} onPress={() => void tell(typedIn.posterior ?? 0, typedIn.face ?? "limb-side")}>
                                Take these
                            </Press>
                        </details>
                    </div>
                ) : (
                    <p class="note">Measured by caliper: there is no picture.</p>
                )}
                {result && <Reasons result={result} />}
            </div>
            {result && (
                <dl class="figures">
                    <Figure words="least wall off the seam" value={figure(result.wall_min_off_seam_mm as number, "mm", unitOf("mm") === "in" ? 3 : 2)} beside={`median ${figure(result.wall_median_mm as number, "mm", unitOf("mm") === "in" ? 3 : 2)}`} />
                    <Figure words="groove" value={figure(result.groove_depth_mm as number | null, "mm", unitOf("mm") === "in" ? 3 : 2)} />
                    <Figure words="not joined" value={figure(result.seam_unjoined_depth_mm as number | null, "mm", unitOf("mm") === "in" ? 3 : 2)} />
                    <Figure words="diameter" value={figure(result.outer_diameter_mean_mm as number, "mm", unitOf("mm") === "in" ? 3 : 1)} beside={`bore ${figure(result.inner_diameter_mean_mm as number, "mm", unitOf("mm") === "in" ? 3 : 1)}`} />
                </dl>
            )}
            {result && mayWrite() && <SqueezeProof limb={limb} ring={ring} result={result} onAnswer={props.onAnswer} />}
            <Drawing svg={sheet.svg} problem={sheet.problem} wide alt="The ring as drawn: picture with its edges, wall rolled out against its limits, figures, decision" twin={result ? <RingFigures result={result} /> : undefined} />
        </>
    );
}

export function RingView(props: { desk: Desk; limb: Limb }): JSX.Element {
    const { desk, limb } = props;
    const [fresh, setFresh] = useState<{ n: number; result: RingResult } | null>(null);
    const [chosen, setChosen] = useState<number | null>(null);
    const [taking, setTaking] = useState(false);
    const shown = useRef<HTMLDivElement>(null);
    // A ring whose marks were told is written down once more under its number: only the last of a number is shown.
    const rings = limb.rings.filter((one, place) => !one.withdrawn && !limb.rings.some((later, after) => after > place && !later.withdrawn && one.ring_number && later.ring_number === one.ring_number));
    const number = chosen ?? rings[rings.length - 1]?.n ?? null;
    const ring = limb.rings.find((one) => one.n === number) ?? null;
    const [said, setSaid] = useState("");
    const take = (answer: RingAnswer): void => {
        setFresh({ n: answer.ring, result: answer.result });
        setChosen(answer.ring);
        setTaking(false);
        desk.take(answer);
    };
    useEffect(() => {
        if (fresh) shown.current?.scrollIntoView({ block: "start" });
    }, [fresh?.n]);
    return (
        <div class="ring" ref={shown}>
            {mayWrite() && (ring === null || taking) && <Take limb={limb} desk={desk} onRing={take} />}
            {ring && (
                <>
                    <div class="keys ring-list" role="group" aria-label="Rings of this limb">
                        {rings.map((one) => (
                            <Press key={one.n} pressed={one.n === number} onPress={() => setChosen(one.n)}>
                                Ring {one.ring_number ?? one.n + 1}
                                {one.height_mm !== null && `, ${figure(one.height_mm, "mm", 0)}`} <DecisionMark decision={one.decision} />
                            </Press>
                        ))}
                        {mayWrite() && !taking && <Press onPress={() => setTaking(true)}>Another ring</Press>}
                    </div>
                    <One key={`${ring.n}`} limb={limb} ring={ring} desk={desk} fresh={fresh?.n === ring.n ? fresh.result : null} said={said} onSaid={setSaid} onAnswer={take} />
                    <RingsOfLimb key={`board ${limb.facts.length}`} limb={limb} count={rings.length} />
                </>
            )}
            {!ring && !mayWrite() && <p class="note">No ring is measured yet.</p>}
        </div>
    );
}
