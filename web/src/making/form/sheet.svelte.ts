// The plan as a form: read from its text whenever that changes elsewhere, and written into it at every change.
//
// The text is what is kept. Knows nothing of how the form looks.

import { api } from '../../api/client';
import { said } from '../../api/said';
import type { PlanForm, Refusal } from '../../api/types';
import type { OpenProject } from '../../project/open.svelte';

export class PlanSheet {
  form = $state.raw<PlanForm | null>(null);
  /** Why the text is no plan. */
  problem = $state.raw<Refusal | null>(null);

  /** The text that the form shows. */
  #shown: string | null = null;
  #writing: Promise<void> = Promise.resolve();
  #unwritten = 0;

  /** To be made in a component. */
  constructor(private readonly project: OpenProject) {
    $effect(() => {
      const text = project.project.plan;
      if (text !== this.#shown && this.#unwritten === 0) void this.#read(text);
    });
  }

  /** Changes the form, and the text with it. */
  change(change: (form: PlanForm) => PlanForm): void {
    if (!this.form) return;
    const form = (this.form = change(this.form));
    this.#unwritten += 1;
    this.#writing = this.#writing.then(() => this.#write(form));
  }

  async #read(text: string): Promise<void> {
    this.#shown = text;
    const current = (): boolean => this.#shown === text && this.#unwritten === 0;
    try {
      const { form, problem } = await api.planForm(this.project.id, text);
      if (current()) [this.form, this.problem] = [form, problem];
    } catch (error) {
      if (current()) this.project.message = said(error);
    }
  }

  async #write(form: PlanForm): Promise<void> {
    try {
      const { text } = await api.planText(this.project.id, form, this.project.project.plan);
      this.#shown = text;
      this.project.set('plan', text);
    } catch (error) {
      this.#shown = null;
      this.project.message = said(error);
    } finally {
      this.#unwritten -= 1;
    }
  }
}
