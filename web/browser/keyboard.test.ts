// Everything by keyboard alone: from the shelf to a decided doubt, and back by undo.

import type { Page } from 'playwright-core';
import { expect, it } from 'vitest';
import { PATTERN } from './pattern';
import { visit } from './program';
import { Stage } from './stage';

const stage = new Stage();

/** Presses Tab until something of that name has the focus. */
async function tabTo(page: Page, name: RegExp): Promise<void> {
  for (let press = 0; press < 60; press++) {
    await page.keyboard.press('Tab');
    const focused = await page.evaluate(
      () => document.activeElement?.getAttribute('aria-label') ?? document.activeElement?.textContent ?? '',
    );
    if (name.test(focused.trim())) return;
  }
  throw new Error(`no way to ${name} by Tab`);
}

const focused = (page: Page) => page.evaluate(() => document.activeElement?.textContent?.trim() ?? '');

/** Holds back all that waits for the next frame, as a busy machine does. */
async function heldFrames(page: Page): Promise<{ letGo(): Promise<void> }> {
  const held = await page.evaluateHandle(() => {
    const ask = window.requestAnimationFrame;
    const waiting: FrameRequestCallback[] = [];
    window.requestAnimationFrame = (callback) => waiting.push(callback);
    return { ask, waiting };
  });
  return {
    letGo: () =>
      held.evaluate(({ ask, waiting }) => {
        window.requestAnimationFrame = ask;
        waiting.forEach((callback) => ask.call(window, callback));
      }),
  };
}

it('a pattern is brought in, read, walked through, decided and undone', async () => {
  const { context, page, troubles } = await stage.open();

  await tabTo(page, /^New pattern$/);
  await page.keyboard.press('Enter');
  await page.getByLabel('The old text').waitFor();
  await page.keyboard.insertText(PATTERN);
  await tabTo(page, /^Read it$/);
  await page.keyboard.press('Enter');
  await page.locator('[data-place="0.7"]').waitFor();

  // Between the pages, and along the rows.
  await page.keyboard.press('F6');
  await page.keyboard.press('ArrowDown');
  await page.keyboard.press('ArrowDown');
  expect(await focused(page)).toContain('K3, yo, k2tog, k1, yo, k2');
  expect(await page.locator('.cm-content .lit').first().textContent()).toContain('3rd row');
  await page.keyboard.press('g');
  await page.keyboard.type('7');
  await page.keyboard.press('Enter');
  expect(await page.locator('.rows li.lit .written').textContent()).toBe('K3, yo, k2tog, k5');

  // Through the notes: next, next, into the note, pick the first reading.
  await page.keyboard.press('F6');
  await page.locator('.cm-editor.cm-focused').waitFor();
  while (
    !(
      await page
        .locator('.margin li.active .title')
        .textContent({ timeout: 500 })
        .catch(() => '')
    )?.includes('perhaps a misprint')
  ) {
    await page.keyboard.press('Alt+ArrowDown');
  }
  const frames = await heldFrames(page);
  await page.keyboard.press('Control+.');
  expect(await focused(page)).toContain('perhaps a misprint');
  await frames.letGo();
  await tabTo(page, /Read “knit 2” for “knit 3”/);
  await page.keyboard.press('Enter');
  await page.locator('.rows .fault').first().waitFor({ state: 'detached' });
  await page.keyboard.press('Control+z');
  await page.locator('.rows .fault').first().waitFor();

  // The list of doubts, with single keys.
  await visit(page, `${new URL(page.url()).hash.split('/page')[0]}/doubts`);
  await page.locator('article').first().waitFor();
  while (!(await page.locator('article.active').textContent())?.includes('perhaps a misprint'))
    await page.keyboard.press('j');
  await page.keyboard.press('a');
  await page.locator('article.active .kind', { hasText: 'accepted' }).waitFor();
  await page.keyboard.press('r');
  await page.locator('article .kind', { hasText: 'refused' }).waitFor();
  await page.keyboard.press('Control+z');
  await page.locator('article .kind', { hasText: 'accepted' }).waitFor();
  expect(troubles).toEqual([]);
  await context.close();
});

it('what has the focus can be seen', async () => {
  const { context, page } = await stage.open();
  await page.locator('article').first().waitFor();
  const outlines: string[] = [];
  for (let press = 0; press < 8; press++) {
    await page.keyboard.press('Tab');
    const outline = await page.evaluate(
      () =>
        document.activeElement !== document.body && getComputedStyle(document.activeElement!).outlineStyle,
    );
    if (outline) outlines.push(outline);
  }
  expect(outlines.length).toBeGreaterThan(5);
  expect(new Set(outlines)).toEqual(new Set(['solid']));
  await context.close();
});
