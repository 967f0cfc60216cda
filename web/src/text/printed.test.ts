import { expect, it } from 'vitest';
import { curly, sentence } from './printed';

it('pairs are curled, a mark that stands alone is of inches', () => {
  expect(curly('Read "knit 2" for "knit 3"')).toBe('Read “knit 2” for “knit 3”');
  expect(curly('a strip 8" long')).toBe('a strip 8" long');
});

it('a sentence begins with a capital and ends with one full stop', () => {
  expect(['the odds are even', 'Look again.', ''].map(sentence)).toEqual([
    'The odds are even.',
    'Look again.',
    '',
  ]);
});
