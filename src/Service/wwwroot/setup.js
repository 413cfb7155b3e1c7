import { field, fresh, h } from "./dom.js";
import { setupText } from "./format.js";

const texts = [["top", "Top"], ["base", "Base"], ["cover", "Cover"], ["operator", "Operator"]];

const options = values => (values ?? []).map(v => h("option", { value: String(v) }));

/**
 * The fields of a set-up. `earlier`: what `/api/set-ups` gave. Gives `{element, read(), write(setup)}`; `read` throws, in words, where a factor's value is no number.
 * `changed` is called at each change by hand.
 */
export function setupFields(earlier, changed = () => {}) {
    const controls = {};
    const lists = h("div", { hidden: true });
    const listed = values => {
        const list = h("datalist", { id: fresh("values") }, options(values));
        lists.append(list);
        return list.id;
    };
    const rows = h("div", { class: "factors" });
    const names = listed((earlier.factors ?? []).map(f => f.name));
    const note = h("textarea", { rows: "2", maxlength: "2000" });
    const recent = h("select", { on: { change: () => { const picked = earlier.recent[Number(recent.value)]; if (picked) { write(picked); changed(); } recent.value = ""; } } },
        h("option", { value: "" }, "choose …"), (earlier.recent ?? []).map((setup, i) => h("option", { value: i }, setupText(setup) || "without a set-up")));

    function addFactor(name = "", value = "") {
        const values = listed((earlier.factors ?? []).find(f => f.name === name)?.values);
        const of = h("input", { value: name, list: names, "aria-label": "Name of the factor", placeholder: "clearance_mm", spellcheck: "false", autocapitalize: "off" });
        const is = h("input", { value: String(value), list: values, inputmode: "decimal", "aria-label": `Value of ${name || "the factor"}`, placeholder: "6" });
        of.addEventListener("change", () => {
            is.setAttribute("aria-label", `Value of ${of.value || "the factor"}`);
            document.getElementById(values)?.replaceChildren(...options((earlier.factors ?? []).find(f => f.name === of.value.trim())?.values));
        });
        const row = h("div", { class: "factor" }, of, h("span", { "aria-hidden": "true" }, "="), is,
            h("button", { type: "button", class: "plain", "aria-label": `Take away ${name || "this factor"}`, on: { click: () => { row.remove(); changed(); more.focus(); } } }, "Take away"));
        rows.append(row);
        return of;
    }

    const more = h("button", { type: "button", class: "plain", on: { click: () => addFactor().focus() } }, "Add a factor");
    const element = h("div", { class: "setup", on: { input: () => changed() } },
        earlier.recent?.length ? field("Take over an earlier set-up", recent) : null,
        texts.map(([key, label]) => field(label, controls[key] = h("input", { list: listed(earlier[key]), maxlength: "200", autocapitalize: "off" }))),
        h("fieldset", { class: "field" }, h("legend", {}, "Factors ", h("span", { class: "hint" }, "a name with its unit, and a number")), rows, more),
        field("Note", note), lists);

    function write(setup) {
        for (const [key] of texts) controls[key].value = setup[key] ?? "";
        note.value = setup.note ?? "";
        rows.replaceChildren();
        for (const [name, value] of Object.entries(setup.factors ?? {})) addFactor(name, value);
    }

    function read() {
        const setup = { factors: {} };
        for (const [key] of texts) setup[key] = controls[key].value.trim();
        setup.note = note.value.trim();
        for (const row of rows.children) {
            const [of, is] = row.querySelectorAll("input");
            const name = of.value.trim();
            const text = is.value.trim();
            if (!name && !text) continue;
            const value = Number(text.replace("−", "-").replace(",", "."));
            if (!name) throw new Error(`The factor with the value ${text} has no name.`);
            if (!text || !Number.isFinite(value)) throw new Error(`${name}: ${text ? `'${text}'` : "nothing"} is no number. A factor is a number in the unit that its name says, such as clearance_mm = 6.`);
            setup.factors[name] = value;
        }
        return setup;
    }

    return { element, read, write };
}

/** What a saved run's set-up is to be changed by, so that only what differs is sent. */
export function changes(before, after) {
    const body = {};
    for (const key of ["top", "base", "cover", "operator", "note"])
        if ((before[key] ?? "") !== after[key]) body[key] = after[key];
    const factors = {};
    for (const name of Object.keys(before.factors ?? {})) if (!(name in after.factors)) factors[name] = null;
    for (const [name, value] of Object.entries(after.factors)) if (before.factors?.[name] !== value) factors[name] = value;
    if (Object.keys(factors).length) body.factors = factors;
    return body;
}
