// Numbers and lengths as people write them; null where there is none.

/** A number as people write it, with a point or a comma; null where there is none. */
export function number(text: string): number | null {
  const written = text.trim().replace(',', '.');
  const value = Number(written);
  return written !== '' && Number.isFinite(value) && value >= 0 ? value : null;
}

/** A whole number of which there is at least one; null where there is none. */
export function count(text: string): number | null {
  const value = number(text);
  return value !== null && value >= 1 ? Math.trunc(value) : null;
}

/** What is written, or null for nothing. */
export function text(written: string): string | null {
  return written === '' ? null : written;
}

/** A length with its unit; a bare number counts as centimetres. Null where nothing is written. */
export function length(text: string): string | null {
  const written = text.trim().replace(',', '.');
  if (written === '') return null;
  return /^[\d.]+$/.test(written) ? `${written} cm` : written;
}
