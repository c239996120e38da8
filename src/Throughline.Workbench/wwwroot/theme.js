// Light or dark: as the system has it, until the user says otherwise. Runs before the page is painted.
const kept = localStorage.getItem("throughline-theme");
if (kept) document.documentElement.dataset.theme = kept;
document.addEventListener("click", e => {
    if (!e.target.closest?.("#theme")) return;
    const isDark = document.documentElement.dataset.theme === "dark"
        || (!document.documentElement.dataset.theme && matchMedia("(prefers-color-scheme: dark)").matches);
    document.documentElement.dataset.theme = isDark ? "light" : "dark";
    localStorage.setItem("throughline-theme", document.documentElement.dataset.theme);
});
