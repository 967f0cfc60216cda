// What stands beside the text: numbered notes, counts and words, with positions as the text reads now.

import type { Doubt, Range, View } from '../api/types';
import { inOrder, isOpen, isRemark } from '../project/doubts';
import type { OpenProject } from '../project/open.svelte';
import { words } from '../words';
import type { Count, Marks } from './editor/marks';

export interface NumberedDoubt {
  doubt: Doubt;
  number: number;
}

/** The doubts that have something to decide, in the order of the text, numbered through. */
export function numbered(view: View): NumberedDoubt[] {
  return inOrder(view.doubts.filter((doubt) => !isRemark(doubt))).map((doubt, i) => ({ doubt, number: i + 1 }));
}

/** Everything that is marked in the text. */
export function marksOf(project: OpenProject, view: View): Marks {
  const place = (at: Range | null): Range | null => at && project.here(at);
  return {
    words: view.words.flatMap(({ at, sure }) => {
      const here = place(at);
      return here ? [{ at: here, sure }] : [];
    }),
    notes: numbered(view).flatMap(({ doubt, number }) => {
      const at = place(doubt.at);
      return at ? [{ key: doubt.key, number, at, open: isOpen(doubt), active: doubt.key === project.doubt }] : [];
    }),
    counts: counts(view).flatMap((count) => {
      const at = place([count.at - 1, count.at]);
      return at ? [{ ...count, at: at[1] }] : [];
    }),
  };
}

/** The count after each printed row; for words that made several rows, from the first count to the last. */
export function counts(view: View): Count[] {
  const places = new Map<string, { at: Range; before: number; after: number[]; fault: boolean }>();
  for (const row of view.pieces.flatMap((piece) => piece.rows)) {
    if (!row.at) continue;
    const key = row.at.join();
    const found = places.get(key) ?? { at: row.at, before: row.before, after: [], fault: false };
    found.after.push(row.after);
    found.fault ||= row.fault !== null;
    places.set(key, found);
  }
  return [...places.values()].map(({ at, before, after, fault }) => {
    const last = after.at(-1)!;
    return { at: at[1], text: spread(after), hint: words.text.countHint(before, last), fault };
  });
}

function spread(counts: number[]): string {
  const least = Math.min(...counts);
  const most = Math.max(...counts);
  return least === most ? String(most) : `${least}–${most}`;
}

/**
 * Where notes stand so that none covers another: each level with its line if there is room, else pushed down. The
 * active one always stands level, and those before it make room upwards.
 */
export function spaced(wished: number[], heights: number[], active: number, gap: number): number[] {
  const tops = [...wished];
  const start = Math.max(0, active);
  for (let i = start + 1; i < tops.length; i++) tops[i] = Math.max(tops[i]!, tops[i - 1]! + heights[i - 1]! + gap);
  for (let i = start - 1; i >= 0; i--) tops[i] = Math.min(tops[i]!, tops[i + 1]! - heights[i]! - gap);
  for (let i = 0; i < tops.length; i++) {
    const least = i === 0 ? 0 : tops[i - 1]! + heights[i - 1]! + gap;
    tops[i] = Math.max(tops[i]!, least);
  }
  return tops;
}
