import { describe, expect, it } from 'vitest';
import { apply, cross, difference, joined, mapPosition, mapRange, type Splice } from './splice';

/** A small generator with a fixed seed, so that a failure comes again. */
function random(seed: number): (below: number) => number {
  let state = seed;
  return (below) => {
    state = (state * 1103515245 + 12345) % 2147483648;
    return Math.floor((state / 2147483648) * below);
  };
}

function someSplices(text: string, count: number, letters: string, next: (below: number) => number): Splice[] {
  const splices: Splice[] = [];
  for (let made = 0; made < count; made++) {
    const at = next(text.length + 1);
    const remove = next(Math.min(6, text.length - at + 1));
    const insert = Array.from({ length: next(4) }, () => letters[next(letters.length)]).join('');
    splices.push({ at, remove, insert });
    text = apply(text, splices.slice(-1));
  }
  return splices;
}

describe('two lists of splices from the same text', () => {
  it('give the same text in either order', () => {
    const next = random(1858);
    for (let round = 0; round < 3000; round++) {
      const text = 'P 1, M 1, K 1, M 1, P 1.'.slice(0, next(25));
      const local = someSplices(text, next(5), 'abc', next);
      const remote = someSplices(text, next(5), 'XYZ', next);
      const crossed = cross(local, remote);
      expect(apply(apply(text, remote), crossed.local)).toBe(apply(apply(text, local), crossed.remote));
    }
  });

  it('keep the words of both where they insert at one place, the remote ones first', () => {
    const crossed = cross([{ at: 2, remove: 0, insert: 'here' }], [{ at: 2, remove: 0, insert: 'there' }]);
    expect(apply(apply('K P', [{ at: 2, remove: 0, insert: 'there' }]), crossed.local)).toBe('K therehereP');
  });

  it('keep what the other window wrote into a sentence that was removed here', () => {
    const remote = [{ at: 5, remove: 0, insert: 'NEW' }];
    const crossed = cross([{ at: 2, remove: 6, insert: '' }], remote);
    expect(apply(apply('0123456789', remote), crossed.local)).toBe('01NEW89');
  });
});

describe('the difference of two texts', () => {
  it('leads from one to the other', () => {
    const next = random(14);
    for (let round = 0; round < 1000; round++) {
      const before = 'knit 2, purl 2, knit 2'.slice(next(5), 22 - next(5));
      const after = apply(before, someSplices(before, 2, 'k2', next));
      const splice = difference(before, after);
      expect(splice ? apply(before, [splice]) : before).toBe(after);
    }
  });

  it('does not part the halves of a character', () => {
    const splice = difference('a\u{1F9F6}b', 'a\u{1F9F5}b');
    expect(splice).toEqual({ at: 1, remove: 2, insert: '\u{1F9F5}' });
  });

  it('is nothing where the texts are the same', () => {
    expect(difference('P 1', 'P 1')).toBeNull();
  });
});

describe('joined splices', () => {
  it('make one of letters typed one after another', () => {
    const typed = [...'knit'].map((insert, i) => ({ at: 4 + i, remove: 0, insert }));
    expect(joined(typed)).toEqual([{ at: 4, remove: 0, insert: 'knit' }]);
  });

  it('make one of letters rubbed out backwards', () => {
    const rubbed = [7, 6, 5].map((at) => ({ at, remove: 1, insert: '' }));
    expect(joined(rubbed)).toEqual([{ at: 5, remove: 3, insert: '' }]);
  });

  it('change nothing in what they do', () => {
    const next = random(77);
    for (let round = 0; round < 2000; round++) {
      const text = 'slip 1, K 1, pass over';
      const splices = someSplices(text, next(8), 'xyz', next);
      expect(apply(text, joined(splices))).toBe(apply(text, splices));
    }
  });
});

describe('positions', () => {
  const insertion = [{ at: 4, remove: 0, insert: 'ab' }];
  const removal = [{ at: 4, remove: 3, insert: 'x' }];

  it('stand still before a splice and move after it', () => {
    expect(mapPosition(3, insertion, 1)).toBe(3);
    expect(mapPosition(5, insertion, 1)).toBe(7);
    expect(mapPosition(7, removal, 1)).toBe(5);
  });

  it('go to the side asked for', () => {
    expect(mapPosition(4, insertion, -1)).toBe(4);
    expect(mapPosition(4, insertion, 1)).toBe(6);
    expect(mapPosition(5, removal, -1)).toBe(4);
    expect(mapPosition(5, removal, 1)).toBe(5);
  });

  it('leave no range of removed words', () => {
    expect(mapRange([4, 7], [{ at: 3, remove: 5, insert: '' }])).toBeNull();
    expect(mapRange([4, 7], insertion)).toEqual([6, 9]);
    expect(mapRange([2, 4], insertion)).toEqual([2, 4]);
  });
});
