// Sentences with blanks: the words of the catalogue, and what is filled in between them.

/** Something to fill in or to choose. */
export interface Blank {
  /** What it is, for those who do not see the sentence. */
  label: string;
  value: string;
  set: (value: string) => void;
  /** The answers with their words, where it is chosen. */
  choices?: readonly (readonly [string, string])[];
  /** Room for so many letters. */
  room?: number;
  type?: 'number' | 'date';
}

/** Words of a sentence, or the name of a blank with the marks that stand right behind it. */
export type Part = { words: string } | { blank: string; marks: string };

/** The parts of a sentence whose blanks stand in braces. */
export function parts(sentence: string): Part[] {
  const found: Part[] = [];
  let end = 0;
  for (const { index, 0: whole, 1: blank, 2: marks } of sentence.matchAll(/\{(\w+)\}([^\s{]*)/g)) {
    if (index > end) found.push({ words: sentence.slice(end, index) });
    found.push({ blank: blank!, marks: marks! });
    end = index + whole.length;
  }
  return end < sentence.length ? [...found, { words: sentence.slice(end) }] : found;
}
