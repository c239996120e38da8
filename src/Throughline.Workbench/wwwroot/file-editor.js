// The text of the instrument file. The server holds the truth; this keeps what is typed and what is shown the same.
import { newest } from "./newest.js";

const {
    EditorState, EditorView, Transaction, Annotation, keymap, lineNumbers, highlightActiveLine, highlightActiveLineGutter, drawSelection, highlightSpecialChars,
    defaultKeymap, history, historyKeymap, autocompletion, completionKeymap, closeBrackets, closeBracketsKeymap, setDiagnostics, lintKeymap,
    searchKeymap, search, syntaxHighlighting, HighlightStyle, bracketMatching, indentOnInput, yaml, tags,
} = await import(document.body.dataset.editor);

const fromServer = Annotation.define();

const ink = HighlightStyle.define([
    { tag: [tags.propertyName, tags.definition(tags.propertyName)], class: "said-key" },
    { tag: [tags.comment, tags.lineComment], class: "said-comment" },
    { tag: [tags.string, tags.content], class: "said-value" },
    { tag: [tags.punctuation, tags.separator, tags.squareBracket, tags.brace], class: "said-mark" },
]);

export function start(place, server, text, name) {
    const edits = newest(content => server.invokeMethodAsync("Edited", content), "The text could not be sent.");

    const complete = async context => {
        const word = context.matchBefore(/[\w .µΩ°-]*/);
        if (!context.explicit && (!word || word.from === word.to)) return null;
        const found = await server.invokeMethodAsync("Complete", context.state.doc.toString(), context.pos);
        if (found.options.length === 0) return null;
        return {
            from: found.from,
            options: found.options.map(o => ({ label: o.label, apply: o.text, detail: o.expected.length > 44 ? o.expected.slice(0, 43) + "…" : o.expected, info: o.doc || undefined, boost: o.isRequired ? 1 : 0 })),
            validFor: /^[\w .-]*$/,
        };
    };

    const view = new EditorView({
        parent: place,
        state: stateOf(text),
        // What follows from an edit is begun before the edit itself is drawn.
        dispatchTransactions(transactions, editor) {
            if (transactions.some(t => t.docChanged) && !transactions.some(t => t.annotation(fromServer))) edits.put(transactions.at(-1).newDoc.toString());
            editor.update(transactions);
        },
    });

    function stateOf(doc) {
        return EditorState.create({
            doc,
            extensions: [
                EditorView.cspNonce.of(document.body.dataset.nonce ?? ""),
                lineNumbers(), highlightActiveLine(), highlightActiveLineGutter(), highlightSpecialChars(), drawSelection(), history(),
                indentOnInput(), bracketMatching(), closeBrackets(), search({ top: true }), yaml(), syntaxHighlighting(ink),
                autocompletion({ override: [complete], icons: false, activateOnTypingDelay: 150 }),
                EditorState.tabSize.of(2),
                EditorView.contentAttributes.of({ "aria-label": "Instrument file " + name, tabindex: "0", spellcheck: "false", autocorrect: "off", autocapitalize: "off" }),
                keymap.of([
                    { key: "Mod-s", preventDefault: true, run: () => { edits.settled.then(() => server.invokeMethodAsync("Save")); return true; } },
                    ...closeBracketsKeymap, ...defaultKeymap, ...searchKeymap, ...historyKeymap, ...completionKeymap, ...lintKeymap,
                ]),
            ],
        });
    }

    // The file is written from anywhere on the page; what is being typed in a field counts first.
    const saved = e => {
        if (e.key.toLowerCase() !== "s" || !(e.ctrlKey || e.metaKey) || e.altKey || e.shiftKey || e.defaultPrevented) return;
        e.preventDefault();
        const field = document.activeElement;
        if (field?.matches("input, select")) field.dispatchEvent(new Event("change", { bubbles: true }));
        edits.settled.then(() => server.invokeMethodAsync("Save"));
    };
    document.addEventListener("keydown", saved);

    function reveal(at) {
        const place = Math.min(at, view.state.doc.length);
        view.dispatch({ selection: { anchor: place }, effects: EditorView.scrollIntoView(view.state.doc.lineAt(place).from, { y: "nearest", yMargin: 60 }) });
    }

    return {
        // Another place has changed the text: only what differs is replaced, so that cursor, scroll and undo stay.
        replace(next) {
            const now = view.state.doc.toString();
            if (now === next || edits.isBusy) return;
            let first = 0;
            const least = Math.min(now.length, next.length);
            while (first < least && now[first] === next[first]) first++;
            let same = 0;
            while (same < least - first && now[now.length - 1 - same] === next[next.length - 1 - same]) same++;
            view.dispatch({
                changes: { from: first, to: now.length - same, insert: next.slice(first, next.length - same) },
                annotations: [fromServer.of(true), Transaction.addToHistory.of(true)],
            });
            // What was changed elsewhere is seen here: its line is marked, and in view.
            if (!view.hasFocus) reveal(next.length - same);
        },
        open(next) { view.setState(stateOf(next)); },
        // The findings themselves are painted first.
        mark(marks) {
            const doc = view.state.doc;
            const length = doc.length;
            requestAnimationFrame(() => setTimeout(() => {
                // Other marks follow from another text.
                if (view.state.doc === doc) view.dispatch(setDiagnostics(view.state, marks.filter(m => m.to <= length).map(m => ({ from: m.from, to: Math.max(m.to, Math.min(m.from + 1, length)), severity: m.severity, message: m.message }))));
            }));
        },
        reveal,
        show(from, to) {
            const length = view.state.doc.length;
            view.dispatch({ selection: { anchor: Math.min(from, length), head: Math.min(to, length) }, effects: EditorView.scrollIntoView(Math.min(from, length), { y: "center" }) });
            view.focus();
        },
        stop() { document.removeEventListener("keydown", saved); edits.stop(); view.destroy(); },
    };
}
