import { expect, it } from 'vitest';
import type { View } from '../api/types';
import { changedLines, changedRows } from './differences';

const view = (...written: string[][]): View =>
  ({ pieces: written.map((rows) => ({ rows: rows.map((written, r) => ({ label: String(r + 1), written })) })) }) as unknown as View;

it('rows that read differently are told, and rows that one state lacks', () => {
  const changed = changedRows(view(['Knit.', 'Purl.']), view(['Knit.', 'Knit.', 'Purl.']));
  expect(changed).toEqual([
    { label: '2', before: 'Purl.', after: 'Knit.' },
    { label: '3', before: '', after: 'Purl.' },
  ]);
});

it('lines are told with their numbers', () => {
  expect(changedLines('one\ntwo\nthree', 'one\ntoo\nthree')).toEqual([{ label: '2', before: 'two', after: 'too' }]);
  expect(changedLines('one', 'one\ntwo')).toEqual([{ label: '2', before: '', after: 'two' }]);
});

it('the same text has no lines that differ', () => {
  expect(changedLines('one', 'one')).toEqual([]);
});
