// The program and the browser that all tests of a file share.

import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import { afterAll, beforeAll } from 'vitest';
import { browser, openWindow, Program, projectId, visit, type Window } from './program';

export class Stage {
  readonly program = new Program();
  #browser: Browser | undefined;

  /** To be made at the top of a file; the program is started with these arguments. */
  constructor(...args: string[]) {
    beforeAll(async () => {
      await this.program.start(...args);
      this.#browser = await browser();
    });
    afterAll(async () => {
      await this.#browser?.close();
      await this.program.clear();
    });
  }

  get browser(): Browser {
    if (!this.#browser) throw new Error('the browser is there within tests only');
    return this.#browser;
  }

  open(options: BrowserContextOptions = {}): Promise<Window> {
    return openWindow(this.browser, this.program, options);
  }
}

/** Pastes an old text, has it read, and gives back the id of its project. */
export async function bringIn(page: Page, text: string): Promise<string> {
  await visit(page, '#/new');
  await page.getByLabel('The old text').fill(text);
  await page.getByRole('button', { name: 'Read it' }).click();
  await page.locator('.cm-content').waitFor();
  return projectId(page);
}
