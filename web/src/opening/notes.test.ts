import { describe, expect, it } from 'vitest';
import { spaced } from './notes';

describe('notes in the margin', () => {
  it('stand level with their lines where there is room', () => {
    expect(spaced([0, 100, 200], [20, 20, 20], -1, 8)).toEqual([0, 100, 200]);
  });

  it('are pushed down where lines are close', () => {
    expect(spaced([10, 15, 20], [20, 20, 20], -1, 8)).toEqual([10, 38, 66]);
  });

  it('make room above for the active one', () => {
    expect(spaced([100, 110, 120], [20, 20, 200], 2, 8)).toEqual([64, 92, 120]);
  });

  it('never stand above the page', () => {
    const tops = spaced([0, 5, 10], [50, 50, 50], 2, 8);
    expect(tops[0]).toBe(0);
    expect(tops).toEqual([0, 58, 116]);
  });
});
