// Places at the needles as the shelf keeps them, and as the page shows them: the one counts stitches, which stay the
// same in other terms and groupings, the other groups. Moves are those of the page for the phone.

import { start, type Place as Spot } from '../../../crates/along/page/place.js';
import type { AlongPiece, Place } from '../api/types';

export {
  another,
  canBeginAnother,
  groupBefore,
  inHand,
  lines,
  nextGroup,
  nextRow,
  rowAt,
  rowBefore,
  start,
  type Line,
} from '../../../crates/along/page/place.js';
export type { Spot };

/** The spot of a place; rows and stitches that the piece no longer has, or that are worked once and
 * she is past, lead to the nearest that it has. */
export function spot(piece: AlongPiece, place: Place | undefined): Spot {
  if (!place) return start();
  const first = piece.repeats && place.time > 1 ? piece.again_from : 0;
  const row = Math.min(Math.max(place.row, first), piece.rows.length + 1);
  const groups = piece.rows[row - 1]?.groups ?? [];
  const group = groups.findLastIndex(({ ops }) => ops[0] <= place.stitch);
  return { row, group: Math.max(0, group), time: Math.max(1, place.time) };
}

/** The place of a spot. */
export function place(index: number, piece: AlongPiece, { row, group, time }: Spot): Place {
  return { piece: index, time, row, stitch: piece.rows[row - 1]?.groups[group]?.ops[0] ?? 0 };
}

/** The side that faces; of some pieces it is the other one every second time through. */
export function facing(piece: AlongPiece, { row, time }: Spot): 'right' | 'wrong' | null {
  const side = piece.rows[row - 1]?.side;
  if (!side || piece.worked === 'round') return null;
  if (!piece.flips || time % 2 === 1) return side;
  return side === 'right' ? 'wrong' : 'right';
}
