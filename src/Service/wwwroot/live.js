import { get } from "./api.js";
import { open, otherPages, othersInSight, shut } from "./stream.js";

/** What the recorder says: an event of each kind with the document in `detail`; `link` where the connection comes or goes. */
export const live = new EventTarget();

/** The newest document, and since when there has been no connection (null: there is one). */
export const now = { doc: null, lostSince: null };

// Many pages in sight on one computer each show every second state; out of sight, where there are many, one a second.
const few = 7;
const everySecondMs = 190;
const outOfSightMs = 1000;

let waitMs = 1000;
let retry = null;

export function connect() {
    close();
    open((kind, data) => { waitMs = 1000; if (kind === "live") newestOf(data); else emit(kind, JSON.parse(data)); }, up => up ? regain() : lose(), later);
}

/** Ends the connection: nothing is tried again until `connect`, and what is not shown yet is not shown any more. */
export function close() {
    shut();
    clearTimeout(retry);
    newest = null;
}

function emit(kind, detail) {
    if (kind === "live") now.doc = detail;
    live.dispatchEvent(new CustomEvent(kind, { detail }));
}

// A state is shown with the next frame, and only the newest: a slow device falls behind in frames, never in time.
let newest = null;
let shownMs = 0;

function newestOf(data) {
    const isFirst = newest === null;
    newest = data;
    if (!isFirst) return;
    const many = document.hidden ? otherPages() : othersInSight();
    const restMs = many > few ? shownMs + (document.hidden ? outOfSightMs : everySecondMs) - performance.now() : 0;
    const show = () => { if (document.hidden) shown(); else requestAnimationFrame(shown); };
    if (restMs > 0) setTimeout(show, restMs);
    else show();
}

function shown() {
    if (newest === null) return;
    const doc = JSON.parse(newest);
    newest = null;
    shownMs = performance.now();
    emit("live", doc);
}

// Frames cease where a page goes out of sight with a state waiting for one.
document.addEventListener("visibilitychange", () => { if (document.hidden) shown(); });

function regain() {
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
