// The whole path: paste, fix, choose, chart, cloth, export, and undo after a restart.

import { readFileSync } from 'node:fs';
import type { Page } from 'playwright-core';
import { expect, it } from 'vitest';
import { PATTERN } from './pattern';
import { projectId, visit } from './program';
import { bringIn, Stage } from './stage';

const stage = new Stage();

const row = (page: Page, label: string) =>
  page.locator('.rows li', { has: page.locator('.name', { hasText: new RegExp(` ${label}$`) }) });

/** Presses a button and gives back the path of the file that comes of it. */
async function download(page: Page, button: string): Promise<string> {
  const [taken] = await Promise.all([
    page.waitForEvent('download'),
    page.getByRole('button', { name: button }).click(),
  ]);
  return taken.path();
}

/** A picture of one white point. */
const PICTURE = Buffer.from(
  'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGP4DwABAQEAWc+1MQAAAABJRU5ErkJggg==',
  'base64',
);

it('from the pasted text to the booklet, and back after a restart', async () => {
  const { page, context, troubles } = await stage.open();

  await bringIn(page, PATTERN);
  await row(page, '8').waitFor();
  expect(await row(page, '1').textContent()).toContain('K3, yo, k2tog, yo, k2');
  expect(await row(page, '5').locator('.fault').textContent()).toContain('takes 10 stitches');

  // Fix: the search has found what may be misprinted; the first reading is taken from its note in the margin.
  await page.getByRole('button', { name: /row 5: perhaps a misprint/i }).click();
  const note = page.locator('.margin li.active');
  await note.getByRole('button', { name: 'Read “knit 2” for “knit 3”', exact: true }).click();
  await page.locator('.rows .fault').first().waitFor({ state: 'detached' });
  expect(await row(page, '5').locator('.written').textContent()).toBe('K3, yo, k2tog, k2, yo, k2');

  // What a reading changes is shown in rows, chart and cloth.
  await page.getByRole('link', { name: /^Doubts/ }).click();
  await page.locator('.compared .differs').first().waitFor();
  await page.getByRole('img', { name: 'cloth, with this reading' }).waitFor();
  expect(await page.locator('.compared .chart').count()).toBe(2);
  await page.getByRole('link', { name: 'The page' }).click();

  // A word typed into the text goes through to the rows.
  await page.getByLabel('Transcription of the old text').click();
  await page.keyboard.press('Control+End');
  await page.keyboard.type('\n9th row.--Knit 7.\n');
  await row(page, '9').waitFor();

  // Choose: the other sense of a term.
  await page.getByRole('link', { name: 'Notation' }).click();
  await page.getByLabel(/Read it as: make 1/i).selectOption({ label: 'Make 1 without a hole' });
  await page.getByText('chosen by you').waitFor();
  await page.getByLabel(/Read it as: make 1/i).selectOption('');
  await page.getByText('chosen by you').waitFor({ state: 'detached' });

  // Chart: one row's squares light with the words that made them.
  await page.getByRole('link', { name: 'The page' }).click();
  await page.getByRole('link', { name: 'Chart', exact: true }).click();
  await page.locator('.plate svg').waitFor();
  await page.getByLabel('Go to a row').fill('3');
  await page.keyboard.press('Enter');
  await page.locator('.lit-stitch').first().waitFor();
  expect(await page.locator('.lit-stitch').count()).toBe(9);
  expect((await page.locator('.cm-content .lit').allTextContents()).join('')).toMatch(/^3rd row.--Knit 3/);
  await page.getByRole('button', { name: 'Wrong side' }).click();
  await page.locator('.plate svg desc', { hasText: 'from the wrong side' }).waitFor({ state: 'attached' });

  // Cloth: something is drawn.
  await page.getByRole('link', { name: 'Cloth', exact: true }).click();
  await page.locator('.frame canvas:not(.idle)').waitFor();
  await page.waitForFunction(() => {
    const canvas = document.querySelector<HTMLCanvasElement>('.frame canvas')!;
    const small = Object.assign(document.createElement('canvas'), { width: 64, height: 64 });
    const context = small.getContext('2d')!;
    context.drawImage(canvas, 0, 0, 64, 64);
    const drawn = context
      .getImageData(0, 0, 64, 64)
      .data.filter((value, i) => i % 4 === 3 && value > 0).length;
    return drawn > 200;
  });

  // Export.
  await page.getByRole('link', { name: 'Booklet' }).click();
  await page.getByLabel('Yarn', { exact: true }).fill('Four-thread fingering');
  await page.getByLabel('Yarn', { exact: true }).blur();
  expect(
    readFileSync(await download(page, 'Booklet (PDF)'))
      .subarray(0, 5)
      .toString(),
  ).toBe('%PDF-');
  expect(readFileSync(await download(page, 'Rows as text'), 'utf8')).toContain(
    'Row 5 (RS): K3, yo, k2tog, k2, yo, k2',
  );

  // The bundle brought in again is a project of its own with the same rows.
  const bundle = readFileSync(await download(page, 'Everything, as a bundle'));
  const id = projectId(page);
  await visit(page, '#/');
  await page
    .getByLabel('Bring in a bundle')
    .setInputFiles({ name: 'bundle.zip', mimeType: 'application/zip', buffer: bundle });
  await row(page, '9').waitFor();
  expect(projectId(page)).not.toBe(id);
  expect(await row(page, '5').locator('.written').textContent()).toBe('K3, yo, k2tog, k2, yo, k2');

  // A restart, as after a power cut: everything is there, and can be undone.
  await page.getByText('Everything is kept').waitFor();
  expect(troubles).toEqual([]);
  await context.close();
  await stage.program.kill();
  await stage.program.start();
  const again = await stage.open();
  await visit(again.page, `#/${id}/title`);
  const yarn = again.page.getByLabel('Yarn', { exact: true });
  await again.page.waitForFunction(() => document.querySelectorAll('.leaf input').length > 5);
  expect(await yarn.inputValue()).toBe('Four-thread fingering');
  await again.page.getByRole('button', { name: 'Undo' }).click();
  await again.page.waitForFunction(
    () => ![...document.querySelectorAll('input')].some((field) => field.value.startsWith('Four')),
  );
  await visit(again.page, `#/${id}/page/rows`);
  await row(again.page, '9').waitFor();
  await again.page.locator('body').click({ position: { x: 5, y: 5 } });
  for (let step = 0; step < 6 && (await row(again.page, '9').count()) > 0; step++) {
    await again.page.keyboard.press('Control+z');
    await again.page.waitForTimeout(1500);
  }
  expect(await row(again.page, '9').count()).toBe(0);
  expect(await row(again.page, '5').locator('.written').textContent()).toBe('K3, yo, k2tog, k2, yo, k2');
  await again.page.keyboard.press('Control+Shift+z');
  await row(again.page, '9').waitFor();
  expect(again.troubles).toEqual([]);
  await again.context.close();
});

it('a scan is put beside its transcription, and taken away again', async () => {
  const { page, context, troubles } = await stage.open();
  await visit(page, '#/1/page/scan');
  await page
    .getByLabel('Add a scan')
    .setInputFiles({ name: 'page-14.png', mimeType: 'image/png', buffer: PICTURE });
  await page.getByRole('img', { name: 'Scan: page-14.png' }).waitFor();
  await page.getByRole('button', { name: 'Remove this scan' }).click();
  await page.getByText('No scan yet').waitFor();
  await page.getByRole('button', { name: 'Undo' }).click();
  await page.getByRole('img', { name: 'Scan: page-14.png' }).waitFor();
  expect(troubles).toEqual([]);
  await context.close();
});

it('a pattern is put away and brought back; a kept state is compared with now', async () => {
  const { page, context, troubles } = await stage.open();
  await visit(page, '#/1/title');
  await page.getByLabel('Keep this state as').fill('as it was');
  await page.getByRole('button', { name: 'Keep', exact: true }).click();
  await page.getByRole('link', { name: 'Compare as it was' }).waitFor();
  await visit(page, '#/1/page/rows');
  await page.locator('.cm-line', { hasText: '1st row' }).click();
  await page.keyboard.press('End');
  // A change that leaves the count as it was: nothing here may be mended back.
  for (const key of ['Backspace', 'Backspace']) await page.keyboard.press(key);
  await page.keyboard.type('1, purl 1.');
  await page.locator('.rows .written', { hasText: 'K3, yo, k2tog, yo, k1, p1' }).waitFor();
  await visit(page, '#/1/title');
  await page.getByRole('link', { name: 'Compare as it was' }).click();
  await page.locator('ins', { hasText: 'p1' }).first().waitFor();

  await visit(page, '#/');
  await page.locator('article').first().waitFor();
  const before = await page.locator('article').count();
  await page.locator('article').first().hover();
  await page.locator('article').first().getByRole('button').click();
  await page.getByRole('button', { name: 'Show what was put away (1)' }).click();
  await page.getByRole('button', { name: 'Bring back' }).click();
  await page.getByRole('button', { name: 'Hide what was put away' }).waitFor({ state: 'detached' });
  expect(await page.locator('article').count()).toBe(before);
  expect(troubles).toEqual([]);
  await context.close();
});
