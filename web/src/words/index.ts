// The words in force. Components take them from here, never from a language's own file.

import { en, type Words } from './en';

export const words: Words = en;

/** A day, as a book would write it. */
export function day(iso: string): string {
  const date = new Date(iso);
  if (Number.isNaN(date.getTime())) return iso;
  return date.toLocaleDateString(words.dates.locale, { day: 'numeric', month: 'long', year: 'numeric' });
}
