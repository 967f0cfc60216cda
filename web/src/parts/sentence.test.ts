import { expect, it } from 'vitest';
import { parts } from './sentence';

it('a sentence is its words and its blanks, and marks stay with what they stand behind', () => {
  expect(parts('{change} {changes} times, in {worked}.')).toEqual([
    { blank: 'change', marks: '' },
    { words: ' ' },
    { blank: 'changes', marks: '' },
    { words: ' times, in ' },
    { blank: 'worked', marks: '.' },
  ]);
  expect(parts('Turned by {turn}° or not')).toEqual([
    { words: 'Turned by ' },
    { blank: 'turn', marks: '°' },
    { words: ' or not' },
  ]);
});
