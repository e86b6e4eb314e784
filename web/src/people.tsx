// SPDX-License-Identifier: GPL-3.0-or-later
// Who works here: an admin adds people, gives roles and PINs, unlocks; everybody else sees the list.
import type { JSX } from "preact";
import { useState } from "preact/hooks";
import { call, get } from "./api.ts";
import { Choice, Press, Table, TextField, useLoad, Wrong } from "./bones.tsx";
import type { Person, Role, UnitsKind } from "./contract.ts";
import { current, may } from "./session.ts";
import { moment } from "./units.ts";

const roles: Role[] = ["prosthetist", "technician", "reader", "admin"];

interface Draft {
    id: number | null;
    name: string;
    initials: string;
    role: Role;
    licence: string;
    password: string;
    pin: string;
    units: UnitsKind;
}
const empty: Draft = { id: null, name: "", initials: "", role: "technician", licence: "", password: "", pin: "", units: "metric" };

export function People(): JSX.Element {
    const people = useLoad((signal) => get<{ people: Person[] }>("people", signal), "");
    const [draft, setDraft] = useState<Draft | null>(null);
    const [problem, setProblem] = useState<unknown>(null);
    const admin = may(["admin"]);
    const act = async (work: () => Promise<unknown>): Promise<void> => {
        setProblem(null);
        try {
            await work();
            setDraft(null);
            people.again();
        } catch (wrong) {
            setProblem(wrong);
        }
    };
    const save = (): Promise<void> =>
        act(async () => {
            if (!draft) return;
            const { id, password, pin, licence, ...rest } = draft;
            const body = { ...rest, licence: licence || null, ...(password && { password }), ...(pin && { pin }) };
            await (id === null ? call("POST", "people", body) : call("PUT", `people/${id}`, body));
        });
    return (
        <main id="main" class="plain">
            <h1>People</h1>
            <Table
                caption="Everybody who works with this store"
                heads={["Name", "Initials", "Role", "Licence", "State", ""]}
                rows={(people.value?.people ?? []).map((one) => [
                    one.name,
                    one.initials,
                    one.role,
                    one.licence ?? "—",
                    one.active ? (one.locked_until ? `locked until ${moment(one.locked_until)}` : "active") : "left",
                    admin ? (
                        <div class="keys">
                            <Press onPress={() => setDraft({ ...empty, ...one, licence: one.licence ?? "" })}>Change</Press>
                            {one.locked_until && <Press onPress={() => void act(() => call("PUT", `people/${one.id}`, { unlock: true }))}>Unlock</Press>}
                            {one.id !== current()?.person.id && (
                                <Press onPress={() => void act(() => call("PUT", `people/${one.id}`, { active: !one.active }))}>{one.active ? "Has left" : "Is back"}</Press>
                            )}
                        </div>
                    ) : (
                        ""
                    ),
                ])}
            />
            <Wrong problem={problem ?? people.problem} />
            {admin && !draft && (
                <Press kind="first" onPress={() => setDraft(empty)}>
                    Add a person
                </Press>
            )}
            {draft && (
                <form
                    class="fact narrow" noValidate
                    onSubmit={(event) => {
                        event.preventDefault();
                        void save();
                    }}
                >
                    <h2>{draft.id === null ? "A new person" : draft.name}</h2>
                    <TextField words="Name" value={draft.name} onValue={(name) => setDraft({ ...draft, name })} />
                    <TextField words="Initials" value={draft.initials} max={4} onValue={(initials) => setDraft({ ...draft, initials })} />
                    <Choice words="Role" value={draft.role} choices={roles.map((value) => ({ value, words: value }))} onValue={(role) => setDraft({ ...draft, role })} />
                    <TextField words="Licence" value={draft.licence} note="Empty: may not sign what a licence is needed for" onValue={(licence) => setDraft({ ...draft, licence })} />
                    <TextField words="Password" kind="password" value={draft.password} note={draft.id === null ? "10 to 128 characters" : "Empty: stays as it is"} onValue={(password) => setDraft({ ...draft, password })} autocomplete="new-password" />
                    <TextField words="PIN" kind="password" value={draft.pin} note="4 to 8 digits" onValue={(pin) => setDraft({ ...draft, pin })} />
                    <Choice
                        words="Units"
                        value={draft.units}
                        choices={[
                            { value: "metric", words: "metric" },
                            { value: "inch", words: "inch-pound" },
                        ]}
                        onValue={(units) => setDraft({ ...draft, units })}
                    />
                    <div class="keys">
                        <button type="submit" class="press first" disabled={draft.name === "" || draft.initials === ""}>
                            Save
                        </button>
                        <Press onPress={() => setDraft(null)}>Leave</Press>
                    </div>
                </form>
            )}
            <Letterhead admin={admin} />
        </main>
    );
}

interface Shop {
    name: string | null;
    address: string | null;
    telephone: string | null;
    statement: string | null;
}
const shopLines: [keyof Shop, string][] = [
    ["name", "Shop"],
    ["address", "Address"],
    ["telephone", "Telephone"],
    ["statement", "Statement for a custom-made limb"],
];

/** What papers say of the shop. */
function Letterhead(props: { admin: boolean }): JSX.Element {
    const shop = useLoad((signal) => get<Shop>("letterhead", signal), "");
    const [draft, setDraft] = useState<Shop | null>(null);
    const [problem, setProblem] = useState<unknown>(null);
    const save = async (): Promise<void> => {
        try {
            await call("PUT", "letterhead", draft);
            setDraft(null);
            setProblem(null);
            shop.again();
        } catch (wrong) {
            setProblem(wrong);
        }
    };
    return (
        <section aria-label="What papers say of the shop">
            <h2>On papers</h2>
            {draft ? (
                <form
                    class="fact narrow" noValidate
                    onSubmit={(event) => {
                        event.preventDefault();
                        void save();
                    }}
                >
                    {shopLines.map(([key, words]) => (
                        <TextField key={key} words={words} value={draft[key] ?? ""} long={key === "statement"} onValue={(text) => setDraft({ ...draft, [key]: text })} />
                    ))}
                    <div class="keys">
                        <button type="submit" class="press first">
                            Save
                        </button>
                        <Press onPress={() => setDraft(null)}>Leave</Press>
                    </div>
                </form>
            ) : (
                <>
                    <Table caption="Release, care sheet and traveller carry this" heads={["", ""]} rows={shopLines.map(([key, words]) => [words, shop.value?.[key] ?? "—"])} />
                    {props.admin && shop.value && <Press onPress={() => setDraft(shop.value)}>Change what papers say</Press>}
                </>
            )}
            <Wrong problem={problem ?? shop.problem} />
        </section>
    );
}
