import { h, trouble } from "./dom.js";

/**
 * Asks in a dialog. `does` is called with the form where it is agreed to; while it refuses, the dialog stays and says why.
 * Resolves to what `does` gave, or undefined where it was given up.
 */
export function ask(title, content, agree, does = () => true) {
    return new Promise(resolve => {
        let answer;
        const problem = h("div", {});
        const heading = h("h2", { id: "dialog-title", tabindex: "-1" }, title);
        const yes = h("button", { type: "submit", class: "main" }, agree);
        const form = h("form", { method: "dialog" }, heading, content, problem,
            h("p", { class: "choices" }, yes, h("button", { type: "button", on: { click: () => dialog.close() } }, "Leave it")));
        const dialog = h("dialog", { "aria-labelledby": "dialog-title" }, form);
        form.addEventListener("submit", async e => {
            e.preventDefault();
            yes.disabled = true;
            problem.replaceChildren();
            try {
                answer = await does(form) ?? true;
                dialog.close();
            } catch (error) {
                problem.replaceChildren(trouble(error));
            }
            yes.disabled = false;
        });
        dialog.addEventListener("close", () => { dialog.remove(); resolve(answer); });
        document.body.append(dialog);
        dialog.showModal();
    });
}

/** Asks before something is done. */
export const sure = (title, text, agree, does) => ask(title, h("p", {}, text), agree, does);
