import { expect, it } from 'vitest';
import { count, length, number, text } from './written';

it('numbers are read as people write them', () => {
  expect([number('9,5'), number(' 4 '), number(''), number('many'), number('-1')]).toEqual([
    9.5,
    4,
    null,
    null,
    null,
  ]);
  expect([count('12'), count('0'), count('2.7')]).toEqual([12, null, 2]);
});

it('a bare number is a length in centimetres, and nothing is nothing', () => {
  expect([length('50,5'), length('8 in'), length(' ')]).toEqual(['50.5 cm', '8 in', null]);
  expect([text('grey'), text('')]).toEqual(['grey', null]);
});
