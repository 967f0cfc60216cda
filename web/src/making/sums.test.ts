import { expect, it } from 'vitest';
import { BEGINNING, sum } from './sums';

const gauge = { stitches: 22, rows: 30 };

it('a sum is asked when every blank is filled, and not before', () => {
  expect(sum('even', BEGINNING.even, null)).toBeNull();
  expect(sum('even', { ...BEGINNING.even, changes: '7', stitches: '50' }, null)).toEqual({
    sum: 'even',
    changes: 7,
    stitches: 50,
    decrease: false,
    worked: 'flat',
  });
  expect(sum('even', { ...BEGINNING.even, changes: 'seven', stitches: '50' }, null)).toBeNull();
  expect(sum('heel', { stitches: '-4' }, null)).toBeNull();
});

it('a bare number is a length in centimetres, and a gauge that is missing is waited for', () => {
  const values = { width: '50,5', of: '12', plus: '1' };
  expect(sum('cast_on', values, gauge)).toEqual({ sum: 'cast_on', width: '50.5 cm', of: 12, plus: 1, gauge });
  expect(sum('cast_on', { ...values, width: '20 in' }, gauge)).toMatchObject({ width: '20 in' });
  expect(sum('cast_on', values, null)).toBeNull();
});

it('the number of a thread may have a point, and the threads are whole', () => {
  const values = { plies: '4', number: '7,5', count: 'worsted' };
  const asked = { sum: 'yarn_number', count: 'worsted', number: 7.5, plies: 4 };
  expect(sum('yarn_number', values, null)).toEqual(asked);
  expect(sum('yarn_number', { ...values, number: '0' }, null)).toBeNull();
  expect(sum('yarn_number', { ...values, plies: '1.5' }, null)).toBeNull();
});
