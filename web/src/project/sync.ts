// Keeps the page and the shelf in step: what was changed here goes out, what was changed elsewhere comes in.
//
// Changes made here hold at once, and those of one turn of the page go out as one batch. While it is on its way, more
// wait in `pending`; so quick typing makes few requests. Where another window was quicker, the project is fetched anew
// and the waiting splices are carried over the other window's. Where the program cannot be reached, they wait, and are
// sent again.
// Knows nothing of screens; everything it tells goes through `Listener`.

import { Refused } from '../api/client';
import type { Change, Changed, Project, ProjectState } from '../api/types';
import { apply, cross, difference, joined, type Splice } from '../text/splice';

/** How long to wait before trying again, in milliseconds, and the longest of these waits. */
const RETRY = 600;
const LONGEST_RETRY = 5000;

export type TextField = 'text' | 'glossary';
export type Status = 'kept' | 'sending' | 'unreachable';

/** How the program is asked; `api` in the app, something smaller in tests. */
export interface Remote {
  change(base: number, changes: Change[]): Promise<Changed>;
  fetch(): Promise<ProjectState>;
}

/** Who is told. */
export interface Listener {
  /** The project as it reads here, the texts left out. */
  project(project: Project): void;
  /** Someone else's splices, as they read in the text that stands here. */
  splices(field: TextField, splices: Splice[]): void;
  /** The program answered a batch. */
  changed(answer: Changed): void;
  /** The names of the next undo and redo. */
  history(undo: string | null, redo: string | null): void;
  status(status: Status): void;
  /** Changes that the program would not take; they were given up. */
  refused(message: string, help: string): void;
}

export class Sync {
  #revision: number;
  /** The project as the program has it. */
  #stored: Project;
  #sent: Change[] = [];
  #pending: Change[] = [];
  #timer: ReturnType<typeof setTimeout> | undefined;
  #retry = RETRY;
  #reached = true;
  #busy = false;
  /** A newer state that came while a batch was on its way. */
  #newer: ProjectState | undefined;
  #idle: (() => void)[] = [];

  constructor(
    state: ProjectState,
    private readonly remote: Remote,
    private readonly listener: Listener,
  ) {
    this.#revision = state.revision;
    this.#stored = state.project;
  }

  get revision(): number {
    return this.#revision;
  }

  /** The changes that the program has not acknowledged. */
  get unsent(): Change[] {
    return [...this.#sent, ...this.#pending];
  }

  /** A text as it reads here. */
  text(field: TextField): string {
    return apply(this.#stored[field], this.local(field));
  }

  /** The splices made here that the program has not acknowledged. */
  local(field: TextField): Splice[] {
    return this.unsent.flatMap((change) => (change.do === field ? [plain(change)] : []));
  }

  /** Takes changes made here. Settings show at once; the texts are the editors' affair. */
  push(changes: Change[]): void {
    this.#pending.push(...changes);
    if (changes.some((change) => change.do !== 'text' && change.do !== 'glossary')) this.#tellProject();
    this.listener.status(this.#reached ? 'sending' : 'unreachable');
    this.#schedule(this.#reached ? 0 : this.#retry);
  }

  /** Takes a newer state of the project, from an undo or from another window. */
  receive(state: ProjectState): void {
    if (this.#busy) this.#newer = state;
    else this.#take(state);
  }

  /** Sends what waits, then fetches the project and takes what is newer. */
  async refresh(): Promise<void> {
    await this.settled();
    this.receive(await this.remote.fetch());
  }

  /** When everything made here has been acknowledged or given up. */
  async settled(): Promise<void> {
    if (!this.#busy && this.#pending.length === 0) return;
    this.#schedule(0);
    await new Promise<void>((resolve) => this.#idle.push(resolve));
  }

  #take(state: ProjectState): void {
    if (state.revision <= this.#revision) return;
    const before = this.#stored;
    this.#stored = state.project;
    this.#revision = state.revision;
    for (const field of ['text', 'glossary'] as const) this.#carry(field, before[field]);
    this.listener.history(state.undo, state.redo);
    this.#tellProject();
  }

  #schedule(wait: number): void {
    if (this.#busy) return;
    clearTimeout(this.#timer);
    if (wait === 0) queueMicrotask(() => void this.#flush());
    else this.#timer = setTimeout(() => void this.#flush(), wait);
  }

  async #flush(): Promise<void> {
    if (this.#busy || this.#pending.length === 0) return;
    this.#busy = true;
    this.#sent = joinTyping(this.#pending);
    this.#pending = [];
    try {
      this.#acknowledge(await this.remote.change(this.#revision, this.#sent));
    } catch (error) {
      await this.#failed(error);
    } finally {
      this.#busy = false;
    }
    if (this.#newer) this.#take(this.#newer);
    this.#newer = undefined;
    if (this.#pending.length > 0) this.#schedule(this.#reached ? 0 : this.#retry);
    else this.#settle();
  }

  #acknowledge(answer: Changed): void {
    this.#stored = this.#sent.reduce(applied, this.#stored);
    this.#sent = [];
    this.#revision = answer.revision;
    this.#reached = true;
    this.#retry = RETRY;
    this.listener.changed(answer);
    this.listener.history(answer.undo, answer.redo);
  }

  /** Puts the batch back in the queue and finds out what to do with it. */
  async #failed(error: unknown): Promise<void> {
    this.#pending = [...this.#sent, ...this.#pending];
    this.#sent = [];
    if (!(error instanceof Refused) || error.status >= 500 || error.atTheDoor) return this.#wait();
    try {
      const state = await this.remote.fetch();
      if (error.status !== 409) this.#giveUp(state, error);
      else if (state.revision > this.#revision) this.#take(state);
      else this.#wait();
    } catch {
      this.#wait();
    }
  }

  /** Drops what the program refuses, and puts the texts back to what it has. */
  #giveUp(state: ProjectState, error: Refused): void {
    for (const field of ['text', 'glossary'] as const) {
      const back = difference(this.text(field), state.project[field]);
      if (back) this.listener.splices(field, [back]);
    }
    this.#pending = [];
    this.#stored = state.project;
    this.#revision = state.revision;
    this.listener.history(state.undo, state.redo);
    this.#tellProject();
    this.listener.refused(error.message, error.help);
  }

  #wait(): void {
    if (!this.#reached) this.#retry = Math.min(this.#retry * 2, LONGEST_RETRY);
    this.#reached = false;
    this.listener.status('unreachable');
  }

  #settle(): void {
    this.listener.status('kept');
    for (const resolve of this.#idle.splice(0)) resolve();
  }

  /** Carries the waiting splices over what someone else did to the text, and tells the editors of that. */
  #carry(field: TextField, before: string): void {
    const splice = difference(before, this.#stored[field]);
    if (!splice) return;
    let remote = [splice];
    this.#pending = this.#pending.flatMap((change) => {
      if (change.do !== field) return [change];
      const crossed = cross([change], remote);
      remote = crossed.remote;
      return crossed.local.map((splice) => ({ do: field, ...plain(splice) }));
    });
    this.listener.splices(field, remote);
  }

  #tellProject(): void {
    this.listener.project(this.unsent.reduce(applied, this.#stored));
  }
}

/** The project after a change. What only the program can work out, such as rulings, waits for its answer. */
function applied(project: Project, change: Change): Project {
  switch (change.do) {
    case 'text':
    case 'glossary':
      return { ...project, [change.do]: apply(project[change.do], [change]) };
    case 'set':
      return change.field.startsWith('source.')
        ? { ...project, source: { ...project.source, [change.field.slice(7)]: change.value } }
        : { ...project, [change.field]: change.value };
    case 'remove_page':
      return { ...project, pages: project.pages.filter(({ page }) => page !== change.page) };
    default:
      return project;
  }
}

/** Joins neighbouring splices of one text. */
function joinTyping(changes: Change[]): Change[] {
  const out: Change[] = [];
  for (const change of changes) {
    const last = out.at(-1);
    if (last && (change.do === 'text' || change.do === 'glossary') && last.do === change.do) {
      const both = joined([last, change]).map((splice) => ({ do: change.do, ...plain(splice) }));
      out.splice(-1, 1, ...both);
    } else out.push(change);
  }
  return out;
}

function plain({ at, remove, insert }: Splice): Splice {
  return { at, remove, insert };
}
