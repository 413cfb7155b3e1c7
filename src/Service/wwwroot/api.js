/** An answer that is none, in words for people. */
export class Refused extends Error {
    constructor(status, problem, retryS) {
        super(problem?.detail || problem?.title || `The answer was ${status}.`);
        this.status = status;
        this.problems = problem?.problems;
        this.retryS = retryS;
    }
}

const signOuts = new Set();
let token = "";

/** Calls back wherever an answer says that one has to sign in. */
export const whenSignedOut = does => signOuts.add(does);

/** Who is there: fetched first, sets the cookies. */
export async function session() {
    const answer = await ask("/api/session");
    token = answer.token ?? "";
    return answer;
}

export async function signIn(password) {
    if (!token) await session();
    const answer = await send("POST", "/api/session", { password });
    token = answer.token ?? "";
    return answer;
}

export const signOut = () => send("DELETE", "/api/session");

/** Fetches a document. */
export const get = (path, options) => ask(path, options);

/** Changes something; a token that is old is fetched anew, once. */
export async function send(method, path, body, again = true) {
    try {
        return await ask(path, {
            method,
            headers: { "Content-Type": "application/json", "X-Acquire-Token": token },
            body: body === undefined ? undefined : JSON.stringify(body),
        });
    } catch (error) {
        if (!again || error.status !== 400 || !/token/i.test(error.message)) throw error;
        await session();
        return send(method, path, body, false);
    }
}

async function ask(path, options) {
    let answer;
    try {
        answer = await fetch(path, { credentials: "same-origin", ...options });
    } catch (error) {
        if (error.name === "AbortError") throw error;
        throw new Refused(0, { detail: "The bench computer does not answer. What it records goes on; this page tries again when you do." });
    }
    if (answer.ok) return answer.status === 204 || answer.status === 202 && !answer.headers.get("content-type")?.includes("json") ? null : answer.json();
    const problem = await answer.json().catch(() => null);
    const retryS = Number(answer.headers.get("retry-after")) || null;
    if (answer.status === 401 && !path.startsWith("/api/session")) signOuts.forEach(does => does());
    if (answer.status === 503 && !problem?.detail) throw new Refused(503, { detail: "The bench computer is busy with other questions. Ask again in a moment." }, retryS);
    throw new Refused(answer.status, problem?.detail || problem?.problems ? problem : { ...problem, detail: problem?.title }, retryS);
}

/** A query: values that are arrays repeat, empty ones are left out. */
export function query(values) {
    const parts = new URLSearchParams();
    for (const [name, value] of Object.entries(values))
        for (const one of Array.isArray(value) ? value : [value])
            if (one !== "" && one !== null && one !== undefined && one !== false) parts.append(name, one);
    const text = parts.toString();
    return text ? "?" + text : "";
}

export const runPath = run => "/api/runs/" + encodeURIComponent(run);
