const grouped = [0, 1, 2, 3, 4].map(d => new Intl.NumberFormat("en-US", { minimumFractionDigits: d, maximumFractionDigits: d }));
const moment = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", year: "numeric", hour: "2-digit", minute: "2-digit" });
const hour = new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", second: "2-digit" });

export const none = "–";
export const known = x => typeof x === "number" && Number.isFinite(x);

/** A number with so many decimals, minus sign and thousands set apart. */
export const number = (x, decimals = 0) => known(x) ? grouped[decimals].format(x).replace("-", "−") : none;

/** A speed: whole where it is fast. */
export const rpm = x => number(x, known(x) && Math.abs(x) < 100 ? 1 : 0);

/** Three significant digits or so. */
export function short(x) {
    if (!known(x)) return none;
    if (x === 0) return "0";
    const size = Math.floor(Math.log10(Math.abs(x)));
    return size < -4 ? x.toExponential(1).replace("-", "−") : number(x, Math.min(4, Math.max(0, 2 - size)));
}

/** A value with its standard uncertainty, as many digits as that bears. */
export function measured(x, u) {
    if (!known(x)) return none;
    if (!known(u) || u <= 0) return short(x);
    const decimals = Math.min(4, Math.max(0, 1 - Math.floor(Math.log10(u))));
    return number(x, decimals) + " ± " + (u < 0.5 * 10 ** -decimals ? "<" + number(10 ** -decimals, decimals) : number(u, decimals));
}

/** Seconds as h:mm:ss. */
export function clock(seconds) {
    if (!known(seconds)) return none;
    const whole = Math.round(Math.abs(seconds));
    const two = n => String(n).padStart(2, "0");
    return `${seconds < 0 ? "−" : ""}${Math.floor(whole / 3600)}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
}

/** A duration that somebody waits for: the nearer, the finer. */
export function about(seconds) {
    if (!known(seconds)) return none;
    if (seconds < 90) return `${number(Math.max(0, seconds))} s`;
    if (seconds < 5400) return `${number(seconds / 60)} min`;
    return `${Math.floor(Math.round(seconds / 60) / 60)} h ${Math.round(seconds / 60) % 60} min`;
}

export const when = iso => iso ? moment.format(new Date(iso)) : none;
export const hourOf = iso => iso ? hour.format(new Date(iso)) : none;

export function bytes(x) {
    if (!known(x)) return none;
    const units = ["B", "kB", "MB", "GB", "TB"];
    let i = 0;
    for (; x >= 1000 && i < units.length - 1; i++) x /= 1000;
    return `${number(x, i > 0 && x < 10 ? 1 : 0)} ${units[i]}`;
}

/** A change in percent with its sign; one decimal where its interval is narrow, as the commands write it. */
export function signed(percent, width = 0) {
    if (!known(percent)) return none;
    const text = number(Math.abs(percent), width > 25 ? 0 : 1);
    return text === "0" || text === "0.0" ? text : (percent < 0 ? "−" : "+") + text;
}

export function interval(low, high) {
    if (!known(low) || !known(high)) return none;
    return `${signed(low, high - low)} to ${signed(high, high - low)}`;
}

export const probability = p => !known(p) ? none : p < 1e-4 ? "<0.0001" : p.toFixed(p < 0.001 ? 4 : p < 0.1 ? 3 : 2);

export const count = (n, one, many = one + "s") => `${number(n)} ${n === 1 ? one : many}`;

/** A name such as `dish_radius_mm` as it is read: `dish radius/mm`. */
export function factorName(name) {
    const unit = /_(mm|cm|m|g|kg|deg|hpa|pct|c|ml|s|nm|v|a)$/.exec(name);
    return unit ? name.slice(0, -unit[0].length).replaceAll("_", " ") + "/" + unit[1] : name.replaceAll("_", " ");
}

/** A factor with its value: `clearance 6 mm`. */
export function factorValue(name, value) {
    const [words, unit] = factorName(name).split("/");
    return `${words} ${value}${unit ? "\u00a0" + unit : ""}`;
}

export const factorsText = factors => Object.entries(factors ?? {}).map(([k, v]) => `${k}=${v}`).join(", ");

/** A set-up in a line. */
export const setupText = setup => [setup.top, setup.base, setup.cover && setup.cover !== "none" ? `cover ${setup.cover}` : setup.cover && "no cover", factorsText(setup.factors)].filter(Boolean).join(" · ");
