import { expect, it } from 'vitest';
import type { AlongPiece, AlongRow } from '../api/types';
import {
  another,
  canBeginAnother,
  facing,
  inHand,
  lines,
  nextGroup,
  nextRow,
  place,
  rowBefore,
  spot,
} from './spots';

const group = (words: string, from: number, to: number, nth?: [number, number]) => ({
  words,
  ops: [from, to] as [number, number],
  repeat: nth ? { nth: nth[0], of: nth[1] } : null,
  on_needles: 5,
  spare: 0,
});

const row = (side: 'right' | 'wrong'): AlongRow => ({
  heading: 'Row',
  side,
  text: '',
  before: 5,
  after: 5,
  waits: 0,
  on_holder: 0,
  groups: [group('k1', 0, 1), group('yo, k2tog', 1, 3, [1, 2]), group('yo, k2tog', 3, 5, [2, 2])],
  notes: [],
  lifeline: null,
});

const piece: AlongPiece = {
  name: null,
  worked: 'flat',
  begin: 'Cast on 5.',
  repeats: true,
  again_from: 1,
  flips: true,
  rows: [row('right'), row('wrong'), row('right')],
  asks: [],
};

it('a place leads to the group that its stitch is in, and back to where that begins', () => {
  expect(spot(piece, { piece: 0, time: 2, row: 2, stitch: 4 })).toEqual({ row: 2, group: 2, time: 2 });
  expect(place(0, piece, { row: 2, group: 2, time: 2 })).toEqual({ piece: 0, time: 2, row: 2, stitch: 3 });
  expect(spot(piece, undefined)).toEqual({ row: 0, group: 0, time: 1 });
});

it('a place that the piece no longer has leads to the nearest', () => {
  expect(spot(piece, { piece: 0, time: 1, row: 40, stitch: 9 })).toEqual({ row: 4, group: 0, time: 1 });
  expect(spot(piece, { piece: 0, time: 1, row: 1, stitch: 99 }).group).toBe(2);
});

it('rows that are worked once are passed over later on, whatever place was kept', () => {
  const tail = { ...piece, again_from: 2 };
  expect(spot(tail, { piece: 0, time: 2, row: 1, stitch: 0 })).toEqual({ row: 2, group: 0, time: 2 });
  expect(spot(tail, { piece: 0, time: 1, row: 1, stitch: 0 }).row).toBe(1);
  expect(nextRow(tail, { row: 3, group: 0, time: 1 })).toEqual({ row: 2, group: 0, time: 2 });
});

it('after the end of a piece that does not repeat another can be begun, and gone back from', () => {
  const square = { ...piece, repeats: false, flips: false };
  const end = { row: 4, group: 0, time: 1 };
  expect([canBeginAnother(square, end), canBeginAnother(piece, end)]).toEqual([true, false]);
  expect(nextRow(square, end)).toEqual(end);
  expect(another(end)).toEqual({ row: 0, group: 0, time: 2 });
  expect(rowBefore(square, another(end))).toEqual(end);
  expect(rowBefore(square, { row: 1, group: 0, time: 2 })).toEqual(another(end));
});

it('the other side faces every second time through, where the rows are odd', () => {
  const sides = [1, 2, 3].map((time) => facing(piece, { row: 1, group: 0, time }));
  expect(sides).toEqual(['right', 'wrong', 'right']);
  expect(facing({ ...piece, worked: 'round' }, { row: 1, group: 0, time: 1 })).toBeNull();
  expect(facing(piece, { row: 0, group: 0, time: 1 })).toBeNull();
});

it('moves are those of the page for the phone', () => {
  expect(lines(piece.rows[0]!).map(({ first, last }) => [first, last])).toEqual([
    [0, 0],
    [1, 2],
  ]);
  expect(nextGroup(piece, { row: 3, group: 2, time: 1 })).toEqual({ row: 1, group: 0, time: 2 });
});

it('what waits behind a turn is not in hand', () => {
  expect(inHand({ ...row('right'), after: 23, waits: 12 })).toBe(11);
});
