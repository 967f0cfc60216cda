// What differs between two states of a project, row by row and line by line.

import type { PieceView, View } from '../api/types';
import { difference } from '../text/splice';

export interface Difference {
  label: string;
  before: string;
  after: string;
}

/** The rows that read differently, piece by piece; a row that one state lacks is empty there. */
export function changedRows(before: View, after: View): Difference[] {
  const count = Math.max(before.pieces.length, after.pieces.length);
  return Array.from({ length: count }, (_, p) => changedIn(before.pieces[p], after.pieces[p])).flat();
}

function changedIn(before: PieceView | undefined, after: PieceView | undefined): Difference[] {
  const rows = Array.from({ length: Math.max(before?.rows.length ?? 0, after?.rows.length ?? 0) }, (_, r) => ({
    label: (after?.rows[r] ?? before?.rows[r])!.label,
    before: before?.rows[r]?.written ?? '',
    after: after?.rows[r]?.written ?? '',
  }));
  return rows.filter((row) => row.before !== row.after);
}

/** The lines from the first that differs to the last, paired in order. */
export function changedLines(before: string, after: string): Difference[] {
  const splice = difference(before, after);
  if (!splice) return [];
  const first = before.slice(0, splice.at).split('\n').length;
  const start = before.lastIndexOf('\n', splice.at - 1) + 1;
  const old = linesFrom(before, start, splice.at + splice.remove);
  const now = linesFrom(after, start, splice.at + splice.insert.length);
  return Array.from({ length: Math.max(old.length, now.length) }, (_, i) => ({
    label: String(first + i),
    before: old[i] ?? '',
    after: now[i] ?? '',
  })).filter((line) => line.before !== line.after);
}

function linesFrom(text: string, start: number, last: number): string[] {
  const end = text.indexOf('\n', last);
  return text.slice(start, end < 0 ? undefined : end).split('\n');
}
