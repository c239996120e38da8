// The parts of the text editor that the page uses, as one module.
export { EditorState, Compartment, StateEffect, StateField, Annotation, Transaction, EditorSelection } from "@codemirror/state";
export { EditorView, Decoration, keymap, lineNumbers, highlightActiveLine, highlightActiveLineGutter, drawSelection, highlightSpecialChars } from "@codemirror/view";
export { defaultKeymap, history, historyKeymap, undo, redo, indentWithTab } from "@codemirror/commands";
export { autocompletion, completionKeymap, closeBrackets, closeBracketsKeymap, startCompletion } from "@codemirror/autocomplete";
export { setDiagnostics, lintGutter, lintKeymap } from "@codemirror/lint";
export { searchKeymap, search, highlightSelectionMatches } from "@codemirror/search";
export { syntaxHighlighting, HighlightStyle, bracketMatching, indentOnInput, foldGutter, foldKeymap } from "@codemirror/language";
export { yaml } from "@codemirror/lang-yaml";
export { tags } from "@lezer/highlight";
