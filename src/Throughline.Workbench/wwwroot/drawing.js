// The drawing of a circuit and the table of its parts show the same part: press one in the drawing, and its values are at hand in the table.
let chosen = "";

document.addEventListener("click", e => {
    const part = e.target.closest?.(".drawn [data-part]");
    if (!part) return;
    const row = rowOf(part.dataset.part);
    if (!row) return;
    row.scrollIntoView({ block: "nearest" });
    (row.querySelector("input") ?? row).focus({ preventScroll: true });
    choose(part.dataset.part);
});

document.addEventListener("focusin", e => {
    const row = e.target.closest?.("tr[data-part]");
    if (row) choose(row.dataset.part);
});

function rowOf(name) {
    return [...document.querySelectorAll("tr[data-part]")].find(r => r.dataset.part === name);
}

function choose(name) {
    chosen = name;
    mark();
}

function mark() {
    for (const e of document.querySelectorAll("[data-part]")) {
        const is = e.dataset.part === chosen;
        if (e.classList.contains("chosen") !== is) e.classList.toggle("chosen", is);
    }
}

// The server draws anew when a voltage changes.
new MutationObserver(all => {
    if (chosen && all.some(m => m.target.closest?.(".stage-circuit"))) mark();
}).observe(document.body, { childList: true, subtree: true });
