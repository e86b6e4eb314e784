// SPDX-License-Identifier: GPL-3.0-or-later
// Caliper readings round the ring when there is no scanner: outer diameter and wall at stations counted from the posterior
// line, counter-clockwise. A caliper that types sends its reading and Enter, and the next box has the keyboard.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { Choice, NumberField, Wrong } from "./bones.tsx";

export function CaliperForm(props: { user: "adult" | "child"; onTable: (csv: string, user: "adult" | "child") => Promise<void> }): JSX.Element {
    const [stations, setStations] = useState("8");
    const [user, setUser] = useState(props.user);
    const [outer, setOuter] = useState<(number | null)[]>([]);
    const [wall, setWall] = useState<(number | null)[]>([]);
    const [problem, setProblem] = useState<unknown>(null);
    const [busy, setBusy] = useState(false);
    const count = Number(stations);
    const angles = Array.from({ length: count }, (_, place) => (360 * place) / count);
    const put = (list: (number | null)[], place: number, value: number | null): (number | null)[] => {
        const next = Array.from({ length: Math.max(list.length, count) }, (_, number) => list[number] ?? null);
        next[place] = value;
        return next;
    };
    const full = angles.every((_, place) => (outer[place] ?? null) !== null && (wall[place] ?? null) !== null);
    const measure = async (): Promise<void> => {
        if (busy) return;
        setBusy(true);
        setProblem(null);
        const lines = angles.map((angle, place) => `${angle},${(outer[place] ?? 0) / 2},${wall[place] ?? 0}`);
        try {
            await props.onTable(`angle_deg,outer_mm,wall_mm\n${lines.join("\n")}\n`, user);
        } catch (wrong) {
            setProblem(wrong);
        } finally {
            setBusy(false);
        }
    };
    return (
        <form
            class="caliper"
            onSubmit={(event) => {
                event.preventDefault();
                if (full) void measure();
            }}
        >
            <Choice words="Stations" value={stations} choices={["8", "12", "16"].map((value) => ({ value, words: value }))} onValue={setStations} />
            <Choice
                words="Whose ring"
                value={user}
                choices={[
                    { value: "adult", words: "adult" },
                    { value: "child", words: "child" },
                ]}
                onValue={setUser}
            />
            {angles.map((angle, place) => (
                <div class="row" key={angle}>
                    <span class="station">{angle.toFixed(0)}°</span>
                    <NumberField words={`Outer diameter at ${angle.toFixed(0)}°`} measure="mm" step={0.1} value={outer[place] ?? null} low={20} high={90} onValue={(value) => setOuter((now) => put(now, place, value))} />
                    <NumberField words={`Wall at ${angle.toFixed(0)}°`} measure="mm" step={0.1} value={wall[place] ?? null} low={1} high={15} onValue={(value) => setWall((now) => put(now, place, value))} />
                </div>
            ))}
            <Wrong problem={problem} />
            <div class="keys">
                <button type="submit" class="press first" disabled={!full || busy}>
                    Measure
                </button>
            </div>
        </form>
    );
}
