import { expect, it } from 'vitest';
import { compareWords } from './words';

it('words of one line that the other lacks are told', () => {
  const { before, after } = compareWords('Sl 1, k2, k2tog, yo', 'Sl 1, k2, yo, k2tog, yo');
  expect(before.filter(({ differs }) => differs)).toEqual([]);
  expect(after.filter(({ differs }) => differs).map(({ text }) => text.trim())).toEqual(['yo,']);
});

it('both lines keep their text', () => {
  const { before, after } = compareWords('P1, k3, p8.', 'P1, k3, p7.');
  expect(before.map(({ text }) => text).join('')).toBe('P1, k3, p8.');
  expect(after.map(({ text }) => text).join('')).toBe('P1, k3, p7.');
  expect(after.filter(({ differs }) => differs).map(({ text }) => text)).toEqual(['p7.']);
});

it('a line against nothing differs as a whole', () => {
  expect(compareWords('', 'Knit.').after).toEqual([{ text: 'Knit.', differs: true }]);
});
