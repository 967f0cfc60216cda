// The words in force. Components take them from here, never from a language's own file.

import { en, type Words } from './en';

export const words: Words = en;

/** A day, as a book would write it. */
export function day(milliseconds: number): string {
  const date = new Date(milliseconds);
  return date.toLocaleDateString(words.dates.locale, { day: 'numeric', month: 'long', year: 'numeric' });
}

/** Some days on end, as briefly as can be: `1–6 Dec 2026`. */
export function days(first: number, last: number): string {
  const brief = { day: 'numeric', month: 'short', year: 'numeric' } as const;
  return new Intl.DateTimeFormat(words.dates.locale, brief).formatRange(first, last);
}
