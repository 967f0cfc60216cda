// A title for a text that has none: its first line, in letters that do not shout.

/** The longest title, in characters. */
const LONGEST = 70;
/** Words that stay small within a title. */
const SMALL = /^(a|an|and|as|at|by|for|from|in|of|on|or|the|to|with)$/;

export function titleOf(text: string): string {
  const line = (text.split('\n').find((line) => line.trim() !== '') ?? '').trim();
  const short = line.length > LONGEST ? `${line.slice(0, LONGEST).replace(/\s+\S*$/, '')} …` : line;
  const whole = short.replace(/[.,:;]+$/, '');
  return whole === whole.toUpperCase() ? lowered(whole) : whole;
}

/** Capitals only at the beginnings of words. */
function lowered(line: string): string {
  const word = (word: string, place: number): string =>
    place > 0 && SMALL.test(word) ? word : word.replace(/\p{L}/u, (letter) => letter.toUpperCase());
  return line.toLowerCase().split(' ').map(word).join(' ');
}
