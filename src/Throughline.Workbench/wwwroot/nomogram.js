// The hand of the nomogram. The server computes every position; this only says where the pointer is, one message on its way at a time.
import { newest } from "./newest.js";

export function start(svg, server) {
    const moves = newest(level => server.invokeMethodAsync("MoveTo", level), "The hand could not be moved.");
    let pointer = null;
    let isStopped = false;

    const number = name => Number(svg.dataset[name]);

    function levelAt(clientY) {
        const box = svg.getBoundingClientRect();
        const y = (clientY - box.top) * (svg.viewBox.baseVal.height / box.height);
        const part = (number("bottom") - y) / (number("bottom") - number("top"));
        return number("low") + Math.min(1, Math.max(0, part)) * (number("high") - number("low"));
    }

    const down = e => {
        const box = svg.getBoundingClientRect();
        const x = (e.clientX - box.left) * (svg.viewBox.baseVal.width / box.width);
        if (e.button !== 0 || x > number("x") + 20) return;
        pointer = e.pointerId;
        svg.setPointerCapture(pointer);
        svg.classList.add("grasped");
        svg.querySelector("#hand")?.focus({ preventScroll: true });
        moves.put(levelAt(e.clientY));
        e.preventDefault();
    };
    const moved = e => { if (e.pointerId === pointer) moves.put(levelAt(e.clientY)); };
    const up = e => {
        if (e.pointerId !== pointer) return;
        pointer = null;
        svg.classList.remove("grasped");
    };
    const key = e => {
        if (!e.target.closest || !e.target.closest("#hand")) return;
        const low = number("low"), high = number("high"), now = moves.waiting ?? Number(svg.querySelector("#hand").getAttribute("aria-valuenow"));
        const step = (high - low) / 140;
        const next = { ArrowUp: now + step, ArrowRight: now + step, ArrowDown: now - step, ArrowLeft: now - step, PageUp: now + 10 * step, PageDown: now - 10 * step, Home: low + (high - low) / 7, End: high - (high - low) / 7 }[e.key];
        if (next === undefined || e.ctrlKey || e.altKey || e.metaKey) return;
        e.preventDefault();
        moves.put(Math.min(high, Math.max(low, next)));
    };

    const sized = new ResizeObserver(() => {
        const box = svg.getBoundingClientRect();
        if (box.width > 0 && !isStopped) server.invokeMethodAsync("Resize", Math.round(box.width), Math.round(box.height)).catch(() => { });
    });
    svg.addEventListener("pointerdown", down);
    svg.addEventListener("pointermove", moved);
    svg.addEventListener("pointerup", up);
    svg.addEventListener("pointercancel", up);
    svg.addEventListener("keydown", key);
    sized.observe(svg);
    return {
        stop() {
            isStopped = true;
            moves.stop();
            sized.disconnect();
        },
    };
}
