import { describe, expect, it } from 'vitest';
import type { Change, Doubt, Option } from '../api/types';
import { after, changesOf, inOrder, isOpen, isRemark } from './doubts';

const change = (answer: string): Change[] => [{ do: 'answer', question: 'P', answer }];
const option = (label: string, chosen = false): Option => ({ label, chosen, change: change(label), cost: null, rows: [] });

const doubt = (key: string, at: number | null, parts: Partial<Doubt> = {}): Doubt => ({
  key, at: at === null ? null : [at, at + 3], kind: 'correction', place: '', title: key, why: '', printed: null,
  options: [option('read 5'), option('read 6'), option('as printed')],
  state: 'open', piece: null, row: null, sure: false, ...parts,
});

describe('keys at a correction', () => {
  it('a takes the best reading, or the one in force', () => {
    expect(changesOf(doubt('c', 1), 'a')).toEqual(change('read 5'));
    const second = doubt('c', 1, { options: [option('read 5'), option('read 6', true), option('as printed')] });
    expect(changesOf(second, 'a')).toEqual(change('read 6'));
  });

  it('a takes the best reading where the print was left before', () => {
    const left = doubt('c', 1, { options: [option('read 5'), option('as printed', true)], state: 'refused' });
    expect(changesOf(left, 'a')).toEqual(change('read 5'));
  });

  it('r leaves the print as it stands', () => {
    expect(changesOf(doubt('c', 1), 'r')).toEqual(change('as printed'));
  });

  it('a number picks', () => {
    expect(changesOf(doubt('c', 1), '2')).toEqual(change('read 6'));
    expect(changesOf(doubt('c', 1), '9')).toBeNull();
    expect(changesOf(doubt('c', 1), 'x')).toBeNull();
  });
});

describe('keys at a choice', () => {
  const choice = doubt('p', 1, { kind: 'choice', options: [option('purl', true), option('plain')] });

  it('a keeps the answer in force, r takes the other', () => {
    expect(changesOf(choice, 'a')).toEqual(change('purl'));
    expect(changesOf(choice, 'r')).toEqual(change('plain'));
  });

  it('r is no answer where there are more than two', () => {
    const many = { ...choice, options: [...choice.options, option('twisted')] };
    expect(changesOf(many, 'r')).toBeNull();
  });
});

it('a fault has no readings, and no key changes anything', () => {
  const fault = doubt('f', 1, { kind: 'fault', options: [] });
  expect(isRemark(fault)).toBe(false);
  expect(isOpen(fault)).toBe(true);
  expect(changesOf(fault, 'a')).toBeNull();
  expect(changesOf(fault, 'r')).toBeNull();
});

it('words that were passed over are remarks, and never open', () => {
  const unread = doubt('u', 1, { kind: 'unread', options: [] });
  expect(isRemark(unread)).toBe(true);
  expect(isOpen(unread)).toBe(false);
});

it('doubts stand in the order of the text, those without a place last', () => {
  expect(inOrder([doubt('c', 9), doubt('n', null), doubt('a', 2)]).map(({ key }) => key)).toEqual(['a', 'c', 'n']);
});

it('after a doubt went away the next open one stands in its place', () => {
  const doubts = [doubt('a', 2), doubt('b', 5, { state: 'taken' }), doubt('c', 9)];
  expect(after(doubts, 'gone', 4)?.key).toBe('c');
  expect(after(doubts, 'gone', 20)?.key).toBe('a');
  expect(after(doubts, 'b', 0)?.key).toBe('b');
});
