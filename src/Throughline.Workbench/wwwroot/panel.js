// Digits of the keyboard press the keys of the panel, while its page is there, no text is being typed and the box below the keys is ticked.
document.addEventListener("keydown", e => {
    if (!/^[1-9]$/.test(e.key) || e.ctrlKey || e.altKey || e.metaKey || e.repeat || !document.getElementById("digits")?.checked) return;
    if (e.target.closest?.("input:not([type=checkbox]), select, textarea, [contenteditable]")) return;
    document.querySelector(`.key[data-key="${e.key}"]`)?.dispatchEvent(new MouseEvent("click", { bubbles: true, detail: 0 }));
});
