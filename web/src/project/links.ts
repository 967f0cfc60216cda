// Words and the stitches they made: from a place in the text to stitches, and back.
//
// Built once for each view. Positions are those of the text that the view was made from; knows nothing of screens.

import type { PieceView, Range, RowView, View } from '../api/types';

/** Some neighbouring stitches of a row, in working order. */
export interface Stitches {
  piece: number;
  row: number;
  /** The first operation of the row that is meant. */
  from: number;
  /** The operation after the last. */
  to: number;
}

interface Run extends Stitches {
  at: Range;
}

export class Links {
  /** In the order of the text. */
  readonly #runs: Run[] = [];
  /** For each piece, the index of each row's first operation among all of the piece. */
  readonly #firsts: number[][];

  constructor(private readonly view: View) {
    this.#firsts = view.pieces.map((piece) => firsts(piece));
    view.pieces.forEach((piece, p) => {
      piece.rows.forEach((row, r) => this.#runs.push(...runs(row).map((run) => ({ ...run, piece: p, row: r }))));
    });
    this.#runs.sort((a, b) => a.at[0] - b.at[0] || a.piece - b.piece || a.row - b.row);
  }

  /** What the word at a position made; for words that made several rows, the one nearest after `near` first. */
  at(position: number, near?: Stitches): Stitches | null {
    const found = this.#runs.filter(({ at: [start, end] }) => start <= position && position < end);
    const same = near && found.find(({ piece, row }) => piece === near.piece && row === near.row);
    return same ?? found[0] ?? null;
  }

  /** The row printed at a position, where no word of it made a stitch. */
  rowAt(position: number): Stitches | null {
    for (const [p, piece] of this.view.pieces.entries()) {
      const r = piece.rows.findIndex(({ at }) => at !== null && at[0] <= position && position < at[1]);
      if (r >= 0) return this.wholeRow(p, r);
    }
    return null;
  }

  wholeRow(piece: number, row: number): Stitches {
    const view = this.view.pieces[piece]?.rows[row];
    return { piece, row, from: 0, to: view ? operations(view) : 0 };
  }

  /** The words that made these stitches; the whole row's words where all of it is meant. */
  words(stitches: Stitches): Range | null {
    const row = this.view.pieces[stitches.piece]?.rows[stitches.row];
    if (!row) return null;
    if (stitches.from === 0 && stitches.to >= operations(row)) return row.at;
    const made = runs(row).filter(({ from, to }) => from < stitches.to && stitches.from < to);
    if (made.length === 0) return row.at;
    return [Math.min(...made.map(({ at }) => at[0])), Math.max(...made.map(({ at }) => at[1]))];
  }

  /** A stitch of a piece, counted through all its rows, as the stitches of its word. */
  ofPiece(piece: number, operation: number): Stitches | null {
    const firsts = this.#firsts[piece];
    if (!firsts) return null;
    const row = firsts.findLastIndex((first) => first <= operation);
    return row < 0 ? null : this.word({ piece, row, from: operation - firsts[row]!, to: operation - firsts[row]! + 1 });
  }

  /** All the stitches that the words of some stitches made in their row. */
  word(stitches: Stitches): Stitches {
    const row = this.view.pieces[stitches.piece]?.rows[stitches.row];
    const run = row && runs(row).find(({ from, to }) => from <= stitches.from && stitches.from < to);
    return run ? { ...stitches, from: run.from, to: run.to } : stitches;
  }

  /** The same stitches counted through all rows of the piece: the first, and the one after the last. */
  inPiece({ piece, row, from, to }: Stitches): Range {
    const first = this.#firsts[piece]?.[row] ?? 0;
    return [first + from, first + to];
  }
}

/** How many operations a row has. */
export function operations(row: RowView): number {
  return row.stitches.reduce((sum, [, , count]) => sum + count, 0);
}

/** The runs of a row that are printed. */
function runs(row: RowView): { at: Range; from: number; to: number }[] {
  let from = 0;
  const out = [];
  for (const [start, end, count] of row.stitches) {
    if (start !== null && end !== null) out.push({ at: [start, end] as Range, from, to: from + count });
    from += count;
  }
  return out;
}

function firsts(piece: PieceView): number[] {
  let sum = 0;
  return piece.rows.map((row) => (sum += operations(row)) - operations(row));
}

/** The row of that label, in the piece at hand first, then in those after it. */
export function findRow(view: View, wanted: string, from: number): { piece: number; row: number } | null {
  const label = wanted.trim().toLowerCase();
  if (label === '') return null;
  const order = view.pieces.map((_, i) => (i + from) % view.pieces.length);
  for (const piece of order) {
    const row = view.pieces[piece]!.rows.findIndex((row) => row.label.toLowerCase() === label);
    if (row >= 0) return { piece, row };
  }
  return null;
}
