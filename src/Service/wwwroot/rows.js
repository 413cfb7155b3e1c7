/**
 * A table body that holds only the rows in sight: five thousand runs scroll like fifty. `make(item, index)` gives a row, `key(item)` what it is known by.
 * All rows are of one height, which the style sheet sets; rows that stay in sight are kept, so that a focus in them stays too.
 */
export class Rows {
    #body;
    #make;
    #key;
    #items = [];
    #shown = new Map();
    #before = gap();
    #after = gap();
    #height = 0;
    #from = -1;
    #to = -1;

    constructor(body, make, key, signal) {
        this.#body = body;
        this.#make = make;
        this.#key = key;
        addEventListener("scroll", () => this.draw(), { signal, passive: true });
        addEventListener("resize", () => { this.#height = 0; this.draw(true); }, { signal });
    }

    set items(items) {
        this.#items = items;
        this.draw(true);
    }

    get items() { return this.#items; }

    /** Draws a row anew, where it is in sight. */
    refresh(item) {
        const key = this.#key(item);
        const old = this.#shown.get(key);
        if (!old) return;
        const row = this.#make(item, this.#items.indexOf(item));
        this.#shown.set(key, row);
        old.replaceWith(row);
    }

    /** Brings a row into sight and gives it. */
    reach(index) {
        if (index < 0 || index >= this.#items.length) return null;
        const top = this.#body.getBoundingClientRect().top + scrollY + index * this.#height;
        // Room is left for the headings above and the bar of what is picked below.
        if (top < scrollY + 60) scrollTo(0, Math.max(0, top - 60));
        else if (top + this.#height > scrollY + innerHeight - 90) scrollTo(0, top + this.#height - innerHeight + 90);
        this.draw();
        return this.#shown.get(this.#key(this.#items[index])) ?? null;
    }

    draw(anew = false) {
        if (!this.#height && !this.#measure()) return;
        const top = this.#body.getBoundingClientRect().top;
        const from = clamp(Math.floor(-top / this.#height) - 8, 0, this.#items.length);
        const to = clamp(Math.ceil((innerHeight - top) / this.#height) + 8, from, this.#items.length);
        if (!anew && from === this.#from && to === this.#to) return;
        const kept = new Map();
        const rows = [];
        for (let i = from; i < to; i++) {
            const key = this.#key(this.#items[i]);
            const row = (anew ? null : this.#shown.get(key)) ?? this.#make(this.#items[i], i);
            kept.set(key, row);
            rows.push(row);
        }
        for (const [key, row] of this.#shown) if (kept.get(key) !== row) row.remove();
        this.#shown = kept;
        this.#from = from;
        this.#to = to;
        size(this.#before, from * this.#height);
        size(this.#after, (this.#items.length - to) * this.#height);
        if (this.#before.parentNode !== this.#body) this.#body.append(this.#before);
        let last = this.#before;
        for (const row of rows) {
            if (last.nextSibling !== row) last.after(row);
            last = row;
        }
        if (last.nextSibling !== this.#after) last.after(this.#after);
    }

    #measure() {
        if (!this.#items.length) { this.#body.replaceChildren(); this.#shown.clear(); return false; }
        const probe = this.#make(this.#items[0], 0);
        this.#body.replaceChildren(probe);
        this.#height = probe.getBoundingClientRect().height;
        this.#body.replaceChildren();
        this.#shown.clear();
        return this.#height > 0;
    }
}

const clamp = (x, low, high) => Math.min(high, Math.max(low, x));

function gap() {
    const row = document.createElement("tr");
    row.className = "gap";
    row.setAttribute("aria-hidden", "true");
    row.append(document.createElement("td"));
    row.firstChild.colSpan = 8;
    return row;
}

function size(row, height) {
    row.hidden = height <= 0;
    row.firstChild.style.height = `${height}px`;
    row.style.height = `${height}px`;
}
