import { get } from "./api.js";

// The recorder says something every 5 s at the least: a link that is silent for longer is none.
const silentMs = 13_000;
const events = ["curve", "curve-reset", "notice", "library", "next", "reset"];

/** What the recorder says: an event of each kind with the document in `detail`; `link` where the connection comes or goes. */
export const live = new EventTarget();

/** The newest document, and since when there has been no connection (null: there is one). */
export const now = { doc: null, lostSince: null };

// A browser opens six connections to a computer at the most, over all its tabs, and each stream takes one for good: a hidden tab leaves
// its own to a tab that comes into sight.
const tabs = "BroadcastChannel" in window ? new BroadcastChannel("acquire.tabs") : null;
let gaveWay = false;

let source = null;
let heardMs = 0;
let waitMs = 1000;
let watch = null;
let retry = null;

export function connect() {
    close();
    gaveWay = false;
    if (!document.hidden) tabs?.postMessage("in sight");
    heardMs = performance.now();
    source = new EventSource("/api/live/events");
    for (const kind of events) source.addEventListener(kind, e => { hear(); emit(kind, JSON.parse(e.data)); });
    source.addEventListener("live", e => { hear(); newestOf(e.data); });
    source.onopen = hear;
    source.onerror = () => { lose(); if (source?.readyState === EventSource.CLOSED) later(); };
    watch = setInterval(() => { if (performance.now() - heardMs > silentMs) { lose(); connect(); } }, 3000);
}

/** Ends the connection: nothing is tried again until `connect`. */
export function close() {
    source?.close();
    source = null;
    clearInterval(watch);
    clearTimeout(retry);
}

if (tabs) tabs.onmessage = () => {
    if (!document.hidden || !source) return;
    close();
    gaveWay = true;
};
document.addEventListener("visibilitychange", () => {
    if (document.hidden || !gaveWay) return;
    connect();
    emit("reset", {});
});

function emit(kind, detail) {
    if (kind === "live") now.doc = detail;
    live.dispatchEvent(new CustomEvent(kind, { detail }));
}

// A state is shown with the next frame, and only the newest: a slow device falls behind in frames, never in time.
let newest = null;

function newestOf(data) {
    if (document.hidden) return emit("live", JSON.parse(data));
    if (newest === null) requestAnimationFrame(() => { const shown = newest; newest = null; emit("live", JSON.parse(shown)); });
    newest = data;
    return undefined;
}

function hear() {
    heardMs = performance.now();
    waitMs = 1000;
    if (now.lostSince === null) return;
    now.lostSince = null;
    emit("link", { up: true });
}

function lose() {
    if (now.lostSince !== null) return;
    now.lostSince = new Date();
    emit("link", { up: false });
}

// Where the browser has given up by itself (an answer that is no stream), the reason is asked for, which also finds that one has to sign in.
function later() {
    source?.close();
    source = null;
    clearInterval(watch);
    retry = setTimeout(async () => {
        waitMs = Math.min(15_000, waitMs * 2);
        try {
            await get("/api/live");
        } catch (error) {
            if (error.status === 401) return;
        }
        connect();
    }, waitMs);
}
