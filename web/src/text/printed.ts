// Words of the program as a printer sets them; it writes the straight quotation marks of a typewriter.

/** The text with each pair of straight quotation marks curled; a single mark, as of inches, stays. */
export function curly(text: string): string {
  return text.replace(/"([^"]*)"/g, '“$1”');
}

/** The text as a sentence: with a capital, and with a full stop where it has no mark of its own. */
export function sentence(text: string): string {
  const stop = /[^.!?…]$/.test(text) ? '.' : '';
  return text.charAt(0).toUpperCase() + text.slice(1) + stop;
}
