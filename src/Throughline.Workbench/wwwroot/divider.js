// The text beside the page is as wide as the user makes it: dragged, or with the arrow keys; it is kept for the next time.
const name = "throughline-said-width";
const least = 15, most = 70;

function set(percent) {
    const width = Math.round(Math.min(most, Math.max(least, percent)) * 10) / 10;
    document.documentElement.style.setProperty("--said-width", width + "%");
    localStorage.setItem(name, width);
    document.getElementById("divider")?.setAttribute("aria-valuenow", Math.round(width));
}

const here = divider => 100 * divider.getBoundingClientRect().right / innerWidth;
const kept = Number(localStorage.getItem(name));
if (kept >= least && kept <= most) set(kept);

document.addEventListener("pointerdown", e => {
    const divider = e.target.closest?.("#divider");
    if (!divider || e.button !== 0) return;
    divider.setPointerCapture(e.pointerId);
    divider.classList.add("grasped");
    const moved = m => set(100 * m.clientX / innerWidth);
    divider.addEventListener("pointermove", moved);
    divider.addEventListener("lostpointercapture", () => {
        divider.removeEventListener("pointermove", moved);
        divider.classList.remove("grasped");
    }, { once: true });
    e.preventDefault();
});

document.addEventListener("keydown", e => {
    if (e.target.id !== "divider" || e.ctrlKey || e.altKey || e.metaKey) return;
    const next = { ArrowLeft: here(e.target) - 2, ArrowRight: here(e.target) + 2, Home: least, End: most }[e.key];
    if (next === undefined) return;
    e.preventDefault();
    set(next);
});
