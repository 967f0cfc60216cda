// Which words of two lines differ.

export interface Stretch {
  text: string;
  /** Whether the other line lacks it. */
  differs: boolean;
}

/** Both lines cut into stretches that are the same and stretches that differ, by their longest common words. */
export function compareWords(before: string, after: string): { before: Stretch[]; after: Stretch[] } {
  const a = before.match(/\s+|[^\s]+/g) ?? [];
  const b = after.match(/\s+|[^\s]+/g) ?? [];
  const common = lengths(a, b);
  const out = { before: [] as Stretch[], after: [] as Stretch[] };
  let i = 0;
  let j = 0;
  while (i < a.length || j < b.length) {
    if (i < a.length && j < b.length && a[i] === b[j]) {
      put(out.before, a[i++]!, false);
      put(out.after, b[j++]!, false);
    } else if (j >= b.length || (i < a.length && common[i + 1]![j]! >= common[i]![j + 1]!)) put(out.before, a[i++]!, true);
    else put(out.after, b[j++]!, true);
  }
  return out;
}

/** How long the longest common sequence of the rests is, for each pair of rests. */
function lengths(a: readonly string[], b: readonly string[]): number[][] {
  const table = Array.from({ length: a.length + 1 }, () => new Array<number>(b.length + 1).fill(0));
  for (let i = a.length - 1; i >= 0; i--) {
    for (let j = b.length - 1; j >= 0; j--) {
      table[i]![j] = a[i] === b[j] ? table[i + 1]![j + 1]! + 1 : Math.max(table[i + 1]![j]!, table[i]![j + 1]!);
    }
  }
  return table;
}

function put(stretches: Stretch[], text: string, differs: boolean): void {
  const last = stretches.at(-1);
  if (last && last.differs === differs) last.text += text;
  else stretches.push({ text, differs });
}
