// Lengths as people write them.

/** A length with its unit; a bare number counts as centimetres. Null where nothing is written. */
export function length(text: string): string | null {
  const written = text.trim().replace(',', '.');
  if (written === '') return null;
  return /^[\d.]+$/.test(written) ? `${written} cm` : written;
}
