// SPDX-License-Identifier: GPL-3.0-or-later
// Coming in: name and password once a day, a PIN between two pairs of hands, and the first admin by the printed link.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { call, get } from "./api.ts";
import { Dialog, Press, TextField, useLoad, Wrong } from "./bones.tsx";
import type { About, Me, Person } from "./contract.ts";
import { waiting } from "./outbox.ts";
import { current, settle } from "./session.ts";

export function SignIn(): JSX.Element {
    const [name, setName] = useState(localStorage.getItem("standfast-name") ?? "");
    const [password, setPassword] = useState("");
    const [problem, setProblem] = useState<unknown>(null);
    const about = useLoad((signal) => get<About>("about", signal), "");
    const enter = async (): Promise<void> => {
        setProblem(null);
        try {
            const me = await call<Me>("POST", "sign-in", { name, password });
            localStorage.setItem("standfast-name", name);
            settle(me);
        } catch (wrong) {
            setProblem(wrong);
        }
    };
    return (
        <main class="door" id="main">
            <h1>Standfast</h1>
            <p>The shop's own bench record of one-piece below-knee limbs.</p>
            {about.value?.first_admin && <p role="status">Nobody is in this store yet: open the link that the server printed when it started.</p>}
            {waiting().length > 0 && (
                <p role="status">
                    {waiting().length === 1 ? "One entry waits" : `${waiting().length} entries wait`} on this device, typed without a network by {[...new Set(waiting().map((entry) => entry.initials))].join(", ")}: sent when they sign in.
                </p>
            )}
            {about.value?.demo && <p role="status">This is the invented shop. Its sign-in is printed where it was started.</p>}
            <form
                class="fact" noValidate
                onSubmit={(event) => {
                    event.preventDefault();
                    void enter();
                }}
            >
                <TextField words="Name" value={name} onValue={setName} autocomplete="username" name="name" />
                <TextField words="Password" kind="password" value={password} onValue={setPassword} autocomplete="current-password" name="password" />
                <Wrong problem={problem ?? about.problem} />
                <div class="keys">
                    <button type="submit" class="press first" disabled={name === "" || password === ""}>
                        Sign in
                    </button>
                </div>
            </form>
            <p class="safety">{about.value?.safety ?? "An aid to a licensed prosthetist, not a certificate."}</p>
        </main>
    );
}

export function FirstAdmin(props: { token: string }): JSX.Element {
    const [fields, setFields] = useState({ name: "", initials: "", password: "", pin: "" });
    const [problem, setProblem] = useState<unknown>(null);
    const put = (name: keyof typeof fields) => (value: string) => setFields((now) => ({ ...now, [name]: value }));
    const make = async (): Promise<void> => {
        setProblem(null);
        try {
            settle(await call<Me>("POST", "first-admin", { token: props.token, ...fields }));
            location.hash = "#/people";
        } catch (wrong) {
            setProblem(wrong);
        }
    };
    return (
        <main class="door" id="main">
            <h1>The first admin of this store</h1>
            <form
                class="fact" noValidate
                onSubmit={(event) => {
                    event.preventDefault();
                    void make();
                }}
            >
                <TextField words="Name" value={fields.name} onValue={put("name")} autocomplete="username" />
                <TextField words="Initials" value={fields.initials} onValue={put("initials")} max={4} />
                <TextField words="Password" kind="password" value={fields.password} onValue={put("password")} note="10 to 128 characters" autocomplete="new-password" />
                <TextField words="PIN" kind="password" value={fields.pin} onValue={put("pin")} note="4 to 8 digits, for the shared tablet" />
                <Wrong problem={problem} />
                <div class="keys">
                    <button type="submit" class="press first" disabled={Object.values(fields).includes("")}>
                        Make
                    </button>
                </div>
            </form>
        </main>
    );
}

/** Another pair of hands at the same tablet: tap the person, four digits, done. */
export function SwitchDialog(props: { onLeave: () => void }): JSX.Element {
    const people = useLoad((signal) => get<{ people: Person[] }>("people", signal), "");
    const [person, setPerson] = useState<Person | null>(null);
    const [pin, setPin] = useState("");
    const [problem, setProblem] = useState<unknown>(null);
    const enter = async (): Promise<void> => {
        if (!person) return;
        setProblem(null);
        try {
            settle(await call<Me>("POST", "switch", { person: person.id, pin }));
            props.onLeave();
        } catch (wrong) {
            setPin("");
            setProblem(wrong);
        }
    };
    const leave = async (): Promise<void> => {
        try {
            await call("POST", "sign-out", {});
            settle(null);
            props.onLeave();
        } catch (wrong) {
            setProblem(wrong);
        }
    };
    const present = (people.value?.people ?? []).filter((one) => one.active && one.has_pin);
    return (
        <Dialog title={person ? `PIN of ${person.name}` : "Who is at the tablet?"} onLeave={props.onLeave}>
            {!person && (
                <div class="people">
                    {present.map((one) => (
                        <Press key={one.id} onPress={() => setPerson(one)} pressed={one.id === current()?.person.id}>
                            <strong>{one.initials}</strong> {one.name}, {one.role}
                        </Press>
                    ))}
                    {present.length === 0 && <p class="note">Nobody has a PIN yet: an admin gives one under People.</p>}
                </div>
            )}
            {person && (
                <form
                    class="pin"
                    onSubmit={(event) => {
                        event.preventDefault();
                        void enter();
                    }}
                >
                    <TextField words="PIN" kind="password" value={pin} onValue={setPin} max={8} autocomplete="one-time-code" />
                    <div class="pad">
                        {["1", "2", "3", "4", "5", "6", "7", "8", "9", "", "0", "←"].map((key, place) =>
                            key === "" ? (
                                <span key={place} />
                            ) : (
                                <Press key={place} label={key === "←" ? "take back one digit" : undefined} onPress={() => setPin((now) => (key === "←" ? now.slice(0, -1) : now + key))}>
                                    {key}
                                </Press>
                            ),
                        )}
                    </div>
                    <button type="submit" class="press first" disabled={pin.length < 4}>
                        Go on
                    </button>
                </form>
            )}
            <Wrong problem={problem ?? people.problem} />
            <div class="keys">
                <Press onPress={props.onLeave}>Leave</Press>
                <Press onPress={() => void leave()}>Sign out</Press>
            </div>
        </Dialog>
    );
}
