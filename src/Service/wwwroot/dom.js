/** Makes an element. Props: `on` (listeners by event), `class`, else attributes; false, null and undefined leave one out. */
export function h(tag, props, ...children) {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(props ?? {})) {
        if (value === false || value === null || value === undefined) continue;
        if (name === "on") for (const [event, does] of Object.entries(value)) made.addEventListener(event, does);
        else if (name === "value" || name === "checked") made[name] = value;
        else made.setAttribute(name, value === true ? "" : value);
    }
    made.append(...children.flat(Infinity).filter(c => c !== null && c !== undefined && c !== false));
    return made;
}

/** The same for SVG. */
export function s(tag, attributes, ...children) {
    const made = document.createElementNS("http://www.w3.org/2000/svg", tag);
    for (const [name, value] of Object.entries(attributes ?? {})) made.setAttribute(name, value);
    made.append(...children.flat(Infinity).filter(c => c !== null && c !== undefined));
    return made;
}

/** Sets a text only where it changed: what did not change is not laid out again. */
export function say(element, text) {
    if (element.textContent !== text) element.textContent = text;
}

/** A list of terms; pairs whose text is empty are left out. */
export function facts(pairs, name = "facts") {
    return h("dl", { class: name }, pairs.filter(p => p[1] !== "" && p[1] !== null && p[1] !== undefined).map(([term, text]) => h("div", {}, h("dt", {}, term), h("dd", {}, text))));
}

/** A table. Columns: `{head, number, cell(row)}`. */
export function table(caption, columns, rows) {
    return h("div", { class: "wide", tabindex: "0", role: "region", "aria-label": caption }, h("table", {},
        h("caption", { class: "unseen" }, caption),
        h("thead", {}, h("tr", {}, columns.map(c => h("th", { scope: "col", class: c.number && "n" }, c.head)))),
        h("tbody", {}, rows.map(row => h("tr", {}, columns.map(c => h("td", { class: c.number && "n" }, c.cell(row))))))));
}

let made = 0;

/** A name that no other element of the page has. */
export const fresh = stem => `${stem}-${++made}`;

/** A labelled field. The control is given an id where it has none. */
export function field(label, control, hint) {
    control.id ||= fresh("field");
    const note = hint && h("span", { class: "hint", id: control.id + "-hint" }, hint);
    if (note) control.setAttribute("aria-describedby", note.id);
    return h("div", { class: "field" }, h("label", { for: control.id }, label), control, note);
}

/** A speed that was typed in; throws, in words, where it is none. */
export function speedIn(input, name) {
    const text = input.value.trim();
    const value = Number(text.replace(",", "."));
    if (!text || !Number.isFinite(value) || value <= 0) throw new Error(`${name}: ${text ? `'${text}'` : "nothing"} is no speed; say it in rpm, such as 1500.`);
    return value;
}

/** What went wrong, for a person, in a block that is read out. */
export function trouble(error) {
    const texts = error?.problems?.length ? error.problems : [error?.message ?? String(error)];
    return h("div", { class: "trouble", role: "alert" }, texts.map(t => h("p", {}, t)));
}

/** Says something once to those who listen rather than look. */
export function announce(text) {
    const said = document.getElementById("said");
    said.textContent = "";
    requestAnimationFrame(() => { said.textContent = text; });
}
