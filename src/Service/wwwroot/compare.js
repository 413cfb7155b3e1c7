import { field, fresh, h, say, speedIn, table, trouble } from "./dom.js";
import { get, query } from "./api.js";
import { clock, count, interval, known, number, probability, rpm, setupText, signed, when } from "./format.js";
import { changesPicture, key } from "./picture.js";
import { keysAndValues, taken, usualSpan } from "./sieve.js";

/** The two questions of this section. */
export const questions = here => h("p", { class: "sub" }, [["/compare", "A change"], ["/sweep", "A factor"]].map(([path, name]) => h("a", { href: path, "aria-current": path === here && "page" }, name)));

export async function show(place, { signal, search, go }) {
    const { runs } = await get("/api/runs", { signal });
    const picked = search.getAll("run").map(name => runs.find(r => r.run === name)).filter(Boolean);
    const baseline = search.get("baseline") ?? "";
    const variants = search.getAll("variant");
    place.append(questions("/compare"), h("h1", {}, "Did the change help?"));
    if (runs.length < 2) {
        place.append(h("p", { class: "lead" }, "There is nothing to compare yet: it takes runs with the change and runs without it."), h("p", {}, "Spin both in turn, three times each or more. ", h("a", { href: "/bench" }, "To the bench")));
        return;
    }
    const byName = picked.length > 0 || [baseline, ...variants].some(f => f && !f.includes("="));
    const usual = usualSpan(byName ? picked : []);
    const range = { from: search.get("fromRpm") ?? usual.from, to: search.get("toRpm") ?? usual.to };
    const form = byName ? pickedForm(picked.length ? picked : named(runs, [baseline, ...variants]), [baseline, ...variants], range, go) : filterForm(runs, baseline, variants, range, search, go);
    place.append(form);
    if (!baseline || !variants.length) return;
    const result = h("div", {}, h("p", { class: "quiet", role: "status" }, "Comparing …"));
    place.append(result);
    get("/api/compare" + query({ baseline, variant: variants, fromRpm: range.from, toRpm: range.to, withSpoilt: search.get("withSpoilt") }), { signal })
        .then(found => result.replaceChildren(...answer(found, signal)), error => error.name === "AbortError" || result.replaceChildren(trouble(error)));
}

const named = (runs, filters) => filters.flatMap(f => f.split(",")).map(name => runs.find(r => r.run === name.trim())).filter(Boolean);

function speeds(range) {
    const from = h("input", { inputmode: "decimal", value: range.from });
    const to = h("input", { inputmode: "decimal", value: range.to });
    const problem = h("div", {});
    const element = h("div", {}, h("div", { class: "speeds" }, field("From/rpm", from), field("To/rpm", to), h("button", { type: "submit", class: "main" }, "Compare")), problem);
    return {
        element,
        /** Goes to what `path` makes of the two speeds, or says why it cannot. */
        use(path, go) {
            problem.replaceChildren();
            try {
                go(path({ fromRpm: speedIn(from, "From"), toRpm: speedIn(to, "To") }));
            } catch (error) {
                problem.replaceChildren(trouble(error));
            }
        },
    };
}

/** Baseline and variants by what a set-up says. */
function filterForm(runs, baseline, variants, range, search, go) {
    const list = h("datalist", { id: fresh("filters") }, keysAndValues(runs).map(([kv, n]) => h("option", { value: kv }, count(n, "run"))));
    const rows = h("div", {});
    const spoilt = h("input", { type: "checkbox", checked: search.get("withSpoilt") === "true" });
    const over = speeds(range);
    const base = filterField(runs, "Baseline", baseline, list.id);
    const add = (value = "") => {
        const one = filterField(runs, `Variant ${rows.children.length + 1}`, value, list.id);
        const row = h("div", { class: "variant" }, one.element, h("button", { type: "button", class: "plain", "aria-label": "Take away this variant", on: { click: () => { row.remove(); more.focus(); } } }, "Take away"));
        rows.append(row);
        return one.input;
    };
    const more = h("button", { type: "button", class: "plain", on: { click: () => add().focus() } }, "Add a variant");
    (variants.length ? variants : [""]).forEach(v => add(v));
    return h("form", { on: { submit: e => { e.preventDefault(); over.use(span => "/compare" + query({ baseline: base.input.value.trim(), variant: [...rows.querySelectorAll("input")].map(i => i.value.trim()), ...span, withSpoilt: spoilt.checked && "true" }), go); } } },
        h("p", { class: "quiet" }, "Say by their set-up which runs to take, such as ", h("code", {}, "cover=none"), " or ", h("code", {}, "cover=ring,clearance_mm=6"), "; or pick runs in the ", h("a", { href: "/library" }, "Library"), "."),
        h("div", { class: "pair" }, h("div", {}, base.element), h("div", {}, rows, more)), h("label", { class: "tick" }, spoilt, " Spoilt runs too"), over.element, list);
}

export function filterField(runs, label, value, list) {
    const counted = h("span", { class: "hint", role: "status" });
    const input = h("input", { value, list, spellcheck: "false", autocapitalize: "off", on: { input: () => tell() } });
    const tell = () => { const found = input.value.trim() ? taken(runs, input.value) : null; say(counted, found ? count(found.length, "run") : "\u00a0"); };
    const element = h("div", { class: "field" }, field(label, input), counted);
    tell();
    return { input, element };
}

/** Runs that were picked: each is put to the baseline or a variant. Set-ups that are alike go together to begin with. */
function pickedForm(runs, filters, range, go) {
    const groups = [...new Set(runs.map(groupOf))];
    const said = filters.map(f => f.split(",").map(n => n.trim()));
    const places = ["baseline", "variant 1", "variant 2", "variant 3", "left out"];
    const over = speeds(range);
    const choices = runs.map(run => {
        const before = said.findIndex(names => names.includes(run.run));
        const choice = h("select", { "aria-label": `What ${when(run.startedAt)} is` }, places.map((p, i) => h("option", { value: i }, p)));
        choice.value = before >= 0 ? before : Math.min(4, groups.indexOf(groupOf(run)));
        return choice;
    });
    return h("form", { on: { submit: e => { e.preventDefault(); send(); } } },
        table("Picked runs", [{ head: "Is", cell: i => choices[i] }, { head: "Started", cell: i => h("a", { href: "/runs/" + encodeURIComponent(runs[i].run) }, when(runs[i].startedAt)) },
            { head: "Set-up", cell: i => setupText(runs[i]) }, { head: "Spin time", number: true, cell: i => clock(runs[i].spinTimeS) }], runs.map((_, i) => i)), over.element,
        h("p", {}, h("a", { href: "/compare" }, "Choose by set-up instead")));

    function send() {
        const of = place => runs.filter((_, i) => choices[i].value === String(place)).map(r => r.run).join(",");
        over.use(span => "/compare" + query({ baseline: of(0), variant: [1, 2, 3].map(of), ...span }), go);
    }
}

const groupOf = run => setupText(run);

const short = (name, i) => /\d{8}T\d{6}Z/.test(name) ? `Variant ${i + 1}` : name;

function answer(found, signal) {
    const names = found.variants.map((v, i) => short(v.name, i));
    const span = `between ${rpm(found.fromRpm)} and ${rpm(found.toRpm)} rpm`;
    const value = c => c && { percent: c.changePercent, low: c.lowPercent, high: c.highPercent };
    const bands = found.variants[0]?.bands ?? [];
    const rows = [...bands.map((b, i) => ({ name: `${rpm(b.fromRpm)}–${rpm(b.toRpm)}`, values: found.variants.map(v => value(v.bands[i])), p: v => v.bands[i]?.pValueHolm })),
        { name: `${rpm(found.fromRpm)}–${rpm(found.toRpm)}, all`, apart: true, values: found.variants.map(value), p: v => v.pValueHolm ?? v.pValue },
        { name: "Whole spin", values: found.variants.map(v => value(v.wholeSpin)) }];
    return [
        ...found.variants.map((v, i) => h("p", { class: "verdict" }, v.says ? `${names[i]} ${v.says.replace(/\.?$/, ".")}` : verdict(v, names[i], span))),
        h("figure", {}, h("figcaption", {}, h("strong", {}, "Change of the time in each band"), ` (rpm) beside the baseline (${count(found.baselineRuns, "run")}); the bars are 95\u00a0% intervals.`),
            found.variants.length > 1 ? key(names) : "", changesPicture("Change in each band with its interval; the table below has the figures", rows, names.length, signal)),
        table("Change by band", [{ head: "Band/rpm", cell: r => r.name }, ...found.variants.flatMap((v, i) => [{ head: `${names.length > 1 ? names[i] + ", " : ""}change/%`, number: true, cell: r => r.values[i] ? signed(r.values[i].percent, r.values[i].high - r.values[i].low) : "" },
            { head: "95\u00a0% interval/%", number: true, cell: r => r.values[i] ? interval(r.values[i].low, r.values[i].high) : "" }, { head: "p (Holm)", number: true, cell: r => r.p ? probability(r.p(v)) : "" }])], rows),
        ...found.variants.map((v, i) => wholeSpin(v, names[i])), ...sureness(found, names),
    ];
}

export function verdict(v, name, span) {
    if (!known(v.lowPercent)) return `${name}: no verdict. ${signed(v.changePercent)} % ${span}, but one run each shows nothing yet; spin each three times or more.`;
    const size = `${signed(v.changePercent, v.highPercent - v.lowPercent)}\u00a0% (${interval(v.lowPercent, v.highPercent)}) ${span}`;
    return v.lowPercent > 0 ? `${name} helps: ${size}.` : v.highPercent < 0 ? `${name} costs: ${size}.` : `${name}: no difference shown, ${size}.`;
}

function wholeSpin(v, name) {
    const w = v.wholeSpin;
    return w ? h("p", {}, `${name}, whole spin from ${rpm(w.startRpm)} rpm: ${clock(w.variantS)} beside ${clock(w.baselineS)}, ${signed(w.changePercent, w.highPercent - w.lowPercent)}\u00a0% (${interval(w.lowPercent, w.highPercent)}).`) : "";
}

function sureness(found, names) {
    const r = found.repeatability;
    const says = [
        ...found.variants.flatMap((v, i) => (v.warnings ?? []).map(w => `${names[i]}: ${text(w)}`)),
        ...found.variants.map((v, i) => known(v.smallestShownPercent) ? `${names[i]} (${count(v.runs, "run")}): the smallest change that these runs would show four times in five is ${number(v.smallestShownPercent, 1)} %.` : ""),
        r && known(r.percent) ? `Repeatability of one run: ${number(r.percent, 1)} %, from ${r.setups} set-ups (${r.degreesOfFreedom} degrees of freedom).` : "",
        found.inReferenceAir === false ? "Times are as spun, not brought to reference air." : "",
        ...(found.outlying ?? []).map(o => `${o.run} lies far from the others: ${o.why}`), ...(found.leftOut ?? []).map(o => `Left out: ${o.run}, ${o.why}`),
        "Bands are many: their p is raised by Holm's rule for it, their intervals stand each for itself.",
    ].filter(Boolean);
    return [h("h2", {}, "How sure"), h("ul", {}, says.map(t => h("li", {}, t)))];
}

const text = w => typeof w === "string" ? w : w.text ?? w.says ?? JSON.stringify(w);
