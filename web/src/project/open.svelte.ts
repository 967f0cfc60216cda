// The project that is open: what it says, what the program makes of it, and what is lit.
//
// One object for all places of a project. Components read its fields and call its methods; it alone talks to the
// program. Views come with positions in the text that they were made from; `here` gives them as the text reads now.

import { api } from '../api/client';
import { listen } from '../api/live';
import { said } from '../api/said';
import type {
  Change,
  ClothEvent,
  ClothInfo,
  Field,
  Gauge,
  NeedlesEvent,
  Project,
  ProjectState,
  Range,
  StateEvent,
  View,
} from '../api/types';
import { wellSet } from './doubts';
import { mapPosition, mapRange, type Splice } from '../text/splice';
import { Links, type Stitches } from './links';
import { Sync, type Status, type TextField } from './sync';

/** How long to wait for a view to come by itself before it is asked for, in milliseconds. */
const PATIENCE = 400;

/** Who lit something: the others scroll to it. */
export type Lighter = 'text' | 'rows' | 'chart' | 'cloth' | 'doubts' | 'search';

export class OpenProject {
  readonly id: string;
  readonly window = crypto.randomUUID();

  project: Project = $state.raw()!;
  view = $state.raw<View | null>(null);
  undoName = $state<string | null>(null);
  redoName = $state<string | null>(null);
  status = $state<Status>('kept');
  /** Why something was not done. */
  message = $state('');
  /** What the program told of the cloths when it had worked them out last. */
  cloths = $state.raw<ClothInfo[]>([]);

  lit = $state.raw<Stitches | null>(null);
  litBy = $state<Lighter>('text');
  /** Whether the other pages move to what is lit; they don't for a pointer that merely passes. */
  follow = $state(false);
  /** The doubt that stands open, by its key. */
  doubt = $state<string | null>(null);

  readonly links = $derived(this.view && new Links(this.view));

  readonly #sync: Sync;
  readonly #closed = new AbortController();
  readonly #editors = new Map<TextField, Set<(splices: Splice[]) => void>>();
  readonly #movers = new Set<(event: NeedlesEvent | null) => void>();
  /** What was done to the text since the view was made. */
  #drift: Splice[] = [];
  #history: Promise<void> = Promise.resolve();
  #patience: ReturnType<typeof setTimeout> | undefined;

  static async open(id: string): Promise<OpenProject> {
    return new OpenProject(await api.project(id));
  }

  private constructor(state: ProjectState) {
    this.id = state.id;
    this.project = state.project;
    this.undoName = state.undo;
    this.redoName = state.redo;
    this.#sync = new Sync(
      state,
      {
        change: (base, changes) => api.change(this.id, base, this.window, changes),
        fetch: () => api.project(this.id),
      },
      {
        project: (project) => void (this.project = project),
        splices: (field, splices) => this.#fromElsewhere(field, splices),
        changed: ({ view }) => (view ? this.#draw(view) : this.#awaitView()),
        history: (undo, redo) => {
          this.undoName = undo;
          this.redoName = redo;
        },
        status: (status) => void (this.status = status),
        refused: (message, help) => void (this.message = `${message} ${help}`),
      },
    );
    void listen(
      this.id,
      this.#closed.signal,
      () => void this.#catchUp(),
      (event, data) => this.#live(event, data),
    );
  }

  close(): void {
    clearTimeout(this.#patience);
    this.#closed.abort();
  }

  get unsent(): boolean {
    return this.#sync.unsent.length > 0;
  }

  get revision(): number {
    return this.#sync.revision;
  }

  /** A text as it reads now. */
  text(field: TextField): string {
    return this.#sync.text(field);
  }

  /** Tells an editor of splices that were not made in it; gives back how to stop. */
  listen(field: TextField, editor: (splices: Splice[]) => void): () => void {
    const editors = this.#editors.get(field) ?? new Set();
    this.#editors.set(field, editors.add(editor));
    return () => void editors.delete(editor);
  }

  /** Tells of moves at the needles, and of nothing when some may have been missed; gives back how to stop. */
  hearMoves(mover: (event: NeedlesEvent | null) => void): () => void {
    this.#movers.add(mover);
    return () => void this.#movers.delete(mover);
  }

  /** Takes splices that an editor has made. */
  edit(field: TextField, splices: Splice[]): void {
    this.message = '';
    if (field === 'text') this.#drift.push(...splices);
    this.#sync.push(splices.map((splice) => ({ do: field, ...splice })));
  }

  change(changes: Change[]): void {
    this.message = '';
    this.#sync.push(changes);
  }

  set(field: Field, value: string | number | Gauge | null): void {
    this.change([{ do: 'set', field, value }]);
  }

  /** Takes what the program has now, after something was done that is no change, such as adding a scan. */
  refresh(): Promise<void> {
    return this.#sync.refresh();
  }

  /** When everything that was changed here is kept. */
  settled(): Promise<void> {
    return this.#sync.settled();
  }

  undo(): void {
    this.#step(() => api.undo(this.id, this.window));
  }

  redo(): void {
    this.#step(() => api.redo(this.id, this.window));
  }

  /** A range of the view in the text as it reads now; null where its words are gone. */
  here(range: Range): Range | null {
    return mapRange(range, this.#drift);
  }

  /** A position of the text as it reads now in the text of the view. */
  there(position: number): number {
    return mapPosition(position, this.#drift.map(lengthsBack).reverse(), 1);
  }

  light(stitches: Stitches | null, by: Lighter, follow = true): void {
    this.follow = follow;
    const lit = this.lit;
    const same =
      lit && stitches
        ? lit.piece === stitches.piece &&
          lit.row === stitches.row &&
          lit.from === stitches.from &&
          lit.to === stitches.to
        : lit === stitches;
    if (same && !follow) return;
    this.litBy = by;
    this.lit = stitches;
  }

  /** Lights what the word at a position of the text made. */
  lightAt(position: number, follow: boolean): void {
    const there = this.there(position);
    const stitches = this.links?.at(there, this.lit ?? undefined) ?? this.links?.rowAt(there);
    if (stitches) this.light(stitches, 'text', follow);
  }

  /** Undo and redo come one after the other, and after all that was typed before. */
  #step(ask: () => Promise<ProjectState>): void {
    this.#history = this.#history.then(async () => {
      await this.#sync.settled();
      try {
        this.#sync.receive(await ask());
        this.#awaitView();
      } catch (error) {
        this.message = said(error);
      }
    });
  }

  #fromElsewhere(field: TextField, splices: Splice[]): void {
    if (field === 'text') this.#drift.push(...splices);
    for (const editor of this.#editors.get(field) ?? []) editor(splices);
  }

  #live(event: string, data: unknown): void {
    if (event === 'view') this.#draw(data as View);
    if (event === 'cloth') this.cloths = (data as ClothEvent).pieces;
    if (event === 'needles') for (const mover of this.#movers) mover(data as NeedlesEvent);
    if (event === 'state') {
      const { revision, window } = data as StateEvent;
      if (window !== this.window && revision > this.revision)
        void this.#sync.refresh().then(() => this.#awaitView());
    }
  }

  /** Draws a view, if it is of the newest revision and tells more than the one that stands. */
  #draw(view: View): void {
    if (view.revision !== this.revision) return;
    if (this.view?.revision === view.revision && this.view.searched && !view.searched) return;
    clearTimeout(this.#patience);
    this.#drift = this.#sync.local('text');
    this.view = { ...view, doubts: view.doubts.map(wellSet) };
  }

  #awaitView(): void {
    clearTimeout(this.#patience);
    this.#patience = setTimeout(() => void this.#askView(), PATIENCE);
  }

  async #askView(): Promise<void> {
    const view = await api.view(this.id).catch(() => null);
    if (view) this.#draw(view);
  }

  async #catchUp(): Promise<void> {
    for (const mover of this.#movers) mover(null);
    await this.#sync.refresh();
    if (!this.view?.searched || this.view.revision !== this.revision) await this.#askView();
  }
}

/** A splice that takes lengths back; what the text said before does not matter to positions. */
function lengthsBack({ at, remove, insert }: Splice): Splice {
  return { at, remove: insert.length, insert: ' '.repeat(remove) };
}
