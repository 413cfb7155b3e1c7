import { h, s } from "./dom.js";
import { known, number, signed } from "./format.js";

/** Marks that are told apart without colour. */
const shapes = [
    (x, y) => s("circle", { cx: x, cy: y, r: 5 }),
    (x, y) => s("rect", { x: x - 4.5, y: y - 4.5, width: 9, height: 9 }),
    (x, y) => s("path", { d: `M${x} ${y - 6}l6 10.5h-12z` }),
    (x, y) => s("path", { d: `M${x} ${y - 6}l6 6l-6 6l-6-6z` }),
];

const mark = (kind, x, y) => { const made = shapes[kind % 4](x, y); made.setAttribute("class", "v" + kind % 4); return made; };

/** A key of names with their marks. */
export const key = names => h("ul", { class: "key" }, names.map((name, i) => h("li", {}, s("svg", { class: "picture", viewBox: "0 0 18 14", "aria-hidden": "true" }, mark(i, 9, 7)), " ", name)));

/** Round steps of a scale. */
export function steps(low, high, about) {
    const raw = (high - low) / Math.max(1, about);
    const size = 10 ** Math.floor(Math.log10(raw));
    const step = [1, 2, 5, 10].find(k => k * size >= raw) * size;
    const made = [];
    for (let i = Math.ceil(low / step - 1e-9); i * step <= high + 1e-9 * step; i++) made.push(i * step + 0);
    return made;
}

/** Draws into a figure whenever its width changes; `draw(width)` gives an SVG. */
function drawn(title, draw, signal) {
    const host = h("div", { role: "img", "aria-label": title });
    let wide = 0;
    const watch = new ResizeObserver(() => {
        if (Math.abs(host.clientWidth - wide) < 2) return;
        wide = host.clientWidth;
        if (wide > 100) host.replaceChildren(draw(wide));
    });
    watch.observe(host);
    signal.addEventListener("abort", () => watch.disconnect());
    return host;
}

/**
 * Changes with their intervals: a dot and a bar each, about a line at nothing.
 * `rows`: `{name, values: [{percent, low, high} | null, one a variant], apart}`.
 */
export function changesPicture(title, rows, variants, signal) {
    const all = rows.flatMap(r => r.values).filter(v => v && known(v.percent)).flatMap(v => [v.percent, v.low, v.high]).filter(known);
    const low = Math.min(0, ...all), high = Math.max(0, ...all), room = (high - low || 1) * 0.05;
    return drawn(title, width => {
        const left = Math.min(150, Math.max(104, width * 0.3)), right = 14, top = 8, each = Math.max(26, 15 * variants + 12);
        const height = top + rows.length * each + 44;
        const x = p => left + (p - low + room) / (high - low + 2 * room) * (width - left - right);
        const parts = steps(low, high, width / 90).flatMap(p => [s("line", { class: p === 0 ? "zero" : "grid", x1: x(p), x2: x(p), y1: top, y2: height - 40 }), s("text", { class: "faint", x: x(p), y: height - 24, "text-anchor": "middle" }, signed(p, 99))]);
        parts.push(s("line", { class: "zero", x1: x(0), x2: x(0), y1: top, y2: height - 40 }), s("text", { class: "faint", x: left + (width - left - right) / 2, y: height - 6, "text-anchor": "middle" }, "Change/%"));
        rows.forEach((row, i) => {
            const y = top + i * each;
            if (row.apart) parts.push(s("line", { class: "grid", x1: 0, x2: width, y1: y, y2: y }));
            parts.push(s("text", { x: left - 14, y: y + each / 2 + 4, "text-anchor": "end" }, row.name));
            row.values.forEach((v, k) => {
                if (!v || !known(v.percent)) return;
                const at = y + each / 2 + (k - (variants - 1) / 2) * 15;
                if (known(v.low) && known(v.high)) parts.push(s("line", { class: "bar v" + k % 4, x1: x(v.low), x2: x(v.high), y1: at, y2: at }));
                parts.push(mark(k, x(v.percent), at));
            });
        });
        return s("svg", { class: "picture", viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true" }, parts);
    }, signal);
}

/**
 * A numeric factor's levels with their intervals, every run where it is told, the fitted curve, the best value with its interval.
 * `curve`: `{levels: [{value, mid, low, high, best}], points: [[x, y]], fit: [[x, mid, low, high]], best, bestLow, bestHigh}`.
 */
export function sweepPicture(title, curve, xLabel, yLabel, signal) {
    const xs = [...curve.levels.map(l => l.value), ...curve.points.map(p => p[0]), ...curve.fit.map(f => f[0]), curve.bestLow, curve.bestHigh].filter(known);
    const ys = [...curve.levels.flatMap(l => [l.low, l.mid, l.high]), ...curve.points.map(p => p[1]), ...curve.fit.flatMap(f => f.slice(1))].filter(known);
    const [x0, x1] = padded(xs), [y0, y1] = padded(ys);
    return drawn(title, width => {
        const left = 58, right = 12, top = 12, bottom = 50, height = Math.max(260, Math.min(380, width * 0.6));
        const x = v => left + (v - x0) / (x1 - x0) * (width - left - right);
        const y = v => height - bottom - (v - y0) / (y1 - y0) * (height - bottom - top);
        const parts = [];
        if (known(curve.bestLow) && known(curve.bestHigh)) parts.push(s("rect", { class: "best", x: x(curve.bestLow), y: top, width: Math.max(1, x(curve.bestHigh) - x(curve.bestLow)), height: height - bottom - top }));
        for (const v of steps(y0, y1, height / 60)) parts.push(s("line", { class: "grid", x1: left, x2: width - right, y1: y(v), y2: y(v) }), s("text", { class: "faint", x: left - 8, y: y(v) + 4, "text-anchor": "end" }, number(v, Math.abs(y1 - y0) < 5 ? 1 : 0)));
        for (const v of steps(x0, x1, width / 80)) parts.push(s("text", { class: "faint", x: x(v), y: height - bottom + 20, "text-anchor": "middle" }, String(+v.toPrecision(6))));
        parts.push(s("text", { class: "faint", x: left + (width - left - right) / 2, y: height - 8, "text-anchor": "middle" }, xLabel), s("text", { class: "faint", x: 14, y: (height - bottom) / 2, transform: `rotate(-90 14 ${(height - bottom) / 2})`, "text-anchor": "middle" }, yLabel));
        const fit = curve.fit.filter(f => known(f[1]));
        const path = (k, list = fit) => list.map((f, i) => `${i ? "L" : ""}${x(f[0]).toFixed(1)} ${y(f[k]).toFixed(1)}`).join("");
        if (fit.length > 1 && fit.every(f => known(f[2]) && known(f[3]))) parts.push(s("path", { class: "fit-band", d: `M${path(2)}L${path(3, [...fit].reverse())}Z` }));
        if (fit.length > 1) parts.push(s("path", { class: "fit", d: "M" + path(1) }));
        if (known(curve.best)) parts.push(s("line", { class: "best-line", x1: x(curve.best), x2: x(curve.best), y1: top, y2: height - bottom }));
        for (const [px, py] of curve.points) if (known(py)) parts.push(s("circle", { class: "one", cx: x(px), cy: y(py), r: 3.5 }));
        for (const l of curve.levels) {
            if (known(l.low) && known(l.high)) parts.push(s("line", { class: "bar v0", x1: x(l.value), x2: x(l.value), y1: y(l.low), y2: y(l.high) }));
            const dot = mark(0, x(l.value), y(l.mid));
            if (!l.best) dot.setAttribute("class", "v0 hollow");
            parts.push(dot);
        }
        return s("svg", { class: "picture", viewBox: `0 0 ${width} ${height}`, "aria-hidden": "true" }, parts);
    }, signal);
}

function padded(values) {
    const low = Math.min(...values), high = Math.max(...values), room = (high - low || Math.abs(high) || 1) * 0.06;
    return [low - room, high + room];
}
