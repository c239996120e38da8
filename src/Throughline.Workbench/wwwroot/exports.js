// Keeps what the page shows as a file: a picture as SVG or PNG with its colours resolved, a table as CSV (RFC 4180).
const shown = ["fill", "stroke", "stroke-width", "stroke-dasharray", "stroke-linecap", "stroke-linejoin", "fill-opacity", "opacity", "font-family", "font-size", "font-weight", "text-anchor", "paint-order", "font-variant-numeric"];

// The narrow space between a number and its unit, which the page has from thin-space.ttf: a file that is kept brings its own.
const space = '@font-face{font-family:"Throughline Space";font-weight:100 900;unicode-range:U+202F;src:url(data:font/ttf;base64,AAEAAAAKAIAAAwAgT1MvMnbMc9gAAACsAAAAYGNtYXAADCBiAAABDAAAACxnbHlmAAAAAAAAATgAAAABaGVhZHkZmn0AAAE8AAAANmhoZWEDIgADAAABdAAAACRobXR4AZAAAAAAAZgAAAAIbG9jYQAAAAAAAAGgAAAABm1heHAAAwABAAABqAAAACBuYW1lFJAn/QAAAcgAAAEGcG9zdAADAAAAAALQAAAAIAADAMgBkAAFAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAABOT05FAEAgLyAvAyD/OAAAAyAAyAAAAAAAAAAAAfQCvAAAACAAAQAAAAEAAwABAAAADAAEACAAAAAEAAQAAQAAIC///wAAIC///9/SAAEAAAAAAAAAAAABAAAAAQAAbNwRmF8PPPUAAwPoAAAAANaTpAAAAAAA1pOkAAAAAAAAAAAAAAAACAACAAAAAAAAAAEAAAMg/zgAAADIAAAAAAAAAAEAAAAAAAAAAAAAAAAAAAACAMgAAADIAAAAAAAAAAAAAAABAAAAAgAAAAAAAAAAAAEAAAAAAAAAAAAAAAAAAAAAAAAABQBCAAMAAQQJAAEAIgAAAAMAAQQJAAIADgAiAAMAAQQJAAMAMgAwAAMAAQQJAAQAMgBiAAMAAQQJAAYAMACUAFQAaAByAG8AdQBnAGgAbABpAG4AZQAgAFMAcABhAGMAZQBSAGUAZwB1AGwAYQByAFQAaAByAG8AdQBnAGgAbABpAG4AZQAgAFMAcABhAGMAZQAgAFIAZQBnAHUAbABhAHIAVABoAHIAbwB1AGcAaABsAGkAbgBlACAAUwBwAGEAYwBlACAAUgBlAGcAdQBsAGEAcgBUAGgAcgBvAHUAZwBoAGwAaQBuAGUAUwBwAGEAYwBlAC0AUgBlAGcAdQBsAGEAcgAAAAMAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA=) format("truetype")}';

function keep(blob, name) {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(blob);
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

function whole(svg) {
    const copy = svg.cloneNode(true);
    const from = [svg, ...svg.querySelectorAll("*")];
    const to = [copy, ...copy.querySelectorAll("*")];
    from.forEach((element, i) => {
        const style = getComputedStyle(element);
        for (const name of shown) {
            const value = style.getPropertyValue(name);
            if (value) to[i].setAttribute(name, value);
        }
        for (const name of ["class", "id", "tabindex", "role"]) if (i > 0) to[i].removeAttribute(name);
    });
    const box = svg.viewBox.baseVal;
    const width = box.width || svg.clientWidth, height = box.height || svg.clientHeight;
    copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
    copy.setAttribute("width", width);
    copy.setAttribute("height", height);
    const ground = document.createElementNS("http://www.w3.org/2000/svg", "rect");
    ground.setAttribute("width", width);
    ground.setAttribute("height", height);
    ground.setAttribute("fill", getComputedStyle(document.body).backgroundColor);
    copy.prepend(ground);
    if (copy.textContent.includes("\u202f")) {
        const style = document.createElementNS("http://www.w3.org/2000/svg", "style");
        style.textContent = space;
        copy.prepend(style);
    }
    return { text: new XMLSerializer().serializeToString(copy), width, height };
}

function png(picture, name) {
    const image = new Image();
    image.onload = () => {
        const canvas = document.createElement("canvas");
        canvas.width = picture.width * 2;
        canvas.height = picture.height * 2;
        canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
        canvas.toBlob(blob => keep(blob, name), "image/png");
    };
    image.src = "data:image/svg+xml;charset=utf-8," + encodeURIComponent(picture.text);
}

function csv(table) {
    // What a spreadsheet would take for a formula is made a text; a true minus becomes the plain one.
    const cell = c => {
        let text = c.innerText.replace(/\s+/g, " ").trim().replace(/^\u2212/, "-");
        if (/^[=+@]/.test(text) || /^-(?![\d.\s])/.test(text)) text = "'" + text;
        return /[",\n]/.test(text) ? '"' + text.replaceAll('"', '""') + '"' : text;
    };
    return [...table.rows].map(row => [...row.cells].map(cell).join(",")).join("\r\n") + "\r\n";
}

document.addEventListener("click", e => {
    const button = e.target.closest?.("[data-export]");
    if (!button) return;
    const place = button.closest(".exports");
    const of = document.getElementById(place.dataset.of);
    const name = place.dataset.name.replace(/[^\w.-]+/g, "-");
    if (!of) return;
    if (button.dataset.export === "csv") {
        keep(new Blob(["\ufeff" + csv(of.matches("table") ? of : of.querySelector("table"))], { type: "text/csv;charset=utf-8" }), name + ".csv");
        return;
    }
    const picture = whole(of.matches("svg") ? of : of.querySelector("svg"));
    if (button.dataset.export === "svg") keep(new Blob([picture.text], { type: "image/svg+xml" }), name + ".svg");
    else png(picture, name + ".png");
});

// Copies the text of what is named, as it stands there, and says so for a moment.
document.addEventListener("click", async e => {
    const button = e.target.closest?.("[data-copy]");
    const of = button && document.getElementById(button.dataset.copy);
    if (!of) return;
    const said = button.dataset.said ??= button.textContent;
    let isDone = true;
    try { await navigator.clipboard.writeText(of.textContent); } catch { isDone = false; }
    button.textContent = isDone ? "Copied" : "The browser refuses";
    setTimeout(() => { button.textContent = said; }, 1500);
});
