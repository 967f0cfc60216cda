import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { Refused, Unreachable } from '../api/client';
import type { Change, Changed, Project, ProjectState } from '../api/types';
import { apply, type Splice } from '../text/splice';
import { Sync, type Listener, type Remote, type Status } from './sync';

/** A shelf in memory that takes text changes as the program does, and can be out of reach or refuse. */
class Shelf implements Remote {
  revision = 1;
  text: string;
  fails: Error[] = [];
  batches: Change[][] = [];

  constructor(text: string) {
    this.text = text;
  }

  async change(base: number, changes: Change[]): Promise<Changed> {
    const failure = this.fails.shift();
    if (failure) throw failure;
    if (base !== this.revision) throw new Refused(409, 'someone was quicker', '');
    this.batches.push(changes);
    this.text = apply(
      this.text,
      changes.filter((change) => change.do === 'text'),
    );
    this.revision++;
    return { revision: this.revision, undo: 'typing', redo: null, view: null };
  }

  async fetch(): Promise<ProjectState> {
    return this.state();
  }

  state(): ProjectState {
    const project = {
      title: 'Rug',
      text: this.text,
      glossary: '',
      pages: [],
      source: {},
    } as unknown as Project;
    return { id: '1', revision: this.revision, undo: null, redo: null, project };
  }

  byAnotherWindow(splice: Splice): void {
    this.text = apply(this.text, [splice]);
    this.revision++;
  }
}

/** An editor that holds the text, and whatever else was told. */
class Desk implements Listener {
  statuses: Status[] = [];
  messages: string[] = [];
  title = '';
  constructor(public text: string) {}
  project(project: Project): void {
    this.title = project.title;
  }
  splices(_field: string, splices: Splice[]): void {
    this.text = apply(this.text, splices);
  }
  changed(): void {}
  history(): void {}
  status(status: Status): void {
    this.statuses.push(status);
  }
  refused(message: string): void {
    this.messages.push(message);
  }
}

const TEXT = '1st row.--P 1, M 1, P 1.';

function open() {
  const shelf = new Shelf(TEXT);
  const desk = new Desk(TEXT);
  const sync = new Sync(shelf.state(), shelf, desk);
  const type = (at: number, insert: string, remove = 0) => {
    desk.text = apply(desk.text, [{ at, remove, insert }]);
    sync.push([{ do: 'text', at, remove, insert }]);
  };
  return { shelf, desk, sync, type };
}

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

describe('typing', () => {
  it('goes out as one batch with one splice', async () => {
    const { shelf, desk, type } = open();
    [...'knit'].forEach((letter, i) => type(10 + i, letter));
    await vi.runAllTimersAsync();
    expect(shelf.batches).toEqual([[{ do: 'text', at: 10, remove: 0, insert: 'knit' }]]);
    expect(shelf.text).toBe(desk.text);
    expect(desk.statuses.at(-1)).toBe('kept');
  });

  it('is kept and sent again when the program cannot be reached', async () => {
    const { shelf, desk, type } = open();
    shelf.fails = [new Unreachable(), new Unreachable(), new Unreachable()];
    type(0, 'a');
    await vi.advanceTimersByTimeAsync(20);
    expect(desk.statuses.at(-1)).toBe('unreachable');
    type(1, 'b');
    await vi.runAllTimersAsync();
    expect(shelf.text).toBe(`ab${TEXT}`);
    expect(desk.statuses.at(-1)).toBe('kept');
  });

  it('waits where the program was started again and another tab brings its token a moment later', async () => {
    const { shelf, desk, type } = open();
    shelf.fails = [new Refused(401, 'The token is that of another start', '')];
    type(0, 'a');
    await vi.runAllTimersAsync();
    expect(shelf.text).toBe(`a${TEXT}`);
    expect(desk.messages).toEqual([]);
    expect(desk.statuses).toContain('unreachable');
    expect(desk.statuses.at(-1)).toBe('kept');
  });

  it('is carried over what another window wrote', async () => {
    const { shelf, desk, type } = open();
    shelf.byAnotherWindow({ at: 0, remove: 3, insert: 'First' });
    type(TEXT.length, ' Turn.');
    await vi.runAllTimersAsync();
    expect(shelf.text).toBe('First row.--P 1, M 1, P 1. Turn.');
    expect(desk.text).toBe(shelf.text);
  });

  it('made while a batch is on its way is not lost when that batch comes too late', async () => {
    const { shelf, desk, sync, type } = open();
    const change = shelf.change.bind(shelf);
    let delay = true;
    shelf.change = async (base, changes) => {
      if (delay) {
        delay = false;
        await new Promise((resolve) => setTimeout(resolve, 50));
        shelf.byAnotherWindow({ at: 0, remove: 0, insert: '*' });
      }
      return change(base, changes);
    };
    type(10, 'x');
    await vi.advanceTimersByTimeAsync(30);
    type(11, 'y');
    sync.receive({ ...shelf.state(), revision: 0 });
    await vi.runAllTimersAsync();
    expect(shelf.text).toBe(`*${apply(TEXT, [{ at: 10, remove: 0, insert: 'xy' }])}`);
    expect(desk.text).toBe(shelf.text);
  });
});

it('a change that the program refuses is given up, and the text is what the program has', async () => {
  const { shelf, desk, type } = open();
  shelf.fails = [new Refused(422, 'too long', '')];
  type(0, 'much');
  await vi.runAllTimersAsync();
  expect(desk.messages).toEqual(['too long']);
  expect(desk.text).toBe(TEXT);
});

it('a setting shows at once', () => {
  const { desk, sync } = open();
  sync.push([{ do: 'set', field: 'title', value: 'A Carriage Rug' }]);
  expect(desk.title).toBe('A Carriage Rug');
});

it('random edits from two windows leave both with one text', async () => {
  let state = 42;
  const next = (below: number): number => {
    state = (state * 1103515245 + 12345) % 2147483648;
    return Math.floor((state / 2147483648) * below);
  };
  for (let round = 0; round < 60; round++) {
    const { shelf, desk, sync, type } = open();
    for (let step = 0; step < 12; step++) {
      const at = next(desk.text.length);
      if (next(3) > 0) type(at, 'ab'.slice(next(2)), next(Math.min(4, desk.text.length - at + 1)));
      else shelf.byAnotherWindow({ at: next(shelf.text.length), remove: 0, insert: 'Z' });
      if (next(4) === 0) void sync.refresh();
      await vi.advanceTimersByTimeAsync(next(30));
    }
    await vi.runAllTimersAsync();
    await sync.refresh();
    expect(desk.text).toBe(shelf.text);
    expect(sync.text('text')).toBe(shelf.text);
  }
});
