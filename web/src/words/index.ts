// The words in force. Components take them from here, never from a language's own file.

import { en, type Words } from './en';

export const words: Words = en;

/** A day, as a book would write it. */
export function day(milliseconds: number): string {
  const date = new Date(milliseconds);
  return date.toLocaleDateString(words.dates.locale, { day: 'numeric', month: 'long', year: 'numeric' });
}
