import { field, h } from "./dom.js";
import { get, query, runPath, send } from "./api.js";
import { count } from "./format.js";
import { changes, setupFields } from "./setup.js";
import { ask } from "./dialog.js";

/** Edits a run's set-up, name and whether it counts. Gives the run as it is then, or undefined. */
export async function editRun(run, acquire) {
    const fields = setupFields(await get("/api/set-ups"));
    fields.write(acquire.setup);
    const spoilt = h("input", { value: acquire.spoilt?.why ?? acquire.spoilt ?? "", maxlength: "200" });
    const before = spoilt.value;
    const name = h("input", { placeholder: "as it is", autocapitalize: "off", spellcheck: "false" });
    return ask("Edit this run", h("div", {}, h("p", { class: "quiet" }, "What was changed and when is entered in the run. What was measured is not touched."), fields.element,
        field("Spoilt, because", spoilt, "Empty: the run counts. A spoilt run is kept, and left out of comparisons."), field("New name of the folder", name, "The moment of the start stays in front of it.")),
    "Save", () => {
        const body = changes(acquire.setup, fields.read());
        if (spoilt.value.trim() !== before) body.spoilt = spoilt.value.trim();
        if (name.value.trim()) body.rename = name.value.trim();
        if (!Object.keys(body).length) throw new Error("Nothing is changed yet.");
        return send("PATCH", runPath(run), body);
    });
}

/** Edits several runs alike: what is left empty stays as it is in each. */
export async function editMany(runs) {
    if (runs.length === 1) {
        const { run, acquire } = await get(runPath(runs[0].run));
        return editRun(run, acquire);
    }
    const fields = setupFields(await get("/api/set-ups"));
    const spoilt = h("select", {}, [["", "as it is"], ["spoilt", "spoilt"], ["counts", "counts again"]].map(([v, t]) => h("option", { value: v }, t)));
    const why = h("input", { placeholder: "hand slipped", maxlength: "200" });
    return ask(`Edit ${count(runs.length, "run")}`, h("div", {}, h("p", { class: "quiet" }, "What is left empty stays as it is in each run. The edits are entered in the runs."), fields.element, field("Whether they count", spoilt), field("Why spoilt", why)),
        "Save in all of them", async () => {
            const body = Object.fromEntries(Object.entries(fields.read()).filter(([, v]) => typeof v === "object" ? Object.keys(v).length : v !== ""));
            if (spoilt.value) body.spoilt = spoilt.value === "counts" ? "" : why.value.trim();
            if (spoilt.value === "spoilt" && !body.spoilt) throw new Error("Say in a few words why they are spoilt.");
            if (!Object.keys(body).length) throw new Error("Nothing is changed yet.");
            const refused = [];
            for (const { run } of runs) await send("PATCH", runPath(run), body).catch(e => refused.push(`${run}: ${e.problems?.join(" ") ?? e.message}`));
            if (refused.length) throw Object.assign(new Error("Some were not changed."), { problems: [`${runs.length - refused.length} of ${runs.length} are changed.`, ...refused] });
            return true;
        });
}

/** Downloads the folders of runs in one zip. */
export function fetchZip(runs) {
    const link = h("a", { href: "/api/zip" + query({ run: runs.map(r => r.run) }), download: runs.length === 1 ? runs[0].run + ".zip" : "runs.zip" });
    document.body.append(link);
    link.click();
    link.remove();
}
