import { field, fresh, h, speedIn, table, trouble } from "./dom.js";
import { get, query } from "./api.js";
import { clock, count, factorName, factorValue, interval, known, none, number, rpm, signed } from "./format.js";
import { sweepPicture } from "./picture.js";
import { keysAndValues } from "./sieve.js";
import { filterField, questions } from "./compare.js";

export async function show(place, { signal, search, go }) {
    const { runs } = await get("/api/runs", { signal });
    const factors = [...new Set(runs.flatMap(r => Object.keys(r.factors ?? {})))].sort();
    place.append(questions("/sweep"), h("h1", {}, "Which value is best?"));
    if (!factors.length) {
        place.append(h("p", { class: "lead" }, "No run has a factor yet."), h("p", {}, "A factor is a number of the set-up, such as ", h("code", {}, "clearance_mm = 6"), ". Give the runs theirs on the ", h("a", { href: "/bench" }, "Bench"), " page before they are spun, or in the ", h("a", { href: "/library" }, "Library"), " afterwards."));
        return;
    }
    const factor = h("select", {}, factors.map(f => h("option", { value: f }, factorName(f))));
    factor.value = search.get("factor") ?? factors[0];
    const by = h("select", {}, h("option", { value: "" }, "all together"), ["top", "base", "cover", "operator", ...factors].map(k => h("option", { value: k }, "for each " + factorName(k))));
    by.value = search.get("by") ?? "";
    const list = h("datalist", { id: fresh("filters") }, keysAndValues(runs).map(([kv, n]) => h("option", { value: kv }, count(n, "run"))));
    const base = filterField(runs, "Baseline, if gains beside one are wanted", search.get("baseline") ?? "", list.id);
    const from = h("input", { inputmode: "decimal", value: search.get("fromRpm") ?? "2000" });
    const to = h("input", { inputmode: "decimal", value: search.get("toRpm") ?? "500" });
    place.append(h("form", { on: { submit: e => { e.preventDefault(); ask(); } } },
        h("div", { class: "pair" }, h("div", {}, field("Factor", factor), field("Curves", by)), base.element),
        h("div", { class: "speeds" }, field("From/rpm", from), field("To/rpm", to), h("button", { type: "submit", class: "main" }, "Find the best")), list));
    const result = h("div", {});
    place.append(result);

    function ask() {
        try {
            go("/sweep" + query({ factor: factor.value, by: by.value, baseline: base.input.value.trim(), fromRpm: speedIn(from, "From"), toRpm: speedIn(to, "To") }));
        } catch (error) {
            result.replaceChildren(trouble(error));
        }
    }

    if (!search.get("factor")) return;
    result.append(h("p", { class: "quiet", role: "status" }, "Working it out …"));
    get("/api/sweep" + query({ factor: factor.value, by: by.value, baseline: base.input.value.trim(), fromRpm: from.value, toRpm: to.value }), { signal })
        .then(found => result.replaceChildren(...answer(found, signal)), error => error.name === "AbortError" || result.replaceChildren(trouble(error)));
}

function answer(found, signal) {
    const gains = known(found.baselineS);
    const gain = s => known(s) ? (s / found.baselineS - 1) * 100 : null;
    const shown = found.curves.flatMap(curve => [
        curve.category ? h("h2", {}, curve.category) : "",
        h("p", { class: "verdict" }, best(curve, found.factor)),
        h("figure", {}, h("figcaption", {}, h("strong", {}, `Decay time against ${factorName(found.factor)}`), gains ? ", as a gain over the baseline" : "", "; the bars are 95\u00a0% intervals; a filled dot may be the best value, a hollow one may not; the dashed line is the best, the shade its interval."),
            sweepPicture(`Decay time against ${factorName(found.factor)}; the table below has the figures`, {
                ...curve,
                levels: curve.levels.map(l => ({ value: l.value, best: curve.ties.includes(l.value), ...gains ? { mid: l.changePercent, low: l.lowPercent, high: l.highPercent } : { mid: l.meanS, low: l.lowS, high: l.highS } })),
                points: (curve.points ?? []).map(p => [p.value, gains ? gain(p.timeS) : p.timeS]),
                fit: (curve.fit ?? []).map(f => [f.value, ...[f.meanS, f.lowS, f.highS].map(x => gains ? gain(x) : x)]),
            }, factorName(found.factor), gains ? "Gain/%" : "Decay time/s", signal)),
        table("Values tried", [{ head: factorName(found.factor), number: true, cell: l => String(l.value) }, { head: "Runs", number: true, cell: l => number(l.runs) }, { head: "Mean/s", number: true, cell: l => number(l.meanS) },
            { head: "95\u00a0% interval/s", number: true, cell: l => known(l.lowS) ? `${number(l.lowS)} to ${number(l.highS)}` : none },
            ...gains ? [{ head: "Gain/%", number: true, cell: l => signed(l.changePercent, l.highPercent - l.lowPercent) }, { head: "95\u00a0% interval/%", number: true, cell: l => interval(l.lowPercent, l.highPercent) }] : [],
            { head: "May be best", cell: l => curve.ties.includes(l.value) ? "yes" : "no" }], curve.levels),
    ]);
    const says = [...(found.warnings ?? []).map(w => typeof w === "string" ? w : w.text ?? JSON.stringify(w)), ...(found.leftOut ?? []).map(o => `Left out: ${o.run}, ${o.why}`)];
    return [h("p", { class: "quiet" }, `Decay time from ${rpm(found.fromRpm)} to ${rpm(found.toRpm)} rpm${gains ? `; the baseline takes ${clock(found.baselineS)}` : ""}.`), ...shown, ...says.length ? [h("h2", {}, "How sure"), h("ul", {}, says.map(t => h("li", {}, t)))] : []];
}

function best(curve, factor) {
    if (!known(curve.best)) return curve.ties.length ? `No single best value; of those tried ${curve.ties.join(", ")} tie.` : "These runs name no best value.";
    const interval = known(curve.bestLow) && known(curve.bestHigh) ? ` (95\u00a0% interval ${short(curve.bestLow)} to ${short(curve.bestHigh)})` : "";
    return `Best at ${factorValue(factor, short(curve.best))}${interval}.${curve.ties.length > 1 ? ` Of the values tried ${curve.ties.join(", ")} tie.` : ""}${curve.bestMayLieOutside ? " It may lie outside the values tried." : ""}`;
}

const short = x => String(+x.toPrecision(3));
