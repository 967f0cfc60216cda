// The editor of a text that the shelf keeps: its changes go out as splices, others' splices come in.
//
// Undo is not the editor's: it is the project's, which outlives the page.

import { defaultKeymap } from '@codemirror/commands';
import { Annotation, EditorState, type Extension, type TransactionSpec } from '@codemirror/state';
import { EditorView, keymap, placeholder, type ViewUpdate } from '@codemirror/view';
import type { Splice } from '../../text/splice';

/** Marks what was not typed here, so that it is not sent out again. */
const fromElsewhere = Annotation.define<boolean>();

export interface Desk {
  parent: HTMLElement;
  text: string;
  label: string;
  placeholder: string;
  edited(splices: Splice[]): void;
  undo(): void;
  redo(): void;
  extensions?: Extension;
}

export function editor(desk: Desk): EditorView {
  return new EditorView({
    parent: desk.parent,
    state: EditorState.create({
      doc: desk.text,
      extensions: [
        EditorState.lineSeparator.of('\n'),
        EditorView.clipboardInputFilter.of((text) => text.replace(/\r\n?/g, '\n')),
        EditorView.lineWrapping,
        EditorView.contentAttributes.of({ 'aria-label': desk.label, spellcheck: 'false', autocorrect: 'off' }),
        placeholder(desk.placeholder),
        EditorView.domEventHandlers({ beforeinput: (event) => stepInHistory(event, desk) }),
        EditorView.updateListener.of((update) => tellEdits(update, desk)),
        desk.extensions ?? [],
        keymap.of([
          { key: 'Mod-z', run: () => (desk.undo(), true), preventDefault: true },
          { key: 'Mod-y', run: () => (desk.redo(), true), preventDefault: true },
          { key: 'Mod-Shift-z', run: () => (desk.redo(), true), preventDefault: true },
          ...defaultKeymap,
        ]),
      ],
    }),
  });
}

/** Puts splices made elsewhere into the text; the cursor stays with its words. */
export function bringIn(view: EditorView, splices: Splice[]): void {
  for (const splice of splices) view.dispatch(spliceIn(splice));
}

function spliceIn({ at, remove, insert }: Splice): TransactionSpec {
  return { changes: { from: at, to: at + remove, insert }, annotations: fromElsewhere.of(true) };
}

function tellEdits(update: ViewUpdate, desk: Desk): void {
  const splices: Splice[] = [];
  for (const transaction of update.transactions) {
    if (!transaction.docChanged || transaction.annotation(fromElsewhere)) continue;
    transaction.changes.iterChanges((fromBefore, toBefore, from, _to, inserted) => {
      splices.push({ at: from, remove: toBefore - fromBefore, insert: inserted.toString() });
    });
  }
  if (splices.length > 0) desk.edited(splices);
}

/** Undo from a menu of the browser. */
function stepInHistory(event: InputEvent, desk: Desk): boolean {
  if (event.inputType !== 'historyUndo' && event.inputType !== 'historyRedo') return false;
  event.preventDefault();
  if (event.inputType === 'historyUndo') desk.undo();
  else desk.redo();
  return true;
}
