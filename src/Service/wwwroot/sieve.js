import { factorsText } from "./format.js";

/** The runs that hold what was asked for: words anywhere in the set-up, note and name; `key=value` a value as a whole. */
export function sieve(runs, text, kind) {
    const asked = text.toLowerCase().split(/\s+/).filter(Boolean);
    return runs.filter(run => {
        if (kind === "counting" && run.spoilt || kind === "spoilt" && !run.spoilt) return false;
        return asked.every(word => holds(run, word));
    });
}

const searched = new WeakMap();

function holds(run, word) {
    const equals = /^([^=]+)=(.*)$/.exec(word);
    if (equals) return String(valueOf(run, equals[1]) ?? "").toLowerCase() === equals[2];
    let all = searched.get(run);
    if (all === undefined) {
        all = [run.run, run.top, run.base, run.cover, run.operator, run.note, factorsText(run.factors), run.spoilt].filter(Boolean).join(" ").toLowerCase();
        searched.set(run, all);
    }
    return all.includes(word);
}

/** What a run says of a key of its set-up; an empty cover is none, as in the commands. */
export function valueOf(run, key) {
    if (["top", "base", "cover", "operator"].includes(key)) return run[key];
    const name = Object.keys(run.factors ?? {}).find(k => k.toLowerCase() === key.toLowerCase());
    return name === undefined ? undefined : run.factors[name];
}

/** The runs that a filter such as `cover=none,clearance_mm=6` takes; null where it is none. */
export function taken(runs, filter) {
    const parts = filter.split(",").map(p => /^\s*([^=]+?)\s*=\s*(.*?)\s*$/.exec(p));
    if (!parts.length || parts.some(p => !p)) return null;
    return runs.filter(run => parts.every(p => {
        const is = valueOf(run, p[1]);
        return typeof is === "number" ? is === Number(p[2]) : (is ?? "") === p[2];
    }));
}

/** Every `key=value` that tells some of these runs from others, with how many have it, the commonest first. */
export function keysAndValues(runs) {
    const counts = new Map();
    for (const run of runs) {
        for (const [key, value] of [["top", run.top], ["base", run.base], ["cover", run.cover], ["operator", run.operator], ...Object.entries(run.factors ?? {})])
            if (value !== "" && value !== null && value !== undefined) counts.set(`${key}=${value}`, (counts.get(`${key}=${value}`) ?? 0) + 1);
    }
    return [...counts].sort((a, b) => b[1] - a[1]).slice(0, 100);
}

/** The speeds between which runs are timed unless one says otherwise: 2000 to 500 rpm, or what all of them have of it, in round numbers. */
export function usualSpan(runs) {
    const from = Math.min(2000, ...runs.map(r => r.peakRpm).filter(Number.isFinite).map(rpm => Math.floor(rpm * 0.97 / 50) * 50));
    const to = Math.max(500, ...runs.map(r => r.lastRpm).filter(Number.isFinite).map(rpm => Math.ceil(rpm * 1.03 / 50) * 50));
    return from > to ? { from, to } : { from: 2000, to: 500 };
}

export const orders = {
    when: ["Started", (a, b) => a.startedAt < b.startedAt ? -1 : a.startedAt > b.startedAt ? 1 : 0],
    top: ["Top", (a, b) => order.compare(a.top ?? "", b.top ?? "")],
    setup: ["Set-up", (a, b) => order.compare(setupKey(a), setupKey(b))],
    time: ["Spin time", (a, b) => (a.spinTimeS ?? -1) - (b.spinTimeS ?? -1)],
    peak: ["Peak", (a, b) => (a.peakRpm ?? -1) - (b.peakRpm ?? -1)],
};

// One collator and a key a run: what localeCompare makes anew at each comparison is felt with thousands of runs.
const order = new Intl.Collator("en", { numeric: true });
const setupKeys = new WeakMap();

function setupKey(run) {
    let key = setupKeys.get(run);
    if (key === undefined) setupKeys.set(run, key = `${run.base ?? ""} ${run.cover ?? ""} ${factorsText(run.factors)}`);
    return key;
}
