// What the form of a plan does to the plan: pieces that are renamed or go, blocks that grow, lists. Pure.

import type { FormCell, FormEdge, PlanForm } from '../../api/types';

/** A list with one entry changed. */
export function changed<T>(list: readonly T[], place: number, entry: Partial<T>): T[] {
  return list.map((old, i) => (i === place ? { ...old, ...entry } : old));
}

/** A list without one entry. */
export function without<T>(list: readonly T[], place: number): T[] {
  return list.filter((_, i) => i !== place);
}

/** The plan with a piece under another name, wherever it is named. */
export function renamed(form: PlanForm, place: number, name: string): PlanForm {
  const old = form.pieces[place]!.name;
  const called = (piece: string): string => (piece === old ? name : piece);
  const edge = (edge: FormEdge): FormEdge => ({ ...edge, piece: called(edge.piece) });
  return {
    ...form,
    pieces: changed(form.pieces, place, { name }),
    block: form.block.map((row) => row.map((cell) => cell && { ...cell, piece: called(cell.piece) })),
    joins: form.joins.map((join) => ({ ...join, one: edge(join.one), other: edge(join.other) })),
    laid: form.laid.map((laid) => ({ ...laid, piece: called(laid.piece) })),
    edging: form.edging && { ...form.edging, piece: called(form.edging.piece) },
    needles: form.needles.map((needle) => ({ ...needle, pieces: needle.pieces.map(called) })),
    stretches: form.stretches.map((stretch) => ({ ...stretch, edge: edge(stretch.edge) })),
  };
}

/** The plan without a piece, and without all that is said of it. */
export function withoutPiece(form: PlanForm, place: number): PlanForm {
  const { name } = form.pieces[place]!;
  const others = (piece: string): boolean => piece !== name;
  const block = form.block.map((row) => row.map((cell) => (cell?.piece === name ? null : cell)));
  return {
    ...form,
    pieces: without(form.pieces, place),
    block: block.flat().some((cell) => cell) ? block : [],
    joins: form.joins.filter(({ one, other }) => others(one.piece) && others(other.piece)),
    laid: form.laid.filter(({ piece }) => others(piece)),
    edging: form.edging?.piece === name ? null : form.edging,
    needles: form.needles.map((needle) => ({ ...needle, pieces: needle.pieces.filter(others) })),
    stretches: form.stretches.filter(({ edge }) => others(edge.piece)),
  };
}

export type Block = readonly (readonly (FormCell | null)[])[];

/** The most rows or columns of a block that is laid out by hand. */
const MOST = 40;

/** Columns of a block: those of its longest row. */
export function columnsOf(block: Block): number {
  return Math.max(0, ...block.map((row) => row.length));
}

/** A block of another size; new places hold the piece of the last one beside them. */
export function resized(block: Block, rows: number, columns: number, piece: string): (FormCell | null)[][] {
  const [height, width] = [rows, columns].map((count) => Math.min(MOST, Math.max(0, Math.trunc(count))));
  if (!height || !width) return [];
  const first: FormCell = { piece, turn: 0 };
  const last = block.at(-1) ?? [];
  return Array.from({ length: height }, (_, r) => {
    const row = block[r] ?? last;
    return Array.from({ length: width }, (_, c) => (c < row.length ? row[c]! : (row.at(-1) ?? first)));
  });
}

/** A name for a new entry that no other has. */
export function freshName(name: string, taken: readonly string[]): string {
  for (let n = 1; ; n++) {
    const fresh = n === 1 ? name : `${name} ${n}`;
    if (!taken.includes(fresh)) return fresh;
  }
}
