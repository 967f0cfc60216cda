// Splices: the small changes of a text that travel between the page and the shelf.
//
// A splice removes some characters at a place and puts others there. A list of splices is applied one after the
// other, each on the text that the one before left. Two lists that start from the same text can be carried over one
// another: `cross` gives both as they read after the other. Knows nothing of editors, servers or projects.

export interface Splice {
  at: number;
  remove: number;
  insert: string;
}

/** The text after the splices. */
export function apply(text: string, splices: readonly Splice[]): string {
  return splices.reduce(
    (text, { at, remove, insert }) => text.slice(0, at) + insert + text.slice(at + remove),
    text,
  );
}

/** The one splice that leads from one text to the other, as short as it can be; null where they are the same. */
export function difference(before: string, after: string): Splice | null {
  if (before === after) return null;
  const shorter = Math.min(before.length, after.length);
  let head = 0;
  while (head < shorter && before[head] === after[head]) head++;
  if (splitsPair(before, head) || splitsPair(after, head)) head--;
  let tail = 0;
  while (tail < shorter - head && before.at(-1 - tail) === after.at(-1 - tail)) tail++;
  if (splitsPair(before, before.length - tail) || splitsPair(after, after.length - tail)) tail--;
  return { at: head, remove: before.length - tail - head, insert: after.slice(head, after.length - tail) };
}

/** Where a position stands after the splices. What stood in removed text goes to the side asked for. */
export function mapPosition(position: number, splices: readonly Splice[], side: -1 | 1): number {
  return splices.reduce((position, { at, remove, insert }) => {
    const end = at + remove;
    if (position < at || (position === at && side < 0)) return position;
    if (position > end || (position === end && (remove > 0 || side > 0))) return position + insert.length - remove;
    return side < 0 ? at : at + insert.length;
  }, position);
}

/** A range after the splices; null where all of it was removed. */
export function mapRange(range: readonly [number, number], splices: readonly Splice[]): [number, number] | null {
  const start = mapPosition(range[0], splices, 1);
  const end = mapPosition(range[1], splices, -1);
  return start < end || (range[0] === range[1] && start <= end) ? [start, end] : null;
}

/** Joins neighbouring splices of steady typing or deleting into one, where the second goes on from the first. */
export function joined(splices: readonly Splice[]): Splice[] {
  const out: Splice[] = [];
  for (const next of splices) {
    const last = out.at(-1);
    const both = last && join(last, next);
    if (both) out[out.length - 1] = both;
    else out.push(next);
  }
  return out;
}

/**
 * Carries two lists of splices over one another. Both start from the same text; afterwards the remote ones followed
 * by the local result, and the local ones followed by the remote result, give the same text. Where both insert at
 * one place, the remote words stand first.
 */
export function cross(local: readonly Splice[], remote: readonly Splice[]): { local: Splice[]; remote: Splice[] } {
  const first = local[0];
  const other = remote[0];
  if (!first || !other) return { local: [...local], remote: [...remote] };
  if (local.length === 1 && remote.length === 1) {
    return { local: over(first, other, false), remote: over(other, first, true) };
  }
  if (local.length > 1) {
    const head = cross([first], remote);
    const rest = cross(local.slice(1), head.remote);
    return { local: [...head.local, ...rest.local], remote: rest.remote };
  }
  const head = cross(local, [other]);
  const rest = cross(head.local, remote.slice(1));
  return { local: rest.local, remote: [...head.remote, ...rest.remote] };
}

/** One splice as it reads after another that started from the same text; `first` wins where both insert. */
function over(splice: Splice, other: Splice, first: boolean): Splice[] {
  const end = splice.at + splice.remove;
  const otherEnd = other.at + other.remove;
  const after = Math.max(0, end - Math.max(splice.at, otherEnd));
  if (splice.at < other.at || (splice.at === other.at && first)) {
    const before = Math.min(end, other.at) - splice.at;
    if (after === 0 || other.insert === '') return [{ ...splice, remove: before + after }];
    const rest = splice.at + splice.insert.length + other.insert.length;
    return [{ ...splice, remove: before }, { at: rest, remove: after, insert: '' }];
  }
  const inside = splice.at < otherEnd;
  const at = inside ? other.at + other.insert.length : splice.at + other.insert.length - other.remove;
  return [{ at, remove: after, insert: splice.insert }];
}

function join(first: Splice, next: Splice): Splice | null {
  const end = first.at + first.insert.length;
  const within = next.at >= first.at && next.at + next.remove <= end;
  if (within) {
    const from = next.at - first.at;
    const insert = first.insert.slice(0, from) + next.insert + first.insert.slice(from + next.remove);
    return { ...first, insert };
  }
  const backwards = first.insert === '' && next.at + next.remove === first.at;
  return backwards ? { at: next.at, remove: first.remove + next.remove, insert: next.insert } : null;
}

/** Whether a cut at this place would part the two halves of one character. */
function splitsPair(text: string, at: number): boolean {
  const code = text.charCodeAt(at);
  const before = text.charCodeAt(at - 1);
  return code >= 0xdc00 && code < 0xe000 && before >= 0xd800 && before < 0xdc00;
}
