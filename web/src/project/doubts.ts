// Doubts: their order, their names, and what each key does to one.
//
// The program says what the options are and what each would change; this only picks among them.

import type { Change, Doubt, Option } from '../api/types';
import { curly, sentence } from '../text/printed';

/** A doubt with its words as a printer sets them. */
export function wellSet(doubt: Doubt): Doubt {
  const options = doubt.options.map((option) => ({ ...option, label: curly(option.label) }));
  return { ...doubt, title: curly(doubt.title), why: sentence(curly(doubt.why)), options };
}

/** What leaves nothing to decide and is no fault, such as words that make no stitch. */
export function isRemark(doubt: Doubt): boolean {
  return doubt.options.length === 0 && doubt.kind !== 'fault';
}

/** In the order of the text; what has no place comes last. */
export function inOrder(doubts: readonly Doubt[]): Doubt[] {
  const place = ({ at }: Doubt): number => at?.[0] ?? Number.MAX_SAFE_INTEGER;
  return [...doubts].sort((a, b) => place(a) - place(b));
}

export function isOpen(doubt: Doubt): boolean {
  return doubt.state === 'open' && !isRemark(doubt);
}

/** The option in force; the first where none is. */
export function chosen(doubt: Doubt): Option | undefined {
  return doubt.options.find((option) => option.chosen) ?? doubt.options[0];
}

/** The option that leaves the print as it stands: the last of a correction's. */
export function asPrinted(doubt: Doubt): Option | undefined {
  return doubt.kind === 'correction' ? doubt.options.at(-1) : undefined;
}

/** What "accept" does: the option in force, or the best one where the print still stands. */
export function accepted(doubt: Doubt): Option | undefined {
  const option = chosen(doubt);
  return option === asPrinted(doubt) ? doubt.options[0] : option;
}

/** What "refuse" does: the print stays, or of two answers the other is taken. */
export function refused(doubt: Doubt): Option | undefined {
  if (doubt.kind === 'correction') return asPrinted(doubt);
  return doubt.options.length === 2 ? doubt.options.find((option) => option !== chosen(doubt)) : undefined;
}

/** The changes that a key asks for: a accepts, r refuses, 1 to 9 pick; null for any other key. */
export function changesOf(doubt: Doubt, key: string): Change[] | null {
  if (key === 'a') return accepted(doubt)?.change ?? null;
  if (key === 'r') return refused(doubt)?.change ?? null;
  if (/^[1-9]$/.test(key)) return doubt.options[Number(key) - 1]?.change ?? null;
  return null;
}

/** The doubt to stand at after one went away: the same if it is there, else the next open one after its place. */
export function after(doubts: readonly Doubt[], key: string | null, at: number): Doubt | undefined {
  const same = doubts.find((doubt) => doubt.key === key);
  return (
    same ??
    doubts.find((doubt) => isOpen(doubt) && (doubt.at?.[0] ?? 0) >= at) ??
    doubts.find(isOpen) ??
    doubts[0]
  );
}
