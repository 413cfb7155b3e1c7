import { field, h, trouble } from "./dom.js";
import { session, signIn } from "./api.js";
import { entered } from "./app.js";

/** Only a path of this site is gone to. */
const safe = path => path && /^\/(?![/\\])/.test(path) && !path.startsWith("/sign-in") ? path : "/bench";

export async function show(place, { search, go }) {
    const to = safe(search.get("to"));
    const who = await session();
    if (who.signedIn) { entered(who); go(to, true); return; }
    const password = h("input", { type: "password", name: "password", autocomplete: "current-password", required: true, autofocus: true });
    const problem = h("div", {});
    const button = h("button", { type: "submit", class: "main" }, "Sign in");
    place.append(h("h1", {}, "Sign in"),
        h("p", {}, "This bench is on a network, so it asks who is there. The password was set when the service was installed."),
        h("form", { class: "narrow", on: { submit: e => { e.preventDefault(); enter(); } } },
            // Keeps of passwords want a name beside it.
            h("input", { type: "text", name: "username", autocomplete: "username", value: "acquire", hidden: true, "aria-hidden": "true", tabindex: "-1" }),
            field("Password", password), problem, h("p", { class: "choices" }, button)));

    async function enter() {
        button.disabled = true;
        try {
            entered(await signIn(password.value));
            go(to, true);
        } catch (error) {
            const wait = error.status === 429 && error.retryS ? ` Try again in ${error.retryS} s.` : "";
            problem.replaceChildren(trouble({ problems: error.problems, message: error.message + wait }));
            password.select();
        }
        button.disabled = false;
    }
}
