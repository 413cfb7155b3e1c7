import { h } from "./dom.js";
import { get } from "./api.js";
import { live } from "./live.js";
import { known, number, rpm } from "./format.js";
import { chart, timeAxis } from "./chart.js";

/** The curve so far: fetched whole, then a point a second. */
export function theCurve(signal) {
    let run = null;
    let release = 0;
    let data = { x: [], y: [] };
    const shown = chart({ title: "The speed so far", x: timeAxis("Since release"), y: { label: "Speed/rpm", format: rpm, unit: "rpm" }, data, signal, height: 280 });
    const none = h("p", { class: "quiet" }, "The curve begins with the next launch.");
    const element = h("div", {}, none, shown.element);

    // All pages hear of a point at the same moment: each draws it at one of its own, so that a computer that shows or serves many is not held up by all at
    // once, and with the state that is shown next.
    const lagMs = 900 * Math.random();
    const stateMs = 300; // for so long a state is waited for
    let asked = null;
    let pending = null;

    /** Fetches, which draws as well, or draws. */
    function soon(does) {
        if (asked !== fetchAll) asked = does;
        pending ??= setTimeout(() => { pending = setTimeout(goOn, stateMs); live.addEventListener("live", goOn, { signal, once: true }); }, lagMs);
    }

    function goOn() {
        clearTimeout(pending);
        live.removeEventListener("live", goOn);
        const does = asked;
        asked = pending = null;
        does?.();
    }

    function draw() {
        element.classList.toggle("empty", data.x.length === 0);
        none.hidden = data.x.length > 0;
        shown.element.hidden = data.x.length === 0;
        const newest = data.y.findLast(known);
        shown.update({ x: [...data.x], y: [...data.y] }, newest === undefined ? "" : `${number(data.x.length)} points, the newest ${rpm(newest)} rpm`);
    }

    async function fetchAll() {
        try {
            const got = await get("/api/live/curve", { signal });
            run = got.runNumber;
            release = got.releaseS ?? 0;
            data = { x: got.timesS.map(t => t - release), y: [...got.rpm] };
            draw();
        } catch (error) {
            if (error.name !== "AbortError") none.textContent = error.message;
        }
    }

    draw();
    fetchAll();
    for (const kind of ["curve-reset", "reset"]) live.addEventListener(kind, () => soon(fetchAll), { signal });
    live.addEventListener("notice", e => e.detail.kind === "released" && soon(fetchAll), { signal });
    live.addEventListener("curve", ({ detail }) => {
        if (detail.runNumber !== run) return soon(fetchAll);
        const x = detail.timeS - release;
        if (data.x.length && x <= data.x.at(-1)) return undefined;
        data.x.push(x);
        data.y.push(detail.rpm);
        return soon(draw);
    }, { signal });
    signal.addEventListener("abort", () => clearTimeout(pending));
    return { element };
}
