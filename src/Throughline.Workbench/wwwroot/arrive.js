// An address may name a place of a page whose content is still being computed: it is brought into view when it is there.
let reached = "";

function reach() {
    if (!location.hash || location.href === reached) return;
    const place = document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (!place) return;
    reached = location.href;
    const box = place.closest(".bench > *");
    if (box) box.scrollTop += place.getBoundingClientRect().top - box.getBoundingClientRect().top - 14;
    else place.scrollIntoView({ block: "start" });
}

new MutationObserver(reach).observe(document.body, { childList: true, subtree: true });
addEventListener("hashchange", reach);
// A link within the page changes the address without any event of its own.
addEventListener("click", e => { if (e.target.closest?.("a[href]")) setTimeout(reach, 60); });
reach();
