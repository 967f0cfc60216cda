import { describe, expect, it } from 'vitest';
import type { PieceView, RowView, View } from '../api/types';
import { findRow, Links } from './links';

//            0         1         2         3
//            0123456789012345678901234567890123456789
// THE TEXT:  "1st row. K 2, T. 2nd and 3rd rows. K 3."
const row = (label: string, at: [number, number], stitches: RowView['stitches']): RowView => ({
  label,
  at,
  stitches,
  side: 'right',
  before: 4,
  after: 3,
  written: '',
  fault: null,
  line: 0,
});

const piece = (rows: RowView[]): PieceView => ({
  name: null,
  worked: 'flat',
  cast_on: 4,
  cast_on_written: '',
  multiple: null,
  rows,
  chart: null,
  chart_error: null,
  key: null,
  size: null,
});

const view: View = {
  revision: 1,
  searched: true,
  doubts: [],
  open_doubts: 0,
  notation: [],
  words: [],
  abbreviations: [],
  error: null,
  pieces: [
    piece([
      row(
        '1',
        [0, 16],
        [
          [9, 12, 2],
          [14, 15, 1],
        ],
      ),
      row(
        '2',
        [17, 39],
        [
          [null, null, 1],
          [35, 38, 2],
        ],
      ),
      row('3', [17, 39], [[35, 38, 3]]),
    ]),
    piece([row('1', [50, 60], [[50, 53, 5]])]),
  ],
};
const links = new Links(view);

describe('from a word to its stitches', () => {
  it('a word lights the stitches that it made', () => {
    expect(links.at(10)).toEqual({ at: [9, 12], piece: 0, row: 0, from: 0, to: 2 });
    expect(links.at(14)).toMatchObject({ row: 0, from: 2, to: 3 });
  });

  it('a word that made several rows lights the first, or the one that is lit already', () => {
    expect(links.at(36)).toMatchObject({ row: 1, from: 1, to: 3 });
    expect(links.at(36, { piece: 0, row: 2, from: 0, to: 3 })).toMatchObject({ row: 2 });
  });

  it('between words there are no stitches, but there may be a row', () => {
    expect(links.at(12)).toBeNull();
    expect(links.rowAt(12)).toEqual({ piece: 0, row: 0, from: 0, to: 3 });
    expect(links.rowAt(45)).toBeNull();
  });
});

describe('from a stitch to its word', () => {
  it('a stitch leads to all that its word made', () => {
    expect(links.word({ piece: 0, row: 0, from: 1, to: 2 })).toMatchObject({ from: 0, to: 2 });
  });

  it('stitches lead to their words, a whole row to all of its words', () => {
    expect(links.words({ piece: 0, row: 0, from: 2, to: 3 })).toEqual([14, 15]);
    expect(links.words(links.wholeRow(0, 0))).toEqual([0, 16]);
  });

  it('a stitch that is not printed leads to its row', () => {
    expect(links.words({ piece: 0, row: 1, from: 0, to: 1 })).toEqual([17, 39]);
  });

  it('stitches are counted through all rows of the piece for the cloth, and back', () => {
    expect(links.inPiece({ piece: 0, row: 2, from: 0, to: 3 })).toEqual([6, 9]);
    expect(links.ofPiece(0, 4)).toMatchObject({ row: 1, from: 1, to: 3 });
    expect(links.ofPiece(0, 6)).toMatchObject({ row: 2, from: 0, to: 3 });
  });
});

describe('a row by its number', () => {
  it('is found in the piece at hand first, then in the others', () => {
    expect(findRow(view, '1', 1)).toEqual({ piece: 1, row: 0 });
    expect(findRow(view, ' 3 ', 1)).toEqual({ piece: 0, row: 2 });
    expect(findRow(view, '9', 0)).toBeNull();
    expect(findRow(view, '', 0)).toBeNull();
  });
});
