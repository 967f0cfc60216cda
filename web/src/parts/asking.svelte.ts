// What the program says to what she says, asked for anew whenever that changes. Knows nothing of either.

import { said } from '../api/said';

/** How long to wait for the next figure of a number, in milliseconds. */
const PAUSE = 200;

/** A question of which only the newest is waited for. */
export class Asking<T> {
  answer = $state.raw<T | null>(null);
  message = $state('');

  /** `question` gives what to ask for by what is said now, or null where too little is said; to be made in a component. */
  constructor(question: () => (() => Promise<T>) | null) {
    $effect(() => {
      const ask = question();
      this.message = '';
      if (!ask) return void (this.answer = null);
      let current = true;
      const timer = setTimeout(() => {
        ask().then(
          (answer) => void (current && (this.answer = answer)),
          (error) => void (current && (this.message = said(error))),
        );
      }, PAUSE);
      return () => {
        current = false;
        clearTimeout(timer);
      };
    });
  }
}
