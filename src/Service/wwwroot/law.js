import { h, table } from "./dom.js";
import { number, rpm } from "./format.js";

const standsFor = { 0: "dry contact", 1: "viscous, eddy", 1.5: "laminar air", 1.8: "turbulent air", 2: "drag, pumping" };

/** What the fitted law says of the parts of the loss: the share of each at some speeds. */
export function lawParts(law) {
    if (!law?.shares?.length) return h("p", { class: "quiet" }, "No law of the loss could be fitted to this run.");
    const speeds = [...new Set(law.shares.map(s => s.rpm))];
    const groups = [...new Map(law.shares.map(s => [s.exponents.join(" or "), s.exponents])).entries()];
    const share = (group, speed) => law.shares.find(s => s.rpm === speed && s.exponents.join(" or ") === group);
    const name = exponents => exponents.length === 1 ? standsFor[exponents[0]] ?? "" : exponents.every(p => p >= 1.5) ? "air" : exponents.every(p => p >= 1) ? "air or viscous" : "not told apart";
    const strange = law.longRunVariance > 1000;
    return h("div", {}, h("h3", {}, "What slows it down"),
        table("Share of each part of the loss", [{ head: "Power of speed", cell: g => g[0] }, { head: "Stands for", cell: g => name(g[1]) },
            ...speeds.map(speed => ({ head: `% at ${rpm(speed)} rpm`, number: true, cell: g => { const found = share(g[0], speed); return found ? `${number(100 * found.share, 1)} ± ${100 * found.uShare < 0.1 ? "<0.1" : number(100 * found.uShare, 1)}` : ""; } }))], groups),
        h("p", { class: "quiet" }, `Fitted to ${number(law.data)} marks of the free spin, ${rpm(law.fitFromRpm)} to ${rpm(law.fitToRpm)} rpm.`, strange ? " No law of these powers follows the spin wholly: trust the bands." : ""));
}
