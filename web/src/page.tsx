// SPDX-License-Identifier: GPL-3.0-or-later
// The frame round every view: who is here, where one is, units and light, what waits for the network.
import { render, type JSX } from "preact";
import { useEffect, useState } from "preact/hooks";
import { networkLost, onNetwork, whenSignedOut } from "./api.ts";
import { Dialog, Press, Wrong } from "./bones.tsx";
import { LimbView } from "./limb.tsx";
import { flush, onOutbox, throwAway, waiting } from "./outbox.ts";
import { People } from "./people.tsx";
import { Audit, Incidents, Recall } from "./record_views.tsx";
import { RingBoard } from "./ring_board.tsx";
import { to, useRoute } from "./route.ts";
import { SaidAndSeen } from "./said.tsx";
import { changeLook, changeUnits, current, look, lookNow, onSession, restoreLook, settle } from "./session.ts";
import { NewLimb, ShopView } from "./shop.tsx";
import { FirstAdmin, SignIn, SwitchDialog } from "./sign_in.tsx";
import { moment } from "./units.ts";

const places: [string, string][] = [
    ["shop", "Shop"],
    ["recall", "Recall"],
    ["incidents", "Incidents"],
    ["rings", "Rings"],
    ["said", "Said and seen"],
    ["people", "People"],
    ["audit", "Record"],
];

function Outbox(): JSX.Element | null {
    const [open, setOpen] = useState(false);
    const entries = waiting();
    const lost = networkLost();
    if (!lost && entries.length === 0) return <span class="network">network: there</span>;
    const refused = entries.filter((entry) => entry.refused !== null).length;
    return (
        <>
            <Press kind="grave" onPress={() => setOpen(true)}>
                {lost ? "No network" : refused > 0 ? "Not taken" : "Sending"}: {entries.length} {entries.length === 1 ? "entry" : "entries"} here
            </Press>
            {open && (
                <Dialog title="Kept on this device" onLeave={() => setOpen(false)}>
                    <p>Typed without a network. Each is sent under the name of who typed it as soon as an answer comes.</p>
                    <ul class="outbox">
                        {entries.map((entry) => (
                            <li key={entry.key}>
                                <strong>{entry.words}</strong> {moment(entry.typed_at)} {entry.initials}
                                {entry.refused && (
                                    <p class="wrong">
                                        The server would not take it: {entry.refused} <Press onPress={() => throwAway(entry.key)}>Throw away</Press>
                                    </p>
                                )}
                            </li>
                        ))}
                        {entries.length === 0 && <li>Nothing waits.</li>}
                    </ul>
                    <Press onPress={() => setOpen(false)}>Close</Press>
                </Dialog>
            )}
        </>
    );
}

function Head(props: { here: string }): JSX.Element {
    const me = current();
    const [switching, setSwitching] = useState(false);
    const [dark, setDark] = useState(lookNow() === "dark");
    const [problem, setProblem] = useState<unknown>(null);
    if (!me) return <header />;
    const inch = me.person.units === "inch";
    return (
        <header>
            <a class="skip" href="#main" onClick={(event) => { event.preventDefault(); document.getElementById("main")?.querySelector<HTMLElement>("a, button, input")?.focus(); }}>
                To the sheet
            </a>
            <span class="name">Standfast</span>
            <nav aria-label="Places">
                {places.map(([place, words]) => (
                    <a key={place} href={to(place)} aria-current={props.here === place ? "page" : undefined}>
                        {words}
                    </a>
                ))}
            </nav>
            <div class="right">
                <Outbox />
                <Press label={inch ? "inch-pound; change to metric" : "metric; change to inch-pound"} onPress={() => void changeUnits(inch ? "metric" : "inch").catch(setProblem)}>
                    {inch ? "in" : "mm"}
                </Press>
                <Press
                    label={dark ? "dark; change to light" : "light; change to dark"}
                    onPress={() => {
                        changeLook(dark ? "light" : "dark");
                        setDark(!dark);
                    }}
                >
                    {dark ? "dark" : "light"}
                </Press>
                <Press label={`${me.person.name}, ${me.person.role}; switch person`} onPress={() => setSwitching(true)}>
                    <strong>{me.person.initials}</strong>
                </Press>
            </div>
            {!me.signing && (
                <p class="rested" role="status">
                    Signing waits{me.signing_why ? `: ${me.signing_why}` : ""}. Facts still go in. <Press onPress={() => setSwitching(true)}>PIN</Press>
                </p>
            )}
            <Wrong problem={problem} />
            {switching && <SwitchDialog onLeave={() => setSwitching(false)} />}
        </header>
    );
}

function View(props: { route: string[] }): JSX.Element {
    const [place = "shop", id = "", part = ""] = props.route;
    switch (place) {
        case "new":
            return <NewLimb key={id} wearer={id || null} />;
        case "limb":
            return <LimbView key={id} id={id} part={part || null} />;
        case "people":
            return <People />;
        case "audit":
            return <Audit />;
        case "recall":
            return <Recall lot={id} />;
        case "rings":
            return <RingBoard />;
        case "said":
            return <SaidAndSeen />;
        case "incidents":
            return <Incidents />;
        default:
            return <ShopView />;
    }
}

function Page(): JSX.Element {
    const route = useRoute();
    const [, setRound] = useState(0);
    const [ready, setReady] = useState(false);
    const [problem, setProblem] = useState<unknown>(null);
    const again = (): void => setRound((now) => now + 1);
    useEffect(() => {
        const off = [onSession(again), onOutbox(again), onNetwork(again)];
        whenSignedOut(() => settle(null));
        look().catch(setProblem).finally(() => setReady(true));
        const beat = setInterval(() => {
            const me = current();
            // Also where nobody is seen to be here: a page that was loaded without a network does not know who is.
            if (networkLost()) void look().catch(() => undefined);
            else if (me && waiting().length > 0) void flush(me.person.id);
        }, 2500);
        return () => {
            clearInterval(beat);
            for (const stop of off) stop();
        };
    }, []);
    useEffect(() => {
        document.title = route[0] && route[0] !== "shop" ? `Standfast: ${route.filter((part) => part !== "limb").join(", ")}` : "Standfast";
        scrollTo(0, 0);
    }, [route.join("/")]);
    const me = current();
    const first = /^first-admin=(.+)$/.exec(route[0] ?? "");
    if (!ready) return <p class="door">…</p>;
    if (problem) return <Wrong problem={problem} />;
    if (!me) return first ? <FirstAdmin token={first[1]} /> : <SignIn />;
    return (
        <div class="sheet" key={me.person.id + me.person.units}>
            <Head here={route[0] ?? "shop"} />
            <View route={route} />
        </div>
    );
}

restoreLook();
const place = document.getElementById("page");
if (place) render(<Page />, place);
if ("serviceWorker" in navigator) navigator.serviceWorker.register("/worker.js").catch(() => undefined);
