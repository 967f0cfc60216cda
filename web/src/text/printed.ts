// Words of the program as a printer sets them; it writes the straight quotation marks of a typewriter.

/** The text with each pair of straight quotation marks curled; a single mark, as of inches, stays. */
export function curly(text: string): string {
  return text.replace(/"([^"]*)"/g, '“$1”');
}

/** The text with a full stop, where it has none of its own. */
export function sentence(text: string): string {
  return /[^.!?…]$/.test(text) ? `${text}.` : text;
}
