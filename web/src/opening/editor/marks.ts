// Marks in the transcription: how sure each word is, reference marks of the notes, counts beside the lines, what is lit.
//
// All of them come from outside as plain ranges and are carried along by the editor while the text changes, until
// newer ones come.

import { RangeSet, StateEffect, StateField, type Range as Placed, type Text, type Transaction } from '@codemirror/state';
import { Decoration, type DecorationSet, EditorView, gutter, GutterMarker, WidgetType } from '@codemirror/view';
import type { Range, Word } from '../../api/types';

export interface Note {
  key: string;
  number: number;
  at: Range;
  open: boolean;
  active: boolean;
}

export interface Count {
  /** Where the row ends in the text. */
  at: number;
  text: string;
  hint: string;
  fault: boolean;
}

/** What is marked as long as the view stands. */
export interface Marks {
  words: Word[];
  notes: Note[];
  counts: Count[];
}

/** 0 not understood, 1 doubtful, 2 sure. */
const SURE = [0, 1, 2].map((sure) => Decoration.mark({ class: `sure-${sure}` }));
const LIT = Decoration.mark({ class: 'lit' });
const ACTIVE = Decoration.mark({ class: 'doubt-active' });

class ReferenceMark extends WidgetType {
  constructor(private readonly note: Note) {
    super();
  }

  override eq(other: ReferenceMark): boolean {
    const { number, open, active, key } = other.note;
    return number === this.note.number && open === this.note.open && active === this.note.active && key === this.note.key;
  }

  toDOM(): HTMLElement {
    const mark = document.createElement('span');
    mark.className = `reference${this.note.open ? ' open' : ''}${this.note.active ? ' active' : ''}`;
    mark.dataset.doubt = this.note.key;
    mark.textContent = String(this.note.number);
    mark.setAttribute('aria-hidden', 'true');
    return mark;
  }

  override ignoreEvent(): boolean {
    return false;
  }
}

class CountMarker extends GutterMarker {
  constructor(private readonly count: Omit<Count, 'at'>) {
    super();
  }

  override eq(other: CountMarker): boolean {
    return other.count.text === this.count.text && other.count.fault === this.count.fault;
  }

  override toDOM(): HTMLElement {
    const mark = document.createElement('span');
    mark.textContent = this.count.text;
    mark.title = this.count.hint;
    if (this.count.fault) mark.className = 'fault';
    return mark;
  }
}

interface Placing {
  words: DecorationSet;
  notes: DecorationSet;
  counts: RangeSet<GutterMarker>;
}

const setMarks = StateEffect.define<Marks>();
const setLit = StateEffect.define<Range | null>();

const placing = StateField.define<Placing>({
  create: () => ({ words: Decoration.none, notes: Decoration.none, counts: RangeSet.empty }),
  update(value, transaction) {
    const marks = effect(transaction, setMarks);
    if (marks) return place(marks, transaction.newDoc);
    if (!transaction.docChanged) return value;
    const { words, notes, counts } = value;
    const { changes } = transaction;
    return { words: words.map(changes), notes: notes.map(changes), counts: counts.map(changes) };
  },
  provide: (field) => [
    EditorView.decorations.from(field, ({ words }) => words),
    EditorView.decorations.from(field, ({ notes }) => notes),
    gutter({ class: 'counts', markers: (view) => view.state.field(field).counts }),
  ],
});

const lit = StateField.define<DecorationSet>({
  create: () => Decoration.none,
  update(value, transaction) {
    const range = effect(transaction, setLit);
    if (range === undefined) return value.map(transaction.changes);
    return range && range[0] < range[1] ? Decoration.set(LIT.range(...within(range, transaction.newDoc))) : Decoration.none;
  },
  provide: (field) => EditorView.decorations.from(field),
});

export const marks = [placing, lit];

export function showMarks(view: EditorView, shown: Marks): void {
  view.dispatch({ effects: setMarks.of(shown) });
}

export function showLit(view: EditorView, range: Range | null): void {
  view.dispatch({ effects: setLit.of(range) });
}

function effect<T>(transaction: Transaction, type: ReturnType<typeof StateEffect.define<T>>): T | undefined {
  return transaction.effects.findLast((one) => one.is(type))?.value as T | undefined;
}

function place(shown: Marks, doc: Text): Placing {
  const words = shown.words.filter(({ at }) => at[0] < at[1] && at[1] <= doc.length);
  return {
    words: Decoration.set(words.flatMap(({ at, sure }) => SURE[sure]?.range(...at) ?? []), true),
    notes: Decoration.set(shown.notes.flatMap((note) => placeNote(note, doc)), true),
    counts: placeCounts(shown.counts, doc),
  };
}

function placeNote(note: Note, doc: Text): Placed<Decoration>[] {
  const [start, end] = within(note.at, doc);
  const mark = Decoration.widget({ widget: new ReferenceMark(note), side: 1 }).range(end);
  return note.active && start < end ? [ACTIVE.range(start, end), mark] : [mark];
}

/** One count a line: that of the row which ends last on it. */
function placeCounts(counts: Count[], doc: Text): RangeSet<GutterMarker> {
  const lines = new Map<number, Count>();
  for (const count of counts) if (count.at <= doc.length) lines.set(doc.lineAt(count.at).from, count);
  const placed = [...lines].sort(([a], [b]) => a - b);
  return RangeSet.of(placed.map(([line, count]) => new CountMarker(count).range(line)));
}

function within([start, end]: Range, doc: Text): Range {
  return [Math.min(start, doc.length), Math.min(end, doc.length)];
}
