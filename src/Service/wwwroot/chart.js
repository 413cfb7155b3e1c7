import { h, table } from "./dom.js";
import { clock, none, number } from "./format.js";

let loading = null;

/** The chart library; null where it is not to be had. */
function library() {
    return loading ??= new Promise(resolve => {
        const script = h("script", { src: "/vendor/uPlot.iife.min.js?v=1.6.32" });
        script.onload = () => resolve(window.uPlot ?? null);
        script.onerror = () => resolve(null);
        document.head.append(h("link", { rel: "stylesheet", href: "/vendor/uPlot.min.css?v=1.6.32" }), script);
    });
}

const colour = name => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

/**
 * A chart with its table. `x`, `y`: `{label, format}`; `data`: `{x, y, low?, high?}` of equal length, x ascending, null where nothing was measured.
 * Gives `{element, update(data)}`. Where charts are missing the page says so, and the table stands open.
 */
export function chart({ title, summary, x, y, data, signal, height = 300 }) {
    const host = h("div", { class: "plot", role: "img", "aria-label": title });
    const readout = h("p", { class: "readout", "aria-hidden": "true" }, "\u00a0");
    const rows = h("div", {});
    const details = h("details", { class: "as-table", on: { toggle: () => details.open && fill() } }, h("summary", {}, "As a table"), rows);
    const caption = h("figcaption", {}, h("strong", {}, title), summary ? " " + summary : "");
    const element = h("figure", { class: "chart" }, caption, host, readout, details);
    let plot = null;
    let Plot = null;
    let wide = 0;

    function fill() {
        const step = Math.max(1, Math.ceil(data.x.length / 60));
        const picked = data.x.map((_, i) => i).filter(i => i % step === 0 || i === data.x.length - 1);
        rows.replaceChildren(h("p", { class: "quiet" }, step > 1 ? `Every ${step}th of ${number(data.x.length)} points; the files have them all.` : `${number(data.x.length)} points.`),
            table(title, [{ head: x.label, number: true, cell: i => x.format(data.x[i]) }, { head: y.label, number: true, cell: i => y.format(data.y[i]) },
                ...data.low ? [{ head: "95\u00a0% from", number: true, cell: i => y.format(data.low[i]) }, { head: "to", number: true, cell: i => y.format(data.high[i]) }] : []], picked));
    }

    const columns = () => data.low ? [data.x, data.y, data.low, data.high] : [data.x, data.y];

    function draw() {
        plot?.destroy();
        plot = null;
        wide = Math.floor(host.clientWidth);
        if (!Plot || wide < 50) return;
        const ink = colour("--accent"), quiet = colour("--quiet"), line = colour("--line");
        const font = "12px " + getComputedStyle(document.body).fontFamily;
        const axis = { stroke: quiet, font, labelFont: font, labelGap: 2, grid: { stroke: line, width: 1 }, ticks: { show: false } };
        const hidden = { show: true, stroke: "transparent", width: 0, points: { show: false } };
        plot = new Plot({
            width: wide, height, legend: { show: false }, padding: [8, 12, 0, 0],
            scales: { x: { time: false }, y: { range: (u, low, high) => span(low, high) } },
            axes: [{ ...axis, label: x.label, labelSize: 20, size: 26, grid: { show: false }, space: 70, values: (u, ticks) => ticks.map(x.format), ...x.steps ? { incrs: x.steps } : {} },
                { ...axis, label: y.label, labelSize: 22, size: 54, values: (u, ticks) => ticks.map(t => tick(t)) }],
            series: [{}, { stroke: ink, width: 1.75, points: { show: data.x.length < 3 } }, ...data.low ? [hidden, hidden] : []],
            bands: data.low ? [{ series: [3, 2], fill: colour("--band") }] : [],
            cursor: { y: false, points: { show: false }, drag: { x: true, y: false } },
            hooks: { setCursor: [u => { readout.textContent = at(u.cursor.idx); }] },
        }, columns(), host);
    }

    const at = i => i === null || i === undefined || data.y[i] === undefined ? "\u00a0" : `${x.label} ${x.format(data.x[i])}: ${data.y[i] === null ? none : y.format(data.y[i])} ${y.unit ?? ""}`;

    library().then(found => {
        if (signal.aborted) return;
        Plot = found;
        if (Plot) return draw();
        host.removeAttribute("role");
        host.replaceChildren(h("p", { class: "quiet" }, "The charts are missing: this copy was built without npm. The table has the same figures."));
        details.open = true;
    });
    const watch = new ResizeObserver(() => { if (Math.abs(Math.floor(host.clientWidth) - wide) > 1) draw(); });
    watch.observe(host);
    addEventListener("look", draw, { signal });
    signal.addEventListener("abort", () => { watch.disconnect(); plot?.destroy(); plot = null; });

    return {
        element,
        update(next, what) {
            data = next;
            if (what) host.setAttribute("aria-label", `${title}: ${what}`);
            if (plot) plot.setData(columns());
            if (details.open) fill();
        },
    };
}

const tick = t => Math.abs(t) >= 1000 ? number(t) : String(+t.toPrecision(4)).replace("-", "−");

/** A scale that holds the values with a little room, from zero where zero is near. */
function span(low, high) {
    if (low === null || high === null) return [0, 1];
    const room = (high - low || Math.abs(high) || 1) * 0.06;
    return [low >= 0 && low < 0.6 * high ? 0 : low - room, high + room];
}

/** An axis of time, in seconds, read as h:mm:ss. */
export const timeAxis = label => ({ label, format: clock, steps: [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400] });
