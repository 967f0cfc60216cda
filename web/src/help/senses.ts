// Terms of the time brought together by what they mean.

import type { Term } from '../api/types';

export interface Meaning {
  sense: string;
  symbol: string | null;
  /** The words for it, each once. */
  printed: string[];
  /** From the first year of any of them to the last. */
  period: string;
  sources: string[];
}

/** One entry for each sense, in the order in which they come. */
export function bySense(terms: readonly Term[]): Meaning[] {
  const groups = new Map<string, Term[]>();
  for (const term of terms) groups.set(term.sense, [...(groups.get(term.sense) ?? []), term]);
  return [...groups].map(([sense, terms]) => ({
    sense,
    symbol: terms.find(({ symbol }) => symbol)?.symbol ?? null,
    printed: once(terms.map(({ term }) => term)),
    period: span(terms.map(({ period }) => period)),
    sources: once(terms.flatMap(({ source }) => source.split(/;\s*/))),
  }));
}

function once(values: string[]): string[] {
  return [...new Set(values.filter((value) => value !== ''))];
}

/** The years from the earliest to the latest of some periods such as `1830–1920`. */
function span(periods: string[]): string {
  const years = periods.flatMap((period) => period.match(/\d{4}/g) ?? []).map(Number);
  if (years.length === 0) return '';
  const [first, last] = [Math.min(...years), Math.max(...years)];
  return first === last ? String(first) : `${first}–${last}`;
}
