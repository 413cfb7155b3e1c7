import { announce, h, say, trouble } from "./dom.js";
import { session, signOut, whenSignedOut } from "./api.js";
import { close, connect, live, now } from "./live.js";
import { clock, hourOf, rpm } from "./format.js";
import { play, wake } from "./sound.js";

const views = [
    [/^\/(bench)?$/, "Bench", () => import("./bench.js")],
    [/^\/library$/, "Library", () => import("./library.js")],
    [/^\/runs\/([^/]+)$/, "Library", () => import("./run.js")],
    [/^\/compare$/, "Compare", () => import("./compare.js")],
    [/^\/sweep$/, "Compare", () => import("./sweep.js")],
    [/^\/sign-in$/, "", () => import("./sign-in.js")],
];
const main = document.getElementById("main");
const nav = document.querySelector("nav");
const brief = document.querySelector(".brief");
const linkLine = document.getElementById("link");
const notices = document.getElementById("notices");
let leaving = new AbortController();
let person = null;

/** Goes to a page of this site. `replace`: the page there is now is not come back to. */
export function go(path, replace = false) {
    if (replace) history.replaceState(null, "", path);
    else history.pushState(null, "", path);
    draw(true);
}

/** Signed in: the stream is opened, and the page that was asked for shown. */
export function entered(who) {
    person = who;
    document.getElementById("sign-out").hidden = !who.passwordNeeded;
    nav.hidden = false;
    connect();
}

async function draw(moves) {
    leaving.abort();
    leaving = new AbortController();
    const { signal } = leaving;
    const path = location.pathname;
    const [pattern, section, load] = views.find(v => v[0].test(path)) ?? views[0];
    for (const link of nav.children) {
        if (link.textContent === section) link.setAttribute("aria-current", "page");
        else link.removeAttribute("aria-current");
    }
    brief.hidden = section === "Bench";
    try {
        const view = await load();
        if (signal.aborted) return;
        const place = h("div", { class: "view" });
        await view.show(place, { signal, id: decodeURIComponent(pattern.exec(path)?.[1] ?? ""), search: new URLSearchParams(location.search), go });
        if (signal.aborted) return;
        main.replaceChildren(place);
    } catch (error) {
        if (signal.aborted || error.status === 401) return;
        main.replaceChildren(h("h1", { tabindex: "-1" }, "This page cannot be shown"), trouble(error),
            h("p", {}, h("button", { type: "button", on: { click: () => draw(true) } }, "Try again")));
    }
    const heading = main.querySelector("h1");
    document.title = [heading?.dataset.title ?? heading?.textContent, "Acquire"].filter(Boolean).join(" – ");
    const first = main.querySelector("[autofocus]");
    if (first) first.focus();
    if (!moves || first) return;
    scrollTo(0, 0);
    heading?.setAttribute("tabindex", "-1");
    (heading ?? main).focus({ preventScroll: true });
}

document.addEventListener("click", e => {
    wake();
    const link = e.target.closest("a[href]");
    if (!link || e.defaultPrevented || e.button || e.ctrlKey || e.metaKey || e.shiftKey || link.target || link.hasAttribute("download")) return;
    const to = new URL(link.href);
    if (to.origin !== location.origin || to.pathname.startsWith("/api/") || to.hash) return;
    e.preventDefault();
    go(to.pathname + to.search);
});
document.addEventListener("keydown", wake);
addEventListener("popstate", () => draw(true));

const look = document.getElementById("look");
look.value = document.documentElement.dataset.look ?? "";
look.addEventListener("change", () => {
    if (look.value) document.documentElement.dataset.look = look.value;
    else delete document.documentElement.dataset.look;
    try { localStorage.setItem("acquire.look", look.value); } catch { /* holds for this visit only */ }
    dispatchEvent(new Event("look"));
});
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => dispatchEvent(new Event("look")));

const words = { waiting: "Waiting", launching: "Launching", spinning: "Spinning", lost: "Signal lost", ended: "Ended", off: "No capture" };
live.addEventListener("live", ({ detail: doc }) => {
    if (brief.hidden) return;
    const spins = doc.phase === "spinning" || doc.phase === "launching";
    say(brief, `${words[doc.phase] ?? doc.phase}${spins && doc.rpm !== null ? ` · ${rpm(doc.rpm)} rpm` : ""}${spins && doc.sinceReleaseS !== null ? ` · ${clock(doc.sinceReleaseS)}` : ""}`);
});

live.addEventListener("link", ({ detail }) => {
    document.documentElement.classList.toggle("cut-off", !detail.up);
    linkLine.replaceChildren(...detail.up ? [] : [h("p", {},
        h("strong", {}, "No connection to the bench computer "), `since ${hourOf(now.lostSince.toISOString())}. What you see is as it was then. This page tries again by itself; the recording does not depend on it.`)]);
    if (detail.up) announce("Connected again.");
});

live.addEventListener("notice", ({ detail: notice }) => {
    const lasting = ["ended", "saved", "notSaved"].includes(notice.kind);
    announce(notice.text);
    if (!lasting) return;
    if (notice.kind === "ended") play();
    notices.querySelector(`[data-run="${notice.runNumber}"]`)?.remove();
    if (!document.hasFocus() || document.hidden) document.title = notice.text;
    const shown = h("div", { class: notice.kind === "notSaved" ? "notice bad" : "notice", "data-run": notice.runNumber },
        h("p", {}, h("strong", {}, notice.text), " ", h("span", { class: "quiet" }, hourOf(notice.at)), " ",
            notice.run && h("a", { href: "/runs/" + encodeURIComponent(notice.run) }, "Look at the run")),
        h("button", { type: "button", class: "plain", on: { click: () => shown.remove() } }, "Put away"));
    notices.append(shown);
});

whenSignedOut(() => {
    close();
    nav.hidden = true;
    document.getElementById("sign-out").hidden = true;
    if (location.pathname !== "/sign-in") go("/sign-in" + "?to=" + encodeURIComponent(location.pathname + location.search), true);
});
document.getElementById("sign-out").addEventListener("click", async () => {
    await signOut().catch(() => null);
    close();
    location.assign("/sign-in");
});

async function begin() {
    try {
        person = await session();
    } catch (error) {
        main.replaceChildren(h("h1", {}, "The bench computer does not answer"), trouble(error), h("p", {}, h("button", { type: "button", on: { click: begin } }, "Try again")));
        return;
    }
    say(document.getElementById("about"), person.software + " · eye protection and a screen near anything that spins fast");
    if (person.signedIn) entered(person);
    else if (location.pathname !== "/sign-in") history.replaceState(null, "", "/sign-in?to=" + encodeURIComponent(location.pathname + location.search));
    draw(false);
}

begin();
