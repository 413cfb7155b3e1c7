import { facts, h, say, trouble } from "./dom.js";
import { get, send } from "./api.js";
import { live, now } from "./live.js";
import { about, bytes, clock, count, factorsText, hourOf, known, number, rpm, short } from "./format.js";
import { theCurve } from "./curve.js";
import { setupFields } from "./setup.js";
import { sure } from "./dialog.js";
import * as sound from "./sound.js";

// A sign beside each word, so that the phase is seen from afar and without colour.
const phases = {
    waiting: ["○", "Waiting for a launch"], launching: ["◔", "Launching"], spinning: ["●", "Spinning"],
    lost: ["◌", "Signal lost"], ended: ["■", "Ended"], off: ["–", "No capture"],
};
const healths = { good: "Good", look: "Have a look", bad: "Bad", unknown: "Not known yet" };

export async function show(place, { signal }) {
    const first = await get("/api/live", { signal });
    const bench = reading();
    const state = nearBy(standing());
    place.classList.add("bench");
    if (first.capturing) {
        const [next, earlier] = await Promise.all([get("/api/next", { signal }), get("/api/set-ups", { signal })]);
        const hand = nearBy(byHand());
        place.append(h("div", { class: "now" }, bench.element, theCurve(signal).element), h("div", { class: "beside" }, state.health, hand.element, nextRun(next, earlier, signal), state.recording));
        live.addEventListener("live", e => hand.update(e.detail), { signal });
        hand.update(now.doc ?? first);
    } else {
        place.append(h("div", { class: "now" }, bench.element), h("div", { class: "beside" }, state.recording));
    }

    const update = doc => { bench.update(doc); state.update(doc); };
    update(now.doc ?? first);
    live.addEventListener("live", e => update(e.detail), { signal });
}

// What is read near by, not from three metres, is shown anew twice a second, with a state that is shown anyway: a frame of its own costs as much again.
const nearMs = 400;
const noneMs = 300; // for so long a state is waited for

/** Shown anew twice a second, at once with another phase, and never without the newest. */
function nearBy(part) {
    let newest = null;
    let shownMs = -Infinity;
    let phase = null;
    let pending = null;

    function show() {
        clearTimeout(pending);
        [pending, shownMs, phase] = [null, performance.now(), newest.phase];
        part.update(newest);
    }

    return {
        ...part,
        update(doc) {
            newest = doc;
            const leftMs = nearMs - (performance.now() - shownMs);
            if (doc.phase !== phase || leftMs <= 0) show();
            else pending ??= setTimeout(show, leftMs + noneMs);
        },
    };
}

/** Phase, speed, time and forecast. */
function reading() {
    const sign = h("span", { class: "sign", "aria-hidden": "true" });
    const word = h("span", {});
    const value = h("span", { class: "value" });
    const speed = h("p", { class: "speed" }, value, h("span", { class: "unit" }, " rpm"));
    const since = h("span", { class: "since" });
    const ends = h("span", { class: "ends" });
    const more = h("p", { class: "more" });
    const what = h("p", { class: "what" });
    const heading = h("h1", { class: "phase", "data-title": "Bench" }, sign, word);
    const wrong = h("p", { class: "trouble", role: "alert", hidden: true });
    const element = h("section", { "aria-label": "Now" }, wrong, heading, speed, h("p", { class: "times" }, since, ends), more, what);
    const beside = nearBy({
        update(doc) {
            const spins = ["launching", "spinning", "lost"].includes(doc.phase);
            say(ends, spins ? forecast(doc) : "");
            say(more, spins ? [known(doc.uRpm) && doc.uRpm > 0 && `± ${digit(doc.uRpm)} rpm`, known(doc.peakRpm) && `peak ${rpm(doc.peakRpm)} rpm`,
                known(doc.decelRpmS) && `${doc.decelRpmS < 0 ? "gaining" : "slowing"} ${short(Math.abs(doc.decelRpmS))} rpm/s`, known(doc.turns) && `${number(doc.turns)} turns`].filter(Boolean).join(" · ") : "");
            explain(what, doc);
            wrong.hidden = !doc.trouble;
            say(wrong, doc.trouble ?? "");
        },
    });

    return {
        element,
        update(doc) {
            const [mark, name] = phases[doc.phase] ?? ["", doc.phase];
            if (element.dataset.phase !== doc.phase) element.dataset.phase = doc.phase;
            say(sign, mark);
            say(word, doc.phase === "waiting" && !doc.linkUp ? "No link to the board" : name);
            const none = doc.rpm === null || doc.phase === "off" || doc.phase === "waiting";
            if (speed.hidden !== none) speed.hidden = none;
            // Four or five digits are read faster from afar without a comma among them.
            const text = rpm(doc.rpm).replace(",", "");
            say(value, text);
            speed.classList.toggle("long", text.length > 4);
            say(since, known(doc.sinceReleaseS) && doc.phase !== "waiting" && doc.phase !== "off" ? `${clock(doc.sinceReleaseS)} since release` : "");
            beside.update(doc);
        },
    };
}

function forecast(doc) {
    const f = doc.forecast;
    if (!f) return doc.phase === "spinning" ? "No forecast of the end yet" : "";
    // The forecast was made at its own moment; what has gone by since is taken off.
    const gone = known(f.atS) && known(doc.sinceReleaseS) ? doc.sinceReleaseS - f.atS : 0;
    const left = s => about(Math.max(0, s - gone));
    return `Ends in about ${left(f.remainingS)}, likely ${both(left(f.lowS), left(f.highS))}${f.endFrom === "assumed" ? ` (an end at ${rpm(f.endRpm)} rpm is assumed)` : ""}`;
}

/** "37 min", "42 min": 37 to 42 min. */
function both(low, high) {
    const unit = / \S+$/;
    return !low.includes(" h ") && unit.exec(low)?.[0] === unit.exec(high)?.[0] ? `${low.replace(unit, "")} to ${high}` : `${low} to ${high}`;
}

const digit = u => number(u, u >= 1 ? 0 : Math.min(4, Math.ceil(-Math.log10(u))));

function explain(what, doc) {
    const lastRun = doc.lastRun ? ["The last run: ", h("a", { href: "/runs/" + encodeURIComponent(doc.lastRun) }, doc.lastRun), "."] : [];
    const says = {
        off: () => ["This page shows the library; nothing is being captured. Start it with the board's port to record: ", h("code", {}, "acquire serve --port /dev/ttyACM0"), "."],
        waiting: () => [doc.linkUp ? (doc.automatic ? "Launch whenever you like; it is recorded by itself. " : "Spins become runs only when you start one by hand. ") : "Plug the board in; the capture takes the port up again by itself. ",
            h("span", { class: "caution" }, "Before you launch: eye protection, a screen, no cracked bodies; hands and faces out of the plane of rotation. "), ...lastRun],
        lost: () => ["The marks ceased while the body was fast. The capture waits for them and goes on with the same run if they come back as foretold."],
        ended: () => ["The run is being saved. ", ...lastRun],
    }[doc.phase]?.() ?? [];
    const key = doc.phase + doc.linkUp + doc.automatic + doc.lastRun;
    if (what.dataset.key === key) return;
    what.dataset.key = key;
    what.replaceChildren(...says);
}

/** The sensor's health, and where it records. */
function standing() {
    const healthState = h("strong", {});
    const says = h("span", {});
    const doThis = h("p", { class: "do" });
    const health = h("section", { "aria-label": "Sensor" }, h("h2", {}, "Sensor"), h("p", {}, healthState, " ", says), doThis);
    const list = h("div", {});
    const recording = h("section", { "aria-label": "Recording" }, h("h2", {}, "Recording"), list);
    let shown = "";
    return {
        health, recording,
        update(doc) {
            const { state, quality, says: text, doThis: advice } = doc.health ?? { state: "unknown", says: "" };
            health.dataset.state = state;
            say(healthState, (healths[state] ?? state) + ".");
            say(says, text + (known(quality) ? ` (${Math.floor(quality * 1000) / 10} % of them)` : ""));
            say(doThis, advice ?? "");
            doThis.hidden = !advice;
            const pairs = facing(doc);
            if (shown === JSON.stringify(pairs)) return;
            shown = JSON.stringify(pairs);
            list.replaceChildren(facts(pairs));
        },
    };
}

function facing(doc) {
    const l = doc.losses ?? {};
    const lost = [[l.missedMarks, "missed mark"], [l.badLines, "bad line"], [l.lostOnLine, "lost on the line", ""], [l.droppedByBoard, "dropped by the board", ""], [l.bytesWithoutRoom, "byte without room", "bytes without room"]]
        .filter(x => x[0] > 0).map(([n, one, many]) => many === "" ? `${number(n)} ${one}` : count(n, one, many));
    return [
        ["Library", doc.library],
        ["Room left", known(doc.freeBytes) ? bytes(doc.freeBytes) : ""],
        ["Source", doc.source ?? ""],
        ["Link", !doc.capturing ? "" : doc.linkUp ? (known(doc.lastHeardAgoS) && doc.lastHeardAgoS > 10 ? `up, nothing heard for ${about(doc.lastHeardAgoS)}` : "up") : "down"],
        ["Lost", doc.capturing ? lost.join(", ") || "nothing" : ""],
        ["Journal", doc.capturing && doc.journalBytes ? bytes(Math.round(doc.journalBytes / 1e5) * 1e5 || doc.journalBytes) : ""],
        ["Runs finished", doc.capturing ? number(doc.finishedRuns) : ""],
    ];
}

/** Start, end, whether launches are taken by themselves; the sound. */
function byHand() {
    const problem = h("div", {});
    const does = async work => { problem.replaceChildren(); try { await work(); } catch (error) { problem.replaceChildren(trouble(error)); } };
    const automatic = h("input", { type: "checkbox", on: { change: () => does(async () => { const was = !automatic.checked; try { await send("PUT", "/api/live/automatic", { automatic: automatic.checked }); } catch (e) { automatic.checked = was; throw e; } }) } });
    const start = h("button", { type: "button", on: { click: () => does(() => send("POST", "/api/live/start", {})) } }, "Start a run now");
    const end = h("button", { type: "button", on: { click: () => sure("End this run?", "What was recorded is saved, its end marked as yours. The body may still be turning: leave it alone until it stands still.", "End the run", () => send("POST", "/api/live/end", {})) } }, "End this run");
    const sounds = h("input", { type: "checkbox", checked: sound.wanted(), on: { change: () => sound.want(sounds.checked) } });
    const line = h("p", { class: "choices" }, start, end);
    const auto = h("label", { class: "tick" }, automatic, " Every launch becomes a run");
    const element = h("section", { "aria-label": "By hand" }, h("h2", {}, "By hand"), auto, line, problem,
        h("label", { class: "tick" }, sounds, " Sound when the spin ends"));
    return {
        element,
        update(doc) {
            auto.hidden = line.hidden = !doc.capturing;
            if (document.activeElement !== automatic) automatic.checked = doc.automatic;
            const spins = ["launching", "spinning", "lost"].includes(doc.phase);
            start.disabled = spins || doc.canStart === false;
            end.disabled = !spins;
        },
    };
}

/** The set-up of the next run. */
function nextRun(next, earlier, signal) {
    const state = h("p", { class: "quiet", role: "status" });
    const problem = h("div", {});
    const plan = h("div", {});
    let touched = false;
    const fields = setupFields(earlier, () => { touched = true; say(state, "Not saved yet."); });
    const save = h("button", { type: "submit", class: "main" }, "Use for the next run");
    const form = h("form", { on: { submit: e => { e.preventDefault(); keep(); } } }, fields.element, problem, h("p", { class: "choices" }, save, state));
    const element = h("section", { "aria-label": "The next run" }, h("h2", {}, "The next run"), plan, form);

    function shown(doc) {
        plan.replaceChildren(...doc.plan ? [h("p", {}, h("strong", {}, doc.plan.words || `Row ${doc.plan.row} of ${doc.plan.of}`), ` (plan ${doc.plan.plan}, ${doc.plan.done} done)`),
            h("p", { class: "quiet" }, `The plan sets: ${sets(doc.plan.says)}. The rest is as below.`)] : []);
        if (!touched) fields.write(doc.setup);
    }

    async function keep() {
        problem.replaceChildren();
        save.disabled = true;
        try {
            const kept = await send("PUT", "/api/next", { setup: fields.read() });
            touched = false;
            shown(kept);
            say(state, `Saved ${hourOf(new Date().toISOString())}. A run under way keeps its own.`);
        } catch (error) {
            problem.replaceChildren(trouble(error));
        }
        save.disabled = false;
    }

    shown(next);
    const again = () => get("/api/next", { signal }).then(shown, () => null);
    live.addEventListener("next", again, { signal });
    live.addEventListener("reset", again, { signal });
    return element;
}

const sets = says => Object.entries(says ?? {}).map(([k, v]) => k === "factors" ? factorsText(v) : `${k} ${v}`).join(", ");
