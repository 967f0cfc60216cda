// Where she is at the needles: one place in each piece, moved here at once and kept by the program right after.
//
// Moves, and moves taken back, are sent one after the other. While the program is away they wait, and are sent when it is back; what another
// window did meanwhile is told by the program and taken up when nothing waits.

import { api, Refused } from '../api/client';
import { said } from '../api/said';
import type { Along, AlongPiece, Needles, Place } from '../api/types';
import type { OpenProject } from '../project/open.svelte';
import type { Status } from '../project/sync';
import { place, spot, start, type Spot } from './spots';

/** What is sent: a place to go to, or a move taken back or made again. */
type Step = Place | 'undo' | 'redo';

/** How long after a failure the moves are sent again, in milliseconds. */
const AGAIN = 1500;

export class AtNeedles {
  along = $state.raw<Along | null>(null);
  spots = $state.raw<Spot[]>([]);
  index = $state(0);
  undo = $state(false);
  redo = $state(false);
  status = $state<Status>('kept');
  message = $state('');

  readonly piece: AlongPiece | undefined = $derived(this.along?.pieces[this.index]);
  readonly spot: Spot = $derived(this.spots[this.index] ?? start());
  readonly row = $derived(this.piece?.rows[this.spot.row - 1]);

  readonly #waiting: Step[] = [];
  /** Where each of the moves began that the program has not told of, so that they can be taken back at once. */
  readonly #begun: { index: number; spot: Spot }[] = [];
  #sending = false;
  #needles: Needles | null = null;
  #retry: ReturnType<typeof setTimeout> | undefined;
  readonly #stop: () => void;

  constructor(private readonly project: OpenProject) {
    this.#stop = project.hearMoves((event) => {
      if (!event) void this.#catchUp();
      else if (event.window !== project.window) this.#take(event.needles);
    });
    void this.#ask();
  }

  /** Hears nothing more; what waits is still sent. */
  close(): void {
    this.#stop();
  }

  /** Whether the rows and the places in them are there. */
  get ready(): boolean {
    return this.spots.length > 0;
  }

  get unsent(): boolean {
    return this.#waiting.length > 0;
  }

  /** Takes up the rows as they are now; places are found in them anew. */
  async load(): Promise<void> {
    try {
      this.along = await api.along(this.project.id);
      this.message = '';
      this.#settle();
    } catch (error) {
      // Rows that are there are still good to work by.
      if (!this.along) this.message = said(error);
    }
  }

  /** Goes to a spot of the piece that she works at. */
  go(to: Spot): void {
    const here = this.spot;
    if (!this.piece || (to.row === here.row && to.group === here.group && to.time === here.time)) return;
    this.#move(this.index, to);
  }

  /** Goes to a place that the program told. */
  goTo(to: Place): void {
    const piece = this.along?.pieces[to.piece];
    if (piece) this.#move(to.piece, spot(piece, to));
  }

  /** Takes up another piece, where it was left. */
  take(index: number): void {
    if (index !== this.index) this.#move(index, this.spots[index] ?? start());
  }

  step(which: 'undo' | 'redo'): void {
    if (!this[which]) return;
    this[which === 'undo' ? 'redo' : 'undo'] = true;
    const begun = which === 'undo' ? this.#begun.pop() : undefined;
    if (begun) this.#show(begun.index, begun.spot);
    this.#put(which);
  }

  #move(index: number, to: Spot): void {
    const piece = this.along?.pieces[index];
    if (!piece || !this.ready) return;
    this.#begun.push({ index: this.index, spot: this.spot });
    this.#show(index, to);
    [this.undo, this.redo] = [true, false];
    this.#put(place(index, piece, to));
  }

  #show(index: number, to: Spot): void {
    this.index = index;
    this.spots = this.spots.with(index, to);
  }

  #put(step: Step): void {
    this.message = '';
    this.#waiting.push(step);
    void this.#send();
  }

  #post(step: Step): Promise<Needles> {
    const { id, window } = this.project;
    if (step === 'undo') return api.undoMove(id, window);
    if (step === 'redo') return api.redoMove(id, window);
    return api.move(id, window, step);
  }

  async #send(): Promise<void> {
    if (this.#sending) return;
    this.#sending = true;
    clearTimeout(this.#retry);
    while (this.#waiting.length > 0) {
      if (this.status === 'kept') this.status = 'sending';
      try {
        const needles = await this.#post(this.#waiting[0]!);
        this.#waiting.shift();
        if (this.#waiting.length === 0) this.#take(needles);
      } catch (error) {
        if (error instanceof Refused && !error.atTheDoor) {
          this.#waiting.length = 0;
          this.message = said(error);
          void this.#ask();
          break;
        }
        this.status = 'unreachable';
        this.#sending = false;
        this.#retry = setTimeout(() => void this.#send(), AGAIN);
        return;
      }
    }
    this.status = 'kept';
    this.#sending = false;
  }

  async #catchUp(): Promise<void> {
    await this.#ask();
    if (this.message !== '' && !this.along) await this.load();
  }

  async #ask(): Promise<void> {
    const needles = await api.needles(this.project.id).catch(() => null);
    if (needles) this.#take(needles);
  }

  #take(needles: Needles): void {
    if (this.unsent) return;
    this.#needles = needles;
    this.#settle();
  }

  #settle(): void {
    const [along, needles] = [this.along, this.#needles];
    if (!along || !needles || this.unsent) return;
    this.#begun.length = 0;
    const places = new Map(needles.places.map((one) => [one.piece, one]));
    this.spots = along.pieces.map((piece, index) => spot(piece, places.get(index)));
    this.index = Math.min(needles.places.at(-1)?.piece ?? 0, Math.max(0, along.pieces.length - 1));
    [this.undo, this.redo] = [needles.undo, needles.redo];
  }
}
