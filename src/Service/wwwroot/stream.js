// A browser opens six connections to a computer at the most, over all its pages, and a stream takes one for good: one page of a browser takes the stream, the
// others hear from it what it heard. Where that page is put out of sight, one in sight takes it over: what is out of sight may be slowed down.

// The recorder says something every 5 s at the least: a link that is silent for longer is none.
const silentMs = 13_000;
const answerMs = 80;
const spreadMs = 100;
const kinds = ["live", "curve", "curve-reset", "notice", "library", "next", "reset"];
const me = Math.random();
const pages = "BroadcastChannel" in window ? new BroadcastChannel("acquire.pages") : null;
const others = new Map(); // of each whether it is out of sight

let said = () => {};
let link = () => {};
let failed = () => {};
let wanted = false;
let source = null;
let keeper = null;
let last = null; // whom it was heard from last, this page itself among them
let newest = null;
let heardMs = 0;
let isUp = true;
let watch = null;
let asked = null;

/** How many pages of this browser are open beside this one. */
export const otherPages = () => others.size;

/** How many of them are in sight. */
export const othersInSight = () => [...others.values()].filter(hidden => !hidden).length;

/**
 * Takes the stream, or hears it from the page that has.
 * @param {(kind: string, data: string) => void} onSaid an event; after a `reset` everything is to be asked for anew
 * @param {(up: boolean) => void} onLink whether there is a connection, as often as that is known
 * @param {() => void} onFailed the browser has given up: the answer is no stream
 */
export function open(onSaid, onLink, onFailed) {
    shut();
    [said, link, failed, wanted] = [onSaid, onLink, onFailed, true];
    heardMs = performance.now();
    watch = setInterval(() => { if (performance.now() - heardMs > silentMs) { tellLink(false); seek(); } }, 3000);
    seek();
}

/** Leaves it: nothing is tried again until `open`. */
export function shut() {
    wanted = false;
    clearInterval(watch);
    clearTimeout(asked);
    keeper = null;
    if (leave()) tell({ gone: true });
}

function leave() {
    const kept = source !== null;
    source?.close();
    source = null;
    return kept;
}

// Asks who has the stream; if nobody says so, takes it.
function seek(afterMs = 0) {
    heardMs = performance.now();
    leave();
    if (!pages) return take();
    keeper = null;
    clearTimeout(asked);
    asked = setTimeout(() => {
        tell({ ask: true });
        asked = setTimeout(take, answerMs);
    }, afterMs);
    return undefined;
}

// Each at another moment: the others hear of the first that does.
function takeOver() {
    clearTimeout(asked);
    asked = setTimeout(take, Math.random() * spreadMs);
}

function take() {
    leave();
    clearTimeout(asked);
    const missed = last !== null;
    last = me;
    keeper = newest = null;
    source = new EventSource("/api/live/events");
    for (const kind of kinds) source.addEventListener(kind, e => hear(kind, e.data));
    source.onopen = () => tellLink(true);
    source.onerror = () => {
        tellLink(false);
        if (source?.readyState !== EventSource.CLOSED) return;
        shut();
        failed();
    };
    have();
    if (missed) said("reset", "{}");
}

function hear(kind, data) {
    if (others.size > 0) tell({ kind, data });
    if (kind === "live") newest = data;
    tellLink(true);
    said(kind, data);
}

function tellLink(up) {
    if (up) heardMs = performance.now();
    if (source && up !== isUp) tell({ up });
    isUp = up;
    link(up);
}

function have() {
    tell({ have: true, up: isUp, newest });
}

function tell(what) {
    pages?.postMessage({ from: me, hidden: document.hidden, ...what });
}

// Of two that have it the one in sight keeps it, else the one with the lower number.
function keeps(other) {
    return document.hidden === other.hidden ? me < other.from : !document.hidden;
}

function follow(other) {
    if (source && keeps(other)) return have();
    leave();
    clearTimeout(asked);
    const missed = last !== null && last !== other.from;
    last = keeper = other.from;
    if (other.up) heardMs = performance.now();
    isUp = other.up;
    link(other.up);
    if (missed) said("reset", "{}");
    else if (other.newest) said("live", other.newest);
    if (other.hidden && !document.hidden) takeOver();
    return undefined;
}

function heardFromKeeper({ kind, data, up }) {
    if (kind) {
        heardMs = performance.now();
        link(isUp = true);
        said(kind, data);
    } else if (up !== undefined) {
        link(isUp = up);
    }
}

if (pages) {
    pages.onmessage = ({ data: other }) => {
        if (other.left) others.delete(other.from);
        else others.set(other.from, other.hidden);
        if (other.ask) tell({ here: true });
        if (!wanted) return;
        if (other.ask && source) have();
        else if (other.have) follow(other);
        else if (other.from === keeper && other.gone) seek(Math.random() * spreadMs);
        else if (other.from === keeper && other.leaving && !document.hidden) takeOver();
        else if (other.from === keeper) heardFromKeeper(other);
    };
    document.addEventListener("visibilitychange", () => {
        if (document.hidden && source) tell({ leaving: true });
        else if (!document.hidden && keeper !== null) tell({ ask: true }); // it may be out of sight
        else tell({ here: true });
    });
    addEventListener("pagehide", () => {
        const kept = leave();
        tell({ left: true, gone: kept });
    });
    addEventListener("pageshow", e => { if (e.persisted && wanted) seek(); });
}
