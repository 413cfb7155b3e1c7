import { facts, field, h, say, speedIn, table, trouble } from "./dom.js";
import { get, query, runPath, send } from "./api.js";
import { bytes, clock, count, factorName, known, measured, number, rpm, short, when } from "./format.js";
import { chart, timeAxis } from "./chart.js";
import { sure } from "./dialog.js";
import { editRun } from "./edit.js";
import { usualSpan } from "./sieve.js";
import { lawParts } from "./law.js";

const ends = { stopped: "stopped by itself", operator: "ended by the operator", recovered: "cut short, recovered as far as it was recorded", "signal-lost": "the signal was lost, the end was not seen", "source-lost": "the board's link was lost, the end was not seen" };

export async function show(place, { signal, id, go }) {
    const [run, events] = await Promise.all([get(runPath(id), { signal }), get(runPath(id) + "/events", { signal }).catch(() => ({ events: [] }))]);
    const a = run.acquire;
    const { setup, result } = a;
    const said = h("div", { role: "status" });
    let busy = false;
    // No button is disabled meanwhile: the focus could not come back to it.
    const does = work => async () => {
        if (busy) return;
        busy = true;
        said.replaceChildren();
        try {
            await work();
        } catch (error) {
            said.replaceChildren(trouble(error));
        }
        busy = false;
    };
    const spoilt = a.spoilt?.why ?? a.spoilt;
    place.append(h("p", {}, h("a", { href: "/library" }, "Library")),
        h("h1", {}, setup.top || "Run", h("span", { class: "unseen" }, ", "), h("span", { class: "quiet" }, " " + when(a.startedAt))),
        spoilt ? h("p", { class: "trouble" }, h("strong", {}, "Spoilt: "), String(spoilt), ". Comparisons leave it out.") : "",
        h("p", { class: "lead" }, headline(a)),
        h("p", { class: "choices" },
            h("button", { type: "button", on: { click: does(async () => { const done = await editRun(run.run, a); if (done) go("/runs/" + encodeURIComponent(done.run), true); }) } }, "Edit"),
            h("button", { type: "button", on: { click: does(() => verify(run.run, said)) } }, "Verify"),
            h("a", { href: runPath(run.run) + "/zip", download: run.run + ".zip" }, "Download all (zip)"),
            run.report && h("a", { href: runPath(run.run) + "/report", target: "_blank", rel: "noopener" }, "Report in a new tab"),
            h("button", { type: "button", class: "plain", on: { click: does(async () => { if (await sure("Delete this run?", "It goes into the library's trash, from where the Library page puts it back.", "Delete", () => send("DELETE", runPath(run.run)).then(() => true))) go("/library"); }) } }, "Delete")),
        said, curves(run.run, signal), bands(run.run, result, signal),
        h("div", { class: "pair" }, h("section", {}, h("h2", {}, "Set-up"), setupFacts(setup)), h("section", {}, h("h2", {}, "Result"), resultFacts(a, result))),
        h("div", { class: "pair" },
            h("section", {}, h("h2", {}, "What happened"), table("Events", [{ head: "Time/s", number: true, cell: e => number(e.timeS, 1) }, { head: "Event", cell: e => e.event }, { head: "Detail", cell: e => e.detail ?? "" }], events.events)),
            h("section", {}, h("h2", {}, "Counts"), countFacts(a))),
        h("section", { class: "files" }, h("h2", {}, "Files"), table("Files", [{ head: "File", cell: f => h("a", { href: `${runPath(run.run)}/files/${encodeURIComponent(f.name)}`, download: f.name }, f.name) },
            { head: "Size", number: true, cell: f => bytes(f.bytes) }, { head: "What", cell: f => f.what ?? "" }], run.files)),
        a.edits?.length ? h("details", {}, h("summary", {}, count(a.edits.length, "edit")), table("Edits", [{ head: "When", cell: e => when(e.at ?? e.when) }, { head: "What", cell: e => e.what ?? e.key ?? "" }, { head: "From", cell: e => text(e.from) }, { head: "To", cell: e => text(e.to) }], a.edits)) : "",
        h("p", { class: "quiet" }, run.run));
}

const text = x => x === null || x === undefined ? "" : typeof x === "object" ? JSON.stringify(x) : String(x);

function headline(a) {
    const { result } = a;
    const unseen = a.stop && a.stop.witnessed === false ? " Nothing was seen of the end: the time is up to the last mark." : "";
    return known(result?.spinTimeS) ? `Spun ${clock(result.spinTimeS)} (${measured(result.spinTimeS, result.uSpinTimeS)} s) from ${rpm(result.peakRpm)} rpm; ${ends[a.endReason] ?? a.endReason}.${unseen}` : `No spin time: ${ends[a.endReason] ?? a.endReason}.${unseen}`;
}

async function verify(run, said) {
    said.replaceChildren(h("p", {}, "Checking every file against its hash …"));
    const found = await send("POST", runPath(run) + "/verify", {});
    said.replaceChildren(found.ok ? h("p", { class: "verified" }, h("strong", {}, "Verified."), " Every file is as it was written.")
        : h("div", { class: "trouble" }, h("p", {}, h("strong", {}, "Not as it was written:")), found.problems.map(p => h("p", {}, [p.file, p.what].filter(Boolean).join(": ")))));
}

function setupFacts(setup) {
    return facts([["Top", setup.top], ["Base", setup.base], ["Cover", setup.cover], ...Object.entries(setup.factors ?? {}).map(([k, v]) => [factorName(k), String(v)]), ["Operator", setup.operator], ["Note", setup.note]]);
}

function resultFacts(a, r = {}) {
    return facts([["Spin time", known(r.spinTimeS) ? `${measured(r.spinTimeS, r.uSpinTimeS)} s` : ""], ["Peak", known(r.peakRpm) ? `${measured(r.peakRpm, r.uPeakRpm)} rpm` : ""],
        ["Last speed", known(r.lastRpm) ? `${number(r.lastRpm, 1)} rpm` : ""], ["Release", known(r.releaseS) ? `${number(r.releaseS, 3)} s after the first pulse` : ""], ["Stop", known(r.stopS) ? `${number(r.stopS, 2)} s` : ""],
        ["End", ends[a.endReason] ?? a.endReason], ["Host clock", a.clock?.hostClock ?? ""], ["Recorded by", `${a.software}, ${a.source?.detail ?? ""}`]]);
}

function countFacts(a) {
    const c = a.counts ?? {};
    return facts([["Pulses received", number(c.received)], ["Marks", number(c.marks)], ["Extra", number(c.extra)], ["Missed", number(c.missed)], ["Marks a turn", number(a.source?.marksPerTurn)],
        ["Bad lines", number(c.badLines)], ["Lost on the line", number(c.lostOnLine)], ["Dropped by the board", number(c.droppedByBoard)], ["Gaps", number(c.gaps)]]);
}

/** Speed over time and loss over speed, each with twice its standard uncertainty. */
function curves(run, signal) {
    const place = h("div", { class: "pair" }, h("p", { class: "quiet" }, "Fetching the curve …"));
    get(`${runPath(run)}/curve?points=4000`, { signal }).then(c => {
        const within = c.timesS.map((_, i) => i).filter(i => c.timesS[i] >= (c.releaseS ?? -Infinity) && c.timesS[i] <= (c.stopS ?? Infinity) && c.rpm[i] !== null && c.decelRpmS[i] !== null).sort((i, k) => c.rpm[i] - c.rpm[k]);
        const time = { x: c.timesS.map(t => t - (c.releaseS ?? 0)), ...band(c.rpm, c.uRpm) };
        const loss = { x: within.map(i => c.rpm[i]), ...band(within.map(i => c.decelRpmS[i]), within.map(i => c.uDecelRpmS[i])) };
        place.replaceChildren(
            chart({ title: "Speed against time", summary: "with a 95\u00a0% band; where you see none it is narrower than the line.", x: timeAxis("Since release"), y: { label: "Speed/rpm", format: y => number(y, 2), unit: "rpm" }, data: time, signal }).element,
            chart({ title: "Loss against speed", summary: "how fast it slows at each speed, with a 95\u00a0% band.", x: { label: "Speed/rpm", format: rpm }, y: { label: "Slowing/(rpm/s)", format: short, unit: "rpm/s" }, data: loss, signal }).element);
    }, error => error.name === "AbortError" || place.replaceChildren(trouble(error)));
    return place;
}

function band(values, u) {
    const at = sign => values.map((v, i) => v === null ? null : v + sign * 2 * (u?.[i] ?? 0));
    return { y: values, low: at(-1), high: at(1) };
}

/** The time between two speeds and in bands between them, as `acquire spindown` works it out. */
function bands(run, figures, signal) {
    const span = usualSpan([figures ?? {}]);
    const from = h("input", { inputmode: "decimal", value: String(span.from) });
    const to = h("input", { inputmode: "decimal", value: String(span.to) });
    const state = h("p", { class: "quiet", role: "status" });
    const result = h("div", {});
    const button = h("button", { type: "submit" }, "Work out");
    const element = h("section", {}, h("h2", {}, "Time in each band"), h("form", { class: "speeds", on: { submit: e => { e.preventDefault(); work(); } } }, field("From/rpm", from), field("To/rpm", to), button), state, result);

    async function work() {
        button.disabled = true;
        say(state, "Working it out …");
        try {
            const [found] = (await get("/api/spindown" + query({ run, fromRpm: speedIn(from, "From"), toRpm: speedIn(to, "To") }), { signal })).runs;
            say(state, "");
            result.replaceChildren(h("p", {}, h("strong", {}, `${clock(found.decayTimeS)} from ${rpm(found.fromRpm)} to ${rpm(found.toRpm)} rpm`), `: ${measured(found.decayTimeS, found.uDecayTimeS)} s, on average slowing ${short(found.decelerationRpmS)} rpm/s.`),
                table("Time in each band", [{ head: "Band/rpm", number: true, cell: b => `${rpm(b.fromRpm)}–${rpm(b.toRpm)}` }, { head: "Time/s", number: true, cell: b => measured(b.timeS, b.uTimeS) },
                    { head: "Share/%", number: true, cell: b => number(100 * b.timeS / found.decayTimeS, 1) }, { head: "Slowing/(rpm/s)", number: true, cell: b => measured(b.decelerationRpmS, b.uDecelerationRpmS) }], found.bands),
                h("p", { class: "quiet" }, "± is a standard uncertainty (k = 1), the clock's in it."), lawParts(found.law));
        } catch (error) {
            if (error.name === "AbortError") return;
            say(state, "");
            result.replaceChildren(trouble(error));
        }
        button.disabled = false;
    }

    work();
    return element;
}
