import { expect, it } from 'vitest';
import type { PlanForm } from '../../api/types';
import { columnsOf, freshName, renamed, resized, withoutPiece } from './changes';

const piece = (name: string) => ({
  name,
  of: 1,
  count: 1,
  colour: null,
  rows: {},
  size: { from: 'cloth' as const },
});

const FORM: PlanForm = {
  title: null,
  swatch: null,
  ease: 5,
  pieces: [piece('square'), piece('border')],
  block: [[{ piece: 'square', turn: 1 }, null]],
  joins: [{ one: { piece: 'square', side: 'left' }, other: { piece: 'border', side: 'top' }, times: null }],
  laid: [{ piece: 'square', on: 'middles' }],
  edging: {
    piece: 'border',
    path: null,
    closed: true,
    corner: null,
    knitted_on: false,
    repeat: null,
    depth: null,
  },
  yarns: [],
  needles: [{ printed: null, number: '2', gauge: 'wire', pieces: ['square', 'border'] }],
  stretches: [{ edge: { piece: 'border', side: 'top' }, to: '30 cm' }],
  time: { start: null, hours: null, pace: null },
};

it('a piece is called by its new name everywhere', () => {
  const form = renamed(renamed(FORM, 0, 'ivy'), 1, 'points');
  expect(form.pieces.map(({ name }) => name)).toEqual(['ivy', 'points']);
  expect(form.block).toEqual([[{ piece: 'ivy', turn: 1 }, null]]);
  expect(form.joins[0]).toMatchObject({ one: { piece: 'ivy', side: 'left' }, other: { piece: 'points' } });
  expect([form.laid[0]!.piece, form.edging?.piece, form.stretches[0]!.edge.piece]).toEqual([
    'ivy',
    'points',
    'points',
  ]);
  expect(form.needles[0]!.pieces).toEqual(['ivy', 'points']);
});

it('nothing is said of a piece that goes', () => {
  const form = withoutPiece(FORM, 1);
  expect([form.joins, form.edging, form.stretches, form.needles[0]!.pieces]).toEqual([
    [],
    null,
    [],
    ['square'],
  ]);
  expect(form.block).toEqual(FORM.block);
  expect(withoutPiece(FORM, 0).block).toEqual([]);
});

it('a block grows by what lies beside, and goes when nothing is left of it', () => {
  const turned = { piece: 'square', turn: 1 };
  expect(resized([], 1, 2, 'square')).toEqual([
    [
      { piece: 'square', turn: 0 },
      { piece: 'square', turn: 0 },
    ],
  ]);
  expect(resized([[turned]], 2, 2, 'square')).toEqual([
    [turned, turned],
    [turned, turned],
  ]);
  expect(resized([[turned, null]], 1, 1, 'square')).toEqual([[turned]]);
  expect(resized([[turned]], 0, 3, 'square')).toEqual([]);
  expect(columnsOf([[turned], [turned, null]])).toBe(2);
});

it('a new piece has a name of its own', () => {
  expect(freshName('piece', [])).toBe('piece');
  expect(freshName('piece', ['piece', 'piece 2'])).toBe('piece 3');
});
