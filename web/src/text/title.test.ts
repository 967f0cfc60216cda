import { expect, it } from 'vitest';
import { titleOf } from './title';

it('the first line is the title, without the stop at its end', () => {
  expect(titleOf('\n  Spider-web Shawl.\n\nCast on 9.')).toBe('Spider-web Shawl');
  expect(titleOf('')).toBe('');
});

it('a line in capitals is set in small letters', () => {
  expect(titleOf("LADY'S MITTEN, WITH A LEAF BACK.")).toBe("Lady's Mitten, with a Leaf Back");
  expect(titleOf('THE ÉCRU "WAVE" EDGING')).toBe('The Écru "Wave" Edging');
});

it('a long line is cut between words', () => {
  expect(titleOf(`Cast on ${'9 '.repeat(60)}`)).toMatch(/^Cast on (9 )+…$/);
});
