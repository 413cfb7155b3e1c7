import { announce, field, h, s, say, trouble } from "./dom.js";
import { get, send } from "./api.js";
import { live, now } from "./live.js";
import { clock, count, factorsText, rpm, when } from "./format.js";
import { Rows } from "./rows.js";
import { orders, sieve } from "./sieve.js";
import { editMany, fetchZip } from "./edit.js";

// Holds while the page is open: to come back from a run is to find the list as it was left.
const left = { text: "", kind: "all", order: "when", down: true, picked: new Set(), y: 0 };

export async function show(place, { signal, go }) {
    let library = await get("/api/runs", { signal });
    const heading = h("h1", {}, "Library");
    const counts = h("p", { class: "quiet", role: "status" });
    const text = h("input", { type: "search", value: left.text, placeholder: "oak ring, clearance_mm=6", autocapitalize: "off", spellcheck: "false", on: { input: () => { left.text = text.value; list(); } } });
    const kind = h("select", { on: { change: () => { left.kind = kind.value; list(); } } }, [["all", "All"], ["counting", "That count"], ["spoilt", "Spoilt"]].map(([v, t]) => h("option", { value: v }, t)));
    const order = h("select", { on: { change: () => { [left.order, left.down] = [order.value.split(" ")[0], order.value.endsWith("down")]; list(); } } },
        Object.entries(orders).flatMap(([key, [name]]) => [h("option", { value: key + " down" }, `${name}, ${key === "when" ? "newest" : "highest"} first`), h("option", { value: key + " up" }, `${name}, ${key === "when" ? "oldest" : "lowest"} first`)]));
    kind.value = left.kind;
    const body = h("tbody", { role: "rowgroup" });
    const all = h("input", { type: "checkbox", "aria-label": "Pick all that are listed", on: { change: () => { for (const run of rows.items) pick(run, all.checked, true); list(); } } });
    const heads = { pick: all, when: null, top: null, setup: null, time: null, peak: null, curve: "Curve", state: "Remarks" };
    const head = h("tr", { role: "row" }, Object.entries(heads).map(([key, what]) => h("th", { role: "columnheader", scope: "col", class: "c-" + key + (key === "time" || key === "peak" ? " n" : "") },
        what ?? h("button", { type: "button", "data-key": key, on: { click: () => sort(key) } }, orders[key][0]))));
    const runs = h("table", { class: "runs", role: "table", "aria-label": "Runs", on: { keydown: arrows } }, h("thead", { role: "rowgroup" }, head), body);
    const bar = h("div", { class: "picked choices", role: "region", "aria-label": "Picked runs" });
    const empty = h("div", {});
    const problem = h("div", {});
    const more = h("div", {});
    const rows = new Rows(body, row, run => run.run, signal);
    place.append(heading, counts, h("div", { class: "sieve", role: "search" }, field("Find", text), field("Runs", kind), h("div", { class: "by-phone" }, field("Order", order))), problem, empty, runs, bar, more);

    function row(run, index) {
        const picked = left.picked.has(run.run);
        const setup = [run.cover && run.cover !== "none" && `cover ${run.cover}`, factorsText(run.factors), run.base].filter(Boolean).join(" · ");
        const box = h("input", { type: "checkbox", checked: picked, "aria-label": `Pick ${run.top || "the run"} of ${when(run.startedAt)}`, on: { change: e => { pick(run, e.target.checked); e.target.closest("tr").setAttribute("aria-selected", e.target.checked); } } });
        const cell = (name, ...what) => h("td", { role: "cell", class: "c-" + name + (name === "time" || name === "peak" ? " n" : "") }, ...what);
        return h("tr", { role: "row", "aria-rowindex": index + 2, "aria-selected": picked, "data-index": index },
            cell("pick", h("label", { class: "pick" }, box)),
            cell("when", h("a", { href: "/runs/" + encodeURIComponent(run.run) }, when(run.startedAt))),
            cell("top", run.top || h("span", { class: "quiet" }, "no name")), cell("setup", setup),
            cell("time", clock(run.spinTimeS)), cell("peak", rpm(run.peakRpm)), cell("curve", smallCurve(run.curve)),
            cell("state", [run.spoilt && "spoilt", run.endReason && run.endReason !== "stopped" && run.endReason, run.edited && "edited"].filter(Boolean).join(", ")));
    }

    function pick(run, on, quiet = false) {
        if (on) left.picked.add(run.run);
        else left.picked.delete(run.run);
        if (!quiet) drawBar();
    }

    function sort(key) {
        left.down = left.order === key ? !left.down : key === "when" || key === "time" || key === "peak";
        left.order = key;
        list();
        announce(`By ${orders[key][0]}, ${left.down ? "downwards" : "upwards"}`);
    }

    function list() {
        const shown = sieve(library.runs, left.text, left.kind);
        shown.sort((a, b) => (left.down ? -1 : 1) * orders[left.order][1](a, b));
        order.value = `${left.order} ${left.down ? "down" : "up"}`;
        for (const th of head.children) {
            const key = th.querySelector("button")?.dataset.key;
            if (key === left.order) th.setAttribute("aria-sort", left.down ? "descending" : "ascending");
            else th.removeAttribute("aria-sort");
            if (key) say(th.querySelector("button"), orders[key][0] + (key === left.order ? left.down ? " ↓" : " ↑" : ""));
        }
        runs.setAttribute("aria-rowcount", shown.length + 1);
        runs.hidden = shown.length === 0;
        rows.items = shown;
        const total = library.runs.length;
        say(counts, total === 0 ? "" : `${shown.length === total ? count(total, "run") : `${count(shown.length, "run")} of ${total}`} in ${library.library}${library.indexing ? "; more are still being read" : ""}`);
        empty.replaceChildren(...total === 0 ? toBegin(library) : shown.length === 0 ? [h("p", {}, "No run holds that. Words are looked for in set-up, note and name; key=value takes a value as a whole. ",
            h("button", { type: "button", class: "plain", on: { click: () => { text.value = left.text = ""; kind.value = left.kind = "all"; list(); text.focus(); } } }, "List all"))] : []);
        all.checked = shown.length > 0 && shown.every(run => left.picked.has(run.run));
        drawBar();
    }

    function drawBar() {
        const picked = library.runs.filter(run => left.picked.has(run.run));
        bar.hidden = picked.length === 0;
        const does = work => async () => { problem.replaceChildren(); try { await work(); } catch (error) { problem.replaceChildren(trouble(error)); problem.scrollIntoView({ block: "nearest" }); } };
        bar.replaceChildren(h("strong", {}, count(picked.length, "run") + " picked"),
            h("button", { type: "button", class: "main", disabled: picked.length < 2, on: { click: () => go("/compare?" + picked.map(r => "run=" + encodeURIComponent(r.run)).join("&")) } }, "Compare"),
            h("button", { type: "button", on: { click: does(() => editMany(picked).then(done => done && reload())) } }, "Edit"),
            h("button", { type: "button", on: { click: does(() => fetchZip(picked)) } }, "Download"),
            h("button", { type: "button", class: "plain", on: { click: () => { left.picked.clear(); list(); text.focus(); } } }, "None"));
    }

    function arrows(e) {
        const step = { ArrowDown: 1, ArrowUp: -1, PageDown: 10, PageUp: -10 }[e.key];
        const at = e.target.closest("tr[data-index]");
        if (!step || !at) return;
        e.preventDefault();
        const to = Math.min(rows.items.length - 1, Math.max(0, Number(at.dataset.index) + step));
        rows.reach(to)?.querySelector(e.target.matches("a") ? "a" : "input")?.focus({ preventScroll: true });
    }

    async function reload() {
        library = await get("/api/runs", { signal });
        list();
        drawMore();
    }

    async function drawMore() {
        const bad = library.unreadable ?? [];
        const trash = await get("/api/trash", { signal }).catch(() => ({ runs: [] }));
        more.replaceChildren(...bad.length ? [h("details", {}, h("summary", {}, `${count(bad.length, "folder")} not to be read`), h("ul", {}, bad.map(b => h("li", {}, h("strong", {}, b.run), " ", b.why))))] : [],
            ...trash.runs.length ? [h("details", {}, h("summary", {}, `${count(trash.runs.length, "deleted run")}`), h("ul", {}, trash.runs.map(name => h("li", {}, name, " ",
                h("button", { type: "button", class: "plain", "aria-label": `Put ${name} back`, on: { click: () => send("POST", `/api/trash/${encodeURIComponent(name)}/restore`, {}).then(reload, e => problem.replaceChildren(trouble(e))) } }, "Put back")))))] : []);
    }

    const again = () => reload().catch(e => e.name === "AbortError" || problem.replaceChildren(trouble(e)));
    live.addEventListener("library", again, { signal });
    live.addEventListener("reset", again, { signal });
    signal.addEventListener("abort", () => { left.y = scrollY; });
    // The rows can be measured only once they are in the page.
    queueMicrotask(() => requestAnimationFrame(() => { list(); drawMore(); }));
}

function toBegin(library) {
    return [h("p", { class: "lead" }, library.indexing ? "The library is being read …" : "There are no runs yet."), h("p", {}, now.doc?.capturing
        ? ["The capture is waiting: check the aim on the ", h("a", { href: "/bench" }, "Bench"), " page, then launch the top. Its run appears here half a minute or so after it has fallen."]
        : ["Record the first one: ", h("code", {}, "acquire capture --port /dev/ttyACM0 --top oak-rim --once"), ", then launch the top. Its run appears here by itself."])];
}

function smallCurve(curve) {
    const peak = Math.max(1, ...(curve ?? []).filter(y => y !== null));
    let path = "";
    let down = false;
    (curve ?? []).forEach((y, i) => {
        if (y === null) { down = false; return; }
        path += `${down ? "L" : "M"}${(i / Math.max(1, curve.length - 1) * 100).toFixed(1)} ${(29 - y / peak * 27).toFixed(1)}`;
        down = true;
    });
    return s("svg", { class: "small-curve", viewBox: "0 0 100 30", preserveAspectRatio: "none", "aria-hidden": "true" }, s("path", { d: path || "M0 29" }));
}
